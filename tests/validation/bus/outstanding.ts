import { Simulation } from '../../../src/model/simulation.js';
import type { Measures } from './measures.js';
import { CLOCK, laneSystem } from './wires.js';

/** Clocks to the first beat of a read, and beats of it. */
const LATENCY = 28;
const BEATS = 4;
const BUS_BYTES = 16;
const PERIOD_PS = (LATENCY + BEATS) * CLOCK;
/** Reads of which the last begins its data within the time of one round trip. */
const MOST = 12;

/**
 * Share of the bus that carries data with so many reads outstanding. Three clocks of the latency are those of port and
 * way back, the rest the memory's.
 */
function share(outstanding: number): number {
  const lane = { busBytes: BUS_BYTES, mostBeats: BEATS, memory: { accessCycles: LATENCY - 3 } };
  const spec = laneSystem(lane, { maxReads: outstanding, issue: { process: 'greedy' } });
  const durationPs = 100 * PERIOD_PS;
  const options = { seed: '1', replication: 1, warmupPs: 10 * PERIOD_PS, durationPs, drainPs: 0 };
  const simulation = new Simulation(spec, options);
  simulation.run();
  return simulation.model.masters[0]!.reads.movedBytes / ((durationPs / CLOCK) * BUS_BYTES);
}

export const outstanding: Measures = {
  'outstanding.one': () => share(1),
  'outstanding.eight': () => share(8),
  'outstanding.needed': () => {
    let reads = 1;
    while (reads < MOST && share(reads) < 1) reads++;
    return reads;
  },
};
