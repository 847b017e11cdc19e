/** How the measured value must stand to the expected one. */
export type Relation = 'equal' | 'at_most' | 'at_least';

/** One comparison of the model with something outside the project. */
export interface OutsideCheck {
  /** What is compared, unique within its area, such as `mm1 rho 0.9 mean wait`. */
  readonly check: string;
  readonly area: string;
  /** The standard, book or paper that the expected value comes from, or `common practice, no source`. */
  readonly source: string;
  readonly expected: number;
  readonly measured: number;
  /** How far the measured value may be on the wrong side, in `unit`. */
  readonly tolerance: number;
  readonly verdict: 'pass' | 'fail';
  readonly unit: string;
  readonly relation: Relation;
}

/** What a check is made from. */
export interface Comparison {
  readonly check: string;
  readonly source: string;
  readonly unit: string;
  readonly expected: number;
  readonly measured: number;
  /** 0 unless given: exact. */
  readonly tolerance?: number;
  /** `equal` unless given. */
  readonly relation?: Relation;
}

/** Judges a comparison; what is not a number fails. */
export function judge(area: string, comparison: Comparison): OutsideCheck {
  const { check, source, unit, expected, measured, tolerance = 0, relation = 'equal' } = comparison;
  const over = measured - expected;
  const off = relation === 'equal' ? Math.abs(over) : relation === 'at_most' ? over : -over;
  return {
    check,
    area,
    source,
    expected,
    measured,
    tolerance,
    verdict: off <= tolerance ? 'pass' : 'fail',
    unit,
    relation,
  };
}

/** `quick` runs in `npm test`, within seconds; `full` may take minutes. */
export type Depth = 'quick' | 'full';

/** A field in which the model is held against outside numbers. */
export interface Area {
  /** One word, for `--area`. */
  readonly name: string;
  /** A line that says what is compared with what. */
  readonly title: string;
  /** Runs the checks; `progress` is told the share done, 0 to 1. */
  run(depth: Depth, progress: (share: number) => void): OutsideCheck[];
}
