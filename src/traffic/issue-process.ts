import type { RandomStream } from '../engine/random.js';
import type { DistributionSpec, MasterSpec, PaceSpec } from '../scenario/scenario.js';
import { BatchArrivals, BlockArrivals, OnOffArrivals, SteadyArrivals, type Arrivals } from './arrivals.js';
import { meanOfRounded, roundedDraw } from './distribution.js';
import { ExactTime } from './exact-time.js';

type Streams = (purpose: string) => RandomStream;

const ALONE: DistributionSpec = { kind: 'fixed', value: 1 };

/**
 * The arrivals of a master that issues by the clock; null for closed sources, traces and silent masters.
 *
 * Steady and periodic sources without a stated offset take one uniformly within their period, on-off sources start
 * anywhere in their first cycle: once per replication, or all replications would repeat one alignment. The pace of an
 * on-off source holds while it is on.
 */
export function makeArrivals(spec: MasterSpec, bufferBytes: number, stream: Streams): Arrivals | null {
  const { issue, size, startPs } = spec;
  const meanBytes = (): number => meanOfRounded(size, 1, bufferBytes);
  switch (issue.process) {
    case 'steady': {
      const offset = issue.offsetPs ?? offsetWithin(everyPs(issue.pace, meanBytes), stream);
      return steady(issue.pace, startPs + offset, jitter(issue.jitterPs, stream));
    }
    case 'poisson':
      return poisson(everyPs(issue.pace, meanBytes), issue.batch, startPs, stream);
    case 'periodic': {
      const first = startPs + (issue.offsetPs ?? offsetWithin(issue.everyPs, stream));
      const block = wholeBlock(issue.blockBytes);
      return new BlockArrivals(first, new ExactTime(issue.everyPs, 1), block, jitter(issue.jitterPs, stream));
    }
    case 'on_off': {
      const within =
        issue.within === 'steady'
          ? steady(issue.pace, 0, () => 0)
          : poisson(everyPs(issue.pace, meanBytes), ALONE, 0, stream);
      const on = roundedDraw(issue.on, stream('on'), 1);
      return new OnOffArrivals(within, on, roundedDraw(issue.off, stream('off')), startPs, stream('offset')());
    }
    default:
      return null;
  }
}

function steady(pace: PaceSpec, firstPs: number, delay: () => number): Arrivals {
  const byBytes = pace.kind === 'rate';
  const time = byBytes ? ExactTime.perByte(pace.bytesPerS) : new ExactTime(pace.everyPs, 1);
  return new SteadyArrivals(firstPs, time, byBytes, delay);
}

function poisson(meanGapPs: number, batch: DistributionSpec, startPs: number, stream: Streams): Arrivals {
  // the pace is that of requests, whatever the size of a batch
  const mean = meanGapPs * meanOfRounded(batch, 1, Number.MAX_SAFE_INTEGER);
  if (!(mean >= 1)) throw new RangeError(`pace: batches must be at least 1 ps apart on average, got ${mean}`);
  const gap = roundedDraw({ kind: 'exponential', mean }, stream('gap'));
  return new BatchArrivals(startPs, gap, roundedDraw(batch, stream('batch'), 1));
}

/** Mean time between requests, in ps. */
function everyPs(pace: PaceSpec, meanBytes: () => number): number {
  return pace.kind === 'every' ? pace.everyPs : (meanBytes() * 1e12) / pace.bytesPerS;
}

function offsetWithin(periodPs: number, stream: Streams): number {
  return Math.floor(stream('offset')() * periodPs);
}

/** Delays of 0 to `mostPs`, each whole picosecond as likely as any other. */
function jitter(mostPs: number, stream: Streams): () => number {
  if (mostPs === 0) return () => 0;
  if (!(mostPs > 0 && mostPs < Infinity)) throw new RangeError(`jitter: must be 0 or more, got ${mostPs} ps`);
  const random = stream('jitter');
  return () => Math.floor(random() * (mostPs + 1));
}

function wholeBlock(bytes: number): number {
  if (Number.isSafeInteger(bytes) && bytes >= 1) return bytes;
  throw new RangeError(`block: must be a whole number of bytes above 0, got ${bytes}`);
}
