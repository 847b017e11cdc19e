import { asNumbers, type Fraction, reduced } from '../scenario/exact.js';
import type { DistributionSpec, ElementSpec, SystemSpec } from '../scenario/scenario.js';

/** A factor by which times grow or shrink. */
interface Factor {
  readonly above: number;
  readonly below: number;
}

/** What is made faster does a tenth more in the same time. */
const FASTER: Factor = { above: 10, below: 11 };
/** So little slower that only the phase against other clocks is felt, which goes round again and again. */
const DRIFTING: Factor = { above: 1001, below: 1000 };

/**
 * A system in which one element is a tenth faster and nothing else is changed. It gets a clock of its own of 1.1 times the
 * frequency, under the name of the old one: whoever shared that clock still hands over without a synchroniser, at the first
 * edge of the other at which the data is there. A DRAM takes as many of its own clocks for all it does, each shorter, but is
 * refreshed as often. A device serves in so much less time.
 */
export function withFaster(system: SystemSpec, name: string): SystemSpec {
  return changed(system, name, (element, clocks) => {
    const own = withClock(element, clocks, FASTER);
    if (own.kind === 'device') return { ...own, service: scaled(own.service, FASTER) };
    if (own.kind !== 'ddr') return own;
    const period = times(own.timing.tckNumerator, own.timing.tckDenominator, FASTER);
    return {
      ...own,
      timing: { ...own.timing, tckNumerator: period.numerator, tckDenominator: period.denominator },
    };
  });
}

/**
 * What such a system is to be compared with, so that the clock of its own is not counted as a change: the element as fast as
 * it was, but on a clock of its own too, so that it waits for edges in the same way. The system as it is where no other
 * element and no master is on its clock.
 */
export function withOwnClock(system: SystemSpec, name: string): SystemSpec {
  const { clock } = system.elements.find((element) => element.name === name)!;
  const users = [...system.elements, ...system.masters].filter((user) => user.clock === clock);
  if (clock === null || users.length === 1) return system;
  return changed(system, name, (element, clocks) => withClock(element, clocks, DRIFTING));
}

type Clocks = SystemSpec['clocks'];

function changed(
  system: SystemSpec,
  name: string,
  change: (element: ElementSpec, clocks: Clocks) => ElementSpec,
): SystemSpec {
  const clocks = new Map(system.clocks);
  const elements = system.elements.map((element) => (element.name === name ? change(element, clocks) : element));
  return { ...system, clocks, elements };
}

/** The element on a clock that nobody else has, of another period, under the old name. */
function withClock(element: ElementSpec, clocks: Clocks, factor: Factor): ElementSpec {
  if (element.clock === null) return element;
  const old = clocks.get(element.clock)!;
  // no name of a clock has a space
  const clock = `${element.clock} of ${element.name}`;
  clocks.set(clock, { name: old.name, ...times(old.numerator, old.denominator, factor) });
  return { ...element, clock };
}

/** A period times a factor; exact where that fits, else to a thousandth of a picosecond. */
function times(numerator: number, denominator: number, { above, below }: Factor): Fraction {
  const exact = reduced(BigInt(numerator) * BigInt(above), BigInt(denominator) * BigInt(below));
  const thousandths = Math.round((numerator * above * 1000) / (denominator * below));
  return asNumbers(exact) ?? asNumbers(reduced(BigInt(thousandths), 1000n))!;
}

/** The distribution of times that are shorter by the same factor. */
function scaled(spans: DistributionSpec, { above, below }: Factor): DistributionSpec {
  const less = (ps: number): number => (ps * above) / below;
  switch (spans.kind) {
    case 'fixed':
      return { ...spans, value: Math.round(less(spans.value)) };
    case 'uniform':
      return { ...spans, low: less(spans.low), high: less(spans.high) };
    case 'exponential':
    case 'lognormal':
      return { ...spans, mean: less(spans.mean) };
    case 'geometric':
      // a number of units, whose mean stays
      return { ...spans, unit: less(spans.unit) };
    case 'table':
      return { ...spans, values: spans.values.map(less) };
  }
}
