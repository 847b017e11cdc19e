/** A results folder as a report reads it. */
import * as z from 'zod';
import { TABLES } from '../measure/tables/columns.js';
import { COMPARISON_MANIFEST, CROSSING_MANIFEST, PLACE_MANIFEST, SWEEP_MANIFEST } from '../output/manifest.js';
import { type Sheet, sheetOf } from './sheet.js';

// what a file of an older version lacks is left out of the report, never guessed
const elementSchema = z.object({
  name: z.string(),
  kind: z.string(),
  width_bits: z.number(),
  clock_mhz: z.number().nullable(),
  to: z.array(z.string()),
});
const masterSchema = z.object({
  name: z.string(),
  attach: z.string(),
  core: z.boolean(),
  operations: z.array(z.string()),
  buffer: z.string(),
  memory: z.string(),
  path: z.array(z.string()),
  refill: z.array(z.string()),
});
const budgetSchema = z.object({
  name: z.string(),
  subject: z.string(),
  quantity: z.string(),
  bound: z.enum(['at_most', 'at_least']),
});
const platformSchema = z.object({
  placement: z.string(),
  elements: z.array(elementSchema),
  masters: z.array(masterSchema),
  budgets: z.array(budgetSchema),
});
const sourceSchema = z.object({ scenario_file: z.string(), scenario_sha256: z.string(), scenario_text: z.string() });
const manifestSchema = z.object({
  version: z.string(),
  scenario: z.string().default(''),
  title: z.string().default(''),
  scenario_file: z.string().default(''),
  scenario_sha256: z.string().default(''),
  scenario_text: z.string().default(''),
  command: z.string().default(''),
  seed: z.string().default(''),
  replications: z.number().default(0),
  simulated_time_ns: z.number().optional(),
  events: z.number().optional(),
  warnings: z.array(z.object({ text: z.string(), count: z.number() })).default([]),
  notes: z.array(z.string()).default([]),
  against: sourceSchema.nullable().default(null),
  platforms: z.array(platformSchema).default([]),
});

export type Platform = z.output<typeof platformSchema>;
export type PlatformElement = z.output<typeof elementSchema>;
export type PlatformMaster = z.output<typeof masterSchema>;
export type Manifest = z.output<typeof manifestSchema>;

/** What tells where results come from, in the order in which a report trusts it. */
export const MANIFEST_FILES = [
  'manifest.json',
  COMPARISON_MANIFEST,
  SWEEP_MANIFEST,
  CROSSING_MANIFEST,
  PLACE_MANIFEST,
] as const;
type ManifestFile = (typeof MANIFEST_FILES)[number];

/** Tables that a report shows; the commands of a DRAM are for a checker, not for a reader. */
export const TABLE_FILES: readonly string[] = [
  ...new Set([
    ...Object.values(TABLES)
      .map(({ file }) => file)
      .filter((file) => file !== TABLES.commands.file),
    'tasks.csv',
    'place.csv',
    'sweep.csv',
    'crossing.csv',
  ]),
];

/** What was found in a folder. */
export interface Folder {
  readonly sheets: ReadonlyMap<string, Sheet>;
  readonly manifests: ReadonlyMap<ManifestFile, Manifest>;
}

/** A file of the folder is not what its name says. */
export class FolderError extends Error {}

/**
 * Reads the files of a folder.
 *
 * @param read the text of a file by its name, or null where there is none
 * @throws FolderError naming the file that cannot be understood
 */
export function readFolder(read: (file: string) => string | null): Folder {
  const sheets = new Map<string, Sheet>();
  for (const file of TABLE_FILES) {
    const text = read(file);
    if (text === null) continue;
    const sheet = understood(file, () => sheetOf(file, text));
    if (sheet.rows.length > 0) sheets.set(file, sheet);
  }
  const manifests = new Map<ManifestFile, Manifest>();
  for (const file of MANIFEST_FILES) {
    const text = read(file);
    if (text === null) continue;
    const json = understood(file, (): unknown => JSON.parse(text));
    if (isUnfinished(json))
      throw new FolderError(`${file} says that the run is not finished; wait for it, or run it again`);
    const parsed = manifestSchema.safeParse(json);
    if (!parsed.success) {
      const [issue] = parsed.error.issues;
      throw new FolderError(
        `${file} is not a manifest: ${issue!.path.join('.')}: ${issue!.message}; run the scenario again`,
      );
    }
    manifests.set(file, parsed.data);
  }
  return { sheets, manifests };
}

function understood<T>(file: string, parse: () => T): T {
  try {
    return parse();
  } catch (error) {
    throw new FolderError(`${file} cannot be read: ${error instanceof Error ? error.message : String(error)}`);
  }
}

const isUnfinished = (json: unknown): boolean =>
  typeof json === 'object' && json !== null && 'state' in json && json.state === 'running';
