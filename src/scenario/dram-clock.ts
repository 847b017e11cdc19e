import { type DramInputs, cell, statedClocks, valueOf } from './dram-grade.js';

/** The DRAM clock: its period as a reduced fraction of a picosecond, and times rounded up to it. */
export interface DramClock {
  numerator: number;
  denominator: number;
  /** Whole clocks that cover a time in picoseconds. */
  up: (ps: number) => number;
}

/**
 * JEDEC DDR4 drops what is below about 2.6 % of a clock, so that times printed with a truncated period give the
 * printed counts (the counts are published, e.g. 15-15-15-36 at 2133 and 17-17-17-39 at 2400).
 */
const DDR4_GUARD = 0.026;

const TOLERANCE = 1e-9;

/** Stated periods are taken as fractions of at most this denominator where that fits, else as decimals. */
const LARGEST_DENOMINATOR = 16;
const DECIMALS = 1e6;

export function clockOf(inputs: DramInputs): DramClock {
  const [numerator, denominator] = periodOf(inputs);
  const guard = inputs.standard === 'DDR4' ? DDR4_GUARD : 0;
  // the tolerance is for times that were computed as so many clocks of a period that is no decimal
  const up = (ps: number): number => Math.max(0, Math.ceil((ps * denominator) / numerator - guard - TOLERANCE));
  return { numerator, denominator, up };
}

/**
 * A named time in clocks: as stated in clocks, else rounded up and no less than the grade's least count.
 *
 * @returns undefined where neither grade nor author states the time
 */
export function clocksOf(inputs: DramInputs, clock: DramClock, name: string): number | undefined {
  const stated = statedClocks(inputs, name);
  if (stated !== undefined) return stated;
  const ps = valueOf(inputs, name);
  return ps === undefined ? undefined : Math.max(clock.up(ps), cell(inputs, `${name}_min_ck`) ?? 0);
}

/** The stated period, else two transfers per clock at the exact rate: a whole number of thirds of MT/s. */
function periodOf(inputs: DramInputs): [number, number] {
  const stated = inputs.overrides.get('tCK');
  if (stated === undefined) return reduce(6e6, Math.round(cell(inputs, 'data_rate_exact_mtps')! * 3));
  if (stated < 1 || stated > 1e6) throw new RangeError(`tCK must be 1 ps to 1 us, got ${stated} ps`);
  for (let denominator = 1; denominator <= LARGEST_DENOMINATOR; denominator++) {
    const numerator = Math.round(stated * denominator);
    if (Math.abs(numerator / denominator - stated) < 1e-9) return reduce(numerator, denominator);
  }
  return reduce(Math.round(stated * DECIMALS), DECIMALS);
}

function reduce(numerator: number, denominator: number): [number, number] {
  let [a, b] = [numerator, denominator];
  while (b !== 0) [a, b] = [b, a % b];
  return [numerator / a, denominator / a];
}
