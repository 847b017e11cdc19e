/** Each request is split over two devices, and done when both parts are. */
import type { SystemSpec } from '../../../src/scenario/scenario.js';
import { buffer, device, master, system } from '../../model/platform.js';
import { poissonTimes, traceOf } from './arrivals.js';
import { type Case, numberOf } from './case-file.js';
import { type Experiment, experiment } from './experiment.js';
import { atDevice, Gather, type Watched } from './gather.js';
import { spanOf } from './platform.js';
import { REPLICATIONS, requestsFor, warmUpServices } from './recipe.js';
import { exponential, type Service } from './services.js';
import { CYCLE_PS, Tally } from './tally.js';

const ENOUGH = 1_500_000;
const BRANCHES = ['left', 'right'];

/** Two masters replay one trace, each at a device of its own; the probe joins what has the same number. */
export function forkJoin(one: Case): Experiment[] {
  const rate = numberOf(one, 'lambda');
  const service = exponential(numberOf(one, 'mean_service'));
  const traffic = { load: numberOf(one, 'rho'), arrivals: 1, services: 1 };
  const warmup = warmUpServices(traffic) * service.mean;
  const span = spanOf(requestsFor(traffic, ENOUGH) / REPLICATIONS, rate, warmup);
  const untilPs = span.warmupPs + span.durationPs;
  return [
    experiment({
      ...span,
      seed: one.id,
      system: (replication) => twoDevices(poissonTimes(one.id, replication, rate, untilPs), service),
      subjects: new Map([['branches', { masters: [0, 1], way: atDevice }]]),
      values: one.values,
      tickPs: 0,
      server: BRANCHES[0]!,
      counters: 'requests',
      gather: (watched) => new Joining(watched),
      read: ({ gather }, { metric }) => {
        const { joined, tallies } = gather as Joining;
        const tally = metric === 'mean_response_one_branch' ? tallies.get('branches')! : joined;
        return { kind: 'mean', sum: tally.responsesPs / CYCLE_PS, count: tally.count };
      },
    }),
  ];
}

function twoDevices(times: readonly number[], { spec }: Service): SystemSpec {
  const issue = traceOf(times);
  const masters = BRANCHES.map((name) =>
    master(`to ${name}`, name, name, { clock: null, maxReads: 1e9, size: { kind: 'fixed', value: 16 }, issue }),
  );
  const devices = BRANCHES.map((name) => device(name, { service: spec }));
  return system(
    devices,
    BRANCHES.map((name) => buffer(name, name)),
    masters,
    [],
  );
}

/** Joins the two parts of each request. */
class Joining extends Gather {
  readonly joined: Tally;
  /** Numbers of the requests of which one part is done. */
  private readonly halfDone = new Set<number>();

  constructor(watched: Watched) {
    super(watched);
    this.joined = new Tally('all', watched.values, 0);
  }

  override completed(slot: number): void {
    super.completed(slot);
    const { bursts } = this.simulation.context;
    const number = bursts.number[slot]!;
    if (!this.halfDone.delete(number)) {
      this.halfDone.add(number);
    } else if (bursts.counted[slot] === 1) {
      // parts are done one after the other, so the second is the later
      this.joined.add(0, bursts.doneAt[slot]! - bursts.wantedAt[slot]!, true);
    }
  }
}
