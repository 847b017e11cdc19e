/** Masters that always have a burst waiting, at the arbiter of one channel: who gets which share of its beats. */
import { Probe } from '../../../src/model/probe.js';
import { Simulation } from '../../../src/model/simulation.js';
import type { ArbitrationSpec } from '../../../src/scenario/scenario.js';
import { buffer, clock, device, master, port, roundRobin, system } from '../../model/platform.js';
import { type Case, numbersOf } from './case-file.js';
import type { Experiment } from './experiment.js';
import { CYCLE_PS } from './tally.js';

const BEAT_BYTES = 16;
/** Rounds in which each master has all its turns: in a whole number of them shares are exact. */
const ROUNDS = 100;

/** The policies that the model has; a deficit round robin is not among them. */
function policyOf(one: Case): ArbitrationSpec | null {
  const weights = numbersOf(one, 'weights');
  switch (one.id.split('_').at(-1)) {
    case 'wrr':
      return { ...roundRobin, policy: 'weighted', weights: new Map(weights.map((weight, n) => [`m${n}`, weight])) };
    case 'fp':
      return { ...roundRobin, policy: 'fixed_priority', priority: weights.map((_, n) => `m${n}`) };
    default:
      return null;
  }
}

export function saturationShares(one: Case): Experiment[] {
  const policy = policyOf(one);
  if (policy === null) return [];
  const beats = numbersOf(one, 'burst_beats');
  const round = numbersOf(one, 'weights').reduce((sum, weight, n) => sum + weight * beats[n]!, 0);
  const spec = systemOf(beats, policy);
  return [
    {
      variant: '',
      replications: 1,
      targets: one.values.map((published) => ({ published, slack: 0 })),
      run: (replication) => {
        const probe = new Granted(beats.length);
        const roundPs = round * CYCLE_PS;
        const options = {
          seed: one.id,
          replication,
          warmupPs: 10 * roundPs,
          durationPs: ROUNDS * roundPs,
          drainPs: 0,
          probe,
        };
        const simulation = new Simulation(spec, options);
        probe.simulation = simulation;
        simulation.run();
        return one.values.map(({ subject }) => ({
          kind: 'mean',
          sum: probe.bytes[Number(subject.at(-1)) - 1]! / BEAT_BYTES,
          count: ROUNDS * round,
        }));
      },
    },
  ];
}

function systemOf(beats: readonly number[], arbitration: ArbitrationSpec) {
  const masters = beats.map((each, n) =>
    master(`m${n}`, 'port', 'data', {
      clock: null,
      burstBeats: each,
      maxWrites: 16,
      readShare: 0,
      pattern: { pattern: 'strided', strideBytes: 4096 },
      size: { kind: 'fixed', value: each * BEAT_BYTES },
      issue: { process: 'greedy' },
    }),
  );
  const elements = [
    port('port', ['sink'], { clock: 'cycle', arbitration, maxWrites: Infinity, maxReads: Infinity }),
    device('sink', { service: { kind: 'fixed', value: 0 } }),
  ];
  return system(elements, [buffer('data', 'sink', 0, 4096)], masters, [clock('cycle', CYCLE_PS)]);
}

/** Bytes of each master's bursts that were granted in the window. */
class Granted extends Probe {
  readonly bytes: number[];
  simulation!: Simulation;

  constructor(masters: number) {
    super();
    this.bytes = Array.from({ length: masters }, () => 0);
  }

  override granted(slot: number): void {
    const { bursts, calendar, window } = this.simulation.context;
    if (window.holds(calendar.now)) this.bytes[bursts.master[slot]!]! += bursts.bytes[slot]!;
  }
}
