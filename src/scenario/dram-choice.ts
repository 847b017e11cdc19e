import { gradeRows } from './dram-grade.js';

type Row = ReadonlyMap<string, string>;

/** A row of the table of speed grades, and the density of its devices. */
export interface GradeChoice {
  readonly grade: string;
  readonly deviceBits: number;
  readonly densityGbit: number;
}

const DENSITIES = [1, 2, 4, 8, 16];
/** Taken where neither the author nor the grade says: the commonest of the last years. */
const USUAL_DENSITY = 4;

/** Names by which grades may be called: `DDR3-1600K-x16`, or without the device width where `device` says it. */
export function gradeCalls(): string[] {
  const names = gradeRows().map((row) => row.get('row_id')!);
  return [...new Set([...names.map(shortName), ...names])];
}

function shortName(name: string): string {
  return name.replace(/(-\d+Gb)?-x\d+(ch)?$/, '');
}

/**
 * The row that a name, a device width and a density mean: of several the widest device that fits the bus.
 *
 * @throws RangeError saying which devices the grade has, where none fits
 */
export function chooseGrade(
  called: string,
  busBits: number,
  deviceBits: number | null,
  densityGbit: number | null,
): GradeChoice {
  const rows = gradeRows().filter((row) => row.get('row_id') === called || shortName(row.get('row_id')!) === called);
  const fitting = rows.filter((row) => {
    const width = widthOf(row);
    return busBits % width === 0 && (deviceBits === null || width === deviceBits);
  });
  if (fitting.length === 0) {
    const widths = [...new Set(rows.map(widthOf))].map((width) => `${width} bit`).join(', ');
    throw new RangeError(`must have devices of ${widths} that fill a bus of ${busBits} bit`);
  }
  const dense = fitting.filter((row) => densityGbit === null || densitiesOf(row).includes(densityGbit));
  if (dense.length === 0) {
    const known = [...new Set(fitting.flatMap(densitiesOf))].map((gbit) => `${gbit} Gbit`).join(', ');
    throw new RangeError(`must have a density of ${known}`);
  }
  const usual = dense.filter((row) => densitiesOf(row).includes(densityGbit ?? USUAL_DENSITY));
  const row = (usual.length > 0 ? usual : dense).toSorted((a, b) => widthOf(b) - widthOf(a))[0]!;
  const densities = densitiesOf(row);
  const density = densityGbit ?? densities.find((gbit) => gbit >= USUAL_DENSITY) ?? densities.at(-1)!;
  return { grade: row.get('row_id')!, deviceBits: widthOf(row), densityGbit: density };
}

function widthOf(row: Row): number {
  return Number(row.get('device_width_bits'));
}

function densitiesOf(row: Row): number[] {
  return DENSITIES.filter((gbit) => (row.get(`tRFC_${gbit}Gb_ps`) ?? '') !== '');
}
