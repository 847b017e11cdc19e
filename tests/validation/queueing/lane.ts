/**
 * A channel of a port as the server of theory: it takes write bursts whole, a beat a cycle of its clock, so the service is
 * the length of the burst. That is how a service can differ by class, and be drawn anew at a second station.
 */
import type {
  ArbitrationSpec,
  BufferSpec,
  DistributionSpec,
  IssueSpec,
  MasterSpec,
  PortSpec,
} from '../../../src/scenario/scenario.js';
import type { Bursts } from '../../../src/model/bursts.js';
import { BOUNDARY_BYTES } from '../../../src/traffic/beats.js';
import { meanOf, meanOfRounded } from '../../../src/traffic/distribution.js';
import { buffer, clock, master, port } from '../../model/platform.js';
import type { Way } from './gather.js';
import type { Service } from './services.js';
import { CYCLE_PS } from './tally.js';

export const LANE = 'lane';

/** An exponential ends here, in means: one in nine million is cut. */
const LONGEST_MEANS = 16;
/** Bytes that a source hands to the port at once; it does so in no time worth speaking of, a beat a picosecond. */
const SOURCE_BYTES = 16;

/** A port whose beats are one byte and last `tickPs`; sources stand in the order of their names, without limits. */
export function lane(name: string, to: string, tickPs: number, arbitration: ArbitrationSpec): PortSpec {
  return port(name, [to], {
    clock: clockOf(tickPs).name,
    widthBytes: 1,
    syncCycles: 0,
    queueDepth: 1e6,
    maxReads: Infinity,
    maxWrites: Infinity,
    arbitration,
  });
}

export const clockOf = (tickPs: number) => clock(`beat of ${tickPs} ps`, tickPs);

/** A source of write bursts whose lengths are services of the lane. */
export function writer(
  name: string,
  to: string,
  issue: IssueSpec,
  service: Service,
  tickPs: number,
  more: Partial<MasterSpec> = {},
): MasterSpec {
  const size = lengthOf(service, tickPs);
  return master(name, to, 'data', {
    clock: null,
    widthBytes: SOURCE_BYTES,
    burstBeats: Math.ceil(longest(size) / SOURCE_BYTES),
    maxWrites: 1e9,
    readShare: 0,
    // each burst starts at the start of the buffer, so that no boundary cuts one
    pattern: { pattern: 'strided', strideBytes: BOUNDARY_BYTES },
    size,
    issue,
    ...more,
  });
}

/** The service in beats. Whole beats and an end change the mean of an exponential a little, which is put right. */
function lengthOf({ spec, mean }: Service, tickPs: number): DistributionSpec {
  const beats = (ps: number) => ps / tickPs;
  switch (spec.kind) {
    case 'fixed':
      return { kind: 'fixed', value: beats(spec.value) };
    case 'table':
      return { ...spec, values: spec.values.map(beats) };
    case 'exponential': {
      const wanted = beats(mean * CYCLE_PS);
      if (LONGEST_MEANS * wanted > BOUNDARY_BYTES) throw new RangeError(`bursts of ${wanted} beats are too long`);
      const rounded = meanOfRounded({ kind: 'exponential', mean: wanted }, 1, LONGEST_MEANS * wanted);
      return { kind: 'exponential', mean: wanted - (rounded - wanted) };
    }
    default:
      throw new RangeError(`no lengths for ${spec.kind}`);
  }
}

function longest(size: DistributionSpec): number {
  if (size.kind === 'fixed') return size.value;
  return size.kind === 'table' ? Math.max(...size.values) : LONGEST_MEANS * meanOf(size);
}

/** The buffer that writers go to: as long as the longest of their bursts, which is what cuts off an exponential. */
export function bufferOf(writers: readonly MasterSpec[], memory: string): BufferSpec {
  return buffer('data', memory, 0, Math.ceil(Math.max(...writers.map(({ size }) => longest(size)))));
}

/** The lane of the port at place `hop` of the route; bursts come when they are wanted, or from the lane before. */
export function throughLane(hop: number, tickPs: number, beforeTickPs: number | null): Way {
  const startedAt = (bursts: Bursts, slot: number) => bursts.grantedAt[slot * bursts.hops + hop]!;
  const before = hop - 1;
  return {
    arrivedAt: (bursts, slot) =>
      beforeTickPs === null
        ? bursts.wantedAt[slot]!
        : bursts.grantedAt[slot * bursts.hops + before]! + bursts.bytes[slot]! * beforeTickPs,
    startedAt,
    leftAt: (bursts, slot) => startedAt(bursts, slot) + bursts.bytes[slot]! * tickPs,
  };
}
