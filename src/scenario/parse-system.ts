import type * as z from 'zod';
import type { Problem } from '../errors.js';
import { parseTree } from './issue-problems.js';
import { problemAt } from './problem.js';
import { budgetSchema, metricSchema } from './schema/budget.js';
import { bufferSchema } from './schema/buffer.js';
import { clockSchema } from './schema/clock.js';
import { coherenceSchema } from './schema/coherence.js';
import { deviceSchema } from './schema/device.js';
import { memorySchema, platformSchema } from './schema/file.js';
import { coresSchema, masterSchema } from './schema/master.js';
import { placeSchema } from './schema/place.js';
import { portSchema } from './schema/port.js';
import { runSchema } from './schema/run.js';
import { switchSchema } from './schema/switch.js';
import { taskSchema } from './schema/task.js';
import { suggestion } from './suggestion.js';
import type { ClockSpec, RunSpec } from './scenario.js';
import { child, emptyMap, entriesOf, isNull, shown, textOf, type Entry, type MapTree, type Tree } from './tree.js';

/** Blocks of the platform that hold elements, in the order in which elements are numbered. */
export const ELEMENT_BLOCKS = ['ports', 'switches', 'coherence', 'memories', 'devices'] as const;
export type ElementBlock = (typeof ELEMENT_BLOCKS)[number];

const ELEMENT_SCHEMAS = {
  ports: portSchema,
  switches: switchSchema,
  coherence: coherenceSchema,
  memories: memorySchema,
  devices: deviceSchema,
} as const;

export type ElementKeys = z.output<(typeof ELEMENT_SCHEMAS)[ElementBlock]>;
export type DdrKeys = Extract<ElementKeys, { kind: 'ddr' }>;
export type MasterKeys = z.output<typeof masterSchema>;
export type BufferKeys = z.output<typeof bufferSchema>;
export type TaskKeys = z.output<typeof taskSchema>;
export type BudgetKeys = z.output<typeof budgetSchema>;
export type MetricKeys = z.output<typeof metricSchema>;
export type PlaceKeys = z.output<typeof placeSchema>;

/** An entry by name: its tree, and what it says where that could be read. */
export interface Parsed<T> {
  readonly name: string;
  readonly key: Entry['key'];
  readonly tree: Tree;
  readonly keys: T | undefined;
}

/** A system as the schema reads it, each entry on its own, so that one mistake does not hide the others. */
export interface ParsedSystem {
  readonly title: string | undefined;
  readonly clocks: Parsed<ClockSpec>[];
  readonly elements: (Parsed<ElementKeys> & { readonly block: ElementBlock })[];
  readonly buffers: Parsed<BufferKeys>[];
  readonly masters: Parsed<MasterKeys>[];
  readonly tasks: Parsed<TaskKeys>[];
  readonly budgets: Parsed<BudgetKeys>[];
  readonly metrics: Parsed<MetricKeys>[];
  /** null: the file asks for no search. */
  readonly place: { readonly tree: Tree; readonly keys: PlaceKeys | undefined } | null;
  readonly run: RunSpec | undefined;
  /** What the file says of the run, if anything. */
  readonly runTree: Tree | undefined;
}

/** Reads all blocks of a merged system; what is wrong goes to `problems`. */
export function parseSystem(tree: MapTree, problems: Problem[]): ParsedSystem {
  const platform = child(tree, 'platform');
  if (platform === undefined) requireBlock(tree, 'platform', 'preset: quad-core-fabric', problems);
  else if (isMapping(platform, problems)) checkKeys(platform, Object.keys(platformSchema.shape), problems);
  const cores = child(platform, 'cores');
  if (cores !== undefined) parseTree(coresSchema, cores, problems);
  for (const block of ['buffers', 'masters']) requireBlock(tree, block, '', problems);
  const title = child(tree, 'title');
  const place = child(tree, 'place');
  if (title !== undefined && textOf(title) === undefined) {
    problems.push(problemAt(title.place, 'wrong_type', 'must be text', shown(title), 'put it in quotes'));
  }
  return {
    title: textOf(title),
    clocks: named(child(platform, 'clocks'), problems, (entry, name) => {
      const period = parseTree(clockSchema, entry, problems);
      return period === undefined ? undefined : { name, ...period };
    }),
    elements: ELEMENT_BLOCKS.flatMap((block) => {
      const schema: z.ZodType<ElementKeys> = ELEMENT_SCHEMAS[block];
      const parsed = named(child(platform, block), problems, (entry) => parseTree(schema, entry, problems));
      return parsed.map((entry) => ({ ...entry, block }));
    }),
    buffers: named(child(tree, 'buffers'), problems, (entry) => parseTree(bufferSchema, entry, problems)),
    masters: named(child(tree, 'masters'), problems, (entry) => parseTree(masterSchema, entry, problems)),
    tasks: named(child(tree, 'tasks'), problems, (entry) => parseTree(taskSchema, entry, problems)),
    budgets: named(child(tree, 'budgets'), problems, (entry) => parseTree(budgetSchema, entry, problems)),
    metrics: named(child(tree, 'compare'), problems, (entry) => parseTree(metricSchema, entry, problems)),
    place: place === undefined ? null : { tree: place, keys: parseTree(placeSchema, place, problems) },
    run: parseTree(runSchema, child(tree, 'run') ?? emptyMap(tree.place), problems),
    runTree: child(tree, 'run'),
  };
}

function requireBlock(tree: MapTree, block: string, example: string, problems: Problem[]): void {
  if (tree.entries.has(block)) return;
  const place = { ...tree.place, path: block };
  problems.push(
    problemAt(
      place,
      'missing_key',
      'is missing',
      null,
      `add '${block}:'${example === '' ? '' : ` with e.g. '${example}'`}`,
    ),
  );
}

/** Reports keys that a mapping must not have. */
export function checkKeys(tree: Tree, known: readonly string[], problems: Problem[]): void {
  for (const [name, { key }] of entriesOf(tree)) {
    if (!known.includes(name))
      problems.push(problemAt(key, 'unknown_key', 'unknown key', null, suggestion(name, known)));
  }
}

/** Whether a tree is a mapping; says so where it is not. */
export function isMapping(tree: Tree, problems: Problem[]): tree is MapTree {
  if (tree.kind === 'map') return true;
  problems.push(
    problemAt(tree.place, 'wrong_type', 'must be a mapping', shown(tree), `write 'key: value' lines below it`),
  );
  return false;
}

const NAME = /^[A-Za-z_][A-Za-z0-9_-]*$/;
const RESERVED = ['none'];

/** Reports a name that cannot be referred to. */
export function checkName(name: string, { key }: Entry, problems: Problem[]): void {
  if (NAME.test(name) && !RESERVED.includes(name)) return;
  const message = RESERVED.includes(name)
    ? 'must not be a word of the language'
    : 'must be letters, digits, _ and -, no digit first';
  problems.push(problemAt(key, 'bad_name', `a name ${message}`, name, `write e.g. 'camera_0'`));
}

function named<T>(
  block: Tree | undefined,
  problems: Problem[],
  parse: (tree: Tree, name: string) => T | undefined,
): Parsed<T>[] {
  if (block === undefined || isNull(block) || !isMapping(block, problems)) return [];
  return [...block.entries].map(([name, entry]) => {
    checkName(name, entry, problems);
    const keys = isMappingOrText(entry.tree) ? parse(entry.tree, name) : notAnEntry(entry, problems);
    return { name, key: entry.key, tree: entry.tree, keys };
  });
}

function isMappingOrText(tree: Tree): boolean {
  return tree.kind !== 'list';
}

function notAnEntry({ tree }: Entry, problems: Problem[]): undefined {
  isMapping(tree, problems);
  return undefined;
}
