/** What all sections of a report take their words and looks from. */
import type { Folder, Manifest, Platform } from './folder.js';
import { pooledRows, textIn, type SheetRow } from './sheet.js';

/** How a placement looks in every chart: colour, dash and shape together, so that none carries the meaning alone. */
export interface Look {
  readonly name: string;
  /** A colour of the style sheet. */
  readonly colour: string;
  /** Of lines; empty: solid. */
  readonly dash: string;
  /** Of points: a shape that the chart library knows. */
  readonly shape: 'circle' | 'square' | 'triangle' | 'diamond' | 'cross' | 'star';
}

const DASHES = ['', '7 3', '2 3', '10 3 2 3', '5 2 1 2 1 2', '12 4'];
const SHAPES = ['circle', 'square', 'triangle', 'diamond', 'cross', 'star'] as const;

/** Looks by number; from the seventh on colours and shapes are met again, but never both together. */
export function lookOf(name: string, index: number): Look {
  const round = Math.floor(index / SHAPES.length);
  return {
    name,
    colour: `var(--mark-${index % SHAPES.length})`,
    dash: DASHES[(index + round) % DASHES.length]!,
    shape: SHAPES[(index + round) % SHAPES.length]!,
  };
}

export interface Facts {
  readonly folder: Folder;
  /** The manifest that names the whole: of the run if there is one. */
  readonly manifest: Manifest | null;
  readonly platforms: readonly Platform[];
  /** Placements of the tables of a run, in their order. */
  readonly looks: readonly Look[];
}

export function factsOf(folder: Folder): Facts {
  const [manifest = null] = folder.manifests.values();
  const sheets = ['latency.csv', 'resources.csv', 'tasks.csv', 'timeline.csv'].map((file) => folder.sheets.get(file));
  const placements = sheets.flatMap((sheet) => sheet?.rows.map((row) => textIn(row, 'placement')) ?? []);
  const platforms = [...folder.manifests.values()].flatMap((one) => one.platforms);
  return {
    folder,
    manifest,
    platforms: platforms.filter((one, i) => platforms.findIndex(({ placement }) => placement === one.placement) === i),
    looks: [...new Set(placements)].map(lookOf),
  };
}

export const pooledOf = ({ folder }: Facts, file: string): readonly SheetRow[] => pooledRows(folder.sheets.get(file));

/** `camera write`. */
export const pathName = (row: SheetRow): string => `${textIn(row, 'master')} ${textIn(row, 'operation')}`;
