import { Simulation } from '../../../src/model/simulation.js';
import type { SystemSpec } from '../../../src/scenario/scenario.js';
import { type Published, valueOf } from './case-file.js';
import { Gather, type Watched } from './gather.js';
import { REPLICATIONS } from './recipe.js';
import { CYCLE_PS, type Reading } from './tally.js';

/** A published value, and how far the model may be off it for a known reason, in the value's unit. */
export interface Target {
  readonly published: Published;
  readonly slack: number;
}

/** A way to run a case: what it is held against, and what one replication says of each of these values. */
export interface Experiment {
  /** What sets it apart from others of the same case, in words; may be empty. */
  readonly variant: string;
  /** 1 for what chance has no part in. */
  readonly replications: number;
  readonly targets: readonly Target[];
  readonly run: (replication: number) => Reading[];
}

/** A measuring window after a warm-up, in ps. */
export interface Span {
  readonly warmupPs: number;
  readonly durationPs: number;
}

/** A simulated system whose requests are watched one by one. */
export interface Setup extends Watched, Span {
  readonly variant?: string;
  /** The replication counts where a trace is drawn for it. */
  readonly system: (replication: number) => SystemSpec;
  readonly seed: string;
  /** As many as the recipe asks for unless said. */
  readonly replications?: number;
  /** Name of the element whose servers are the ones of theory. */
  readonly server: string;
  /**
   * Where numbers and shares of time come from: the element's own meters, or, where a pipeline or a source holds part of
   * the queue, the times of the requests.
   */
  readonly counters: 'meters' | 'requests';
  /** How far the model may be off a value for a known reason, in the value's unit. */
  readonly slack?: (published: Published) => number;
  /** What gathers, if it must keep more than usual. */
  readonly gather?: (watched: Watched) => Gather;
  /** What the case knows how to read beyond what every station does. */
  readonly read?: (finished: Finished, published: Published) => Reading | null;
}

/** A replication that is over. */
export interface Finished {
  readonly simulation: Simulation;
  readonly gather: Gather;
  readonly setup: Setup;
}

/** An experiment from a setup: the values that it can read among those of the case. */
export function experiment(setup: Setup): Experiment {
  const { variant = '', replications = REPLICATIONS, values, slack = () => 0 } = setup;
  return {
    variant,
    replications,
    targets: values.map((published) => ({ published, slack: slack(published) })),
    run: (replication) => {
      const finished = simulate(setup, replication);
      return values.map((published) => readOne(finished, published));
    },
  };
}

/** Runs one replication to its end. */
export function simulate(setup: Setup, replication: number): Finished {
  const { seed, warmupPs, durationPs } = setup;
  const gather = setup.gather?.(setup) ?? new Gather(setup);
  const options = { seed, replication, warmupPs, durationPs, drainPs: Infinity, probe: gather };
  const simulation = new Simulation(setup.system(replication), options);
  gather.watch(simulation);
  simulation.run();
  gather.levels.settle(simulation.context.calendar.now);
  return { simulation, gather, setup };
}

function readOne(finished: Finished, published: Published): Reading {
  const reading = finished.setup.read?.(finished, published) ?? readStation(finished, published);
  if (reading === null) throw new RangeError(`nothing reads ${published.subject} ${published.metric}`);
  return reading;
}

/** What a single station says of a published value: from its requests, its meters and its number over time. */
export function readStation(finished: Finished, published: Published): Reading | null {
  const { gather } = finished;
  const tally = gather.tallies.get(published.subject);
  if (tally === undefined) return null;
  return tally.read(published) ?? readLevels(finished, published) ?? readRates(finished, published);
}

function readLevels({ gather, setup }: Finished, { subject, metric, value }: Published): Reading | null {
  const { levels } = gather;
  if (metric === 'sd_number') return levels.squares(valueOf(setup.values, subject, 'mean_number')!);
  if (metric.startsWith('number_p')) return levels.quantile(value);
  if (metric.startsWith('prob_number_eq_')) return levels.at(Number(metric.slice('prob_number_eq_'.length)));
  return metric === 'prob_empty' ? levels.at(0) : null;
}

/** What is counted per time of the window. */
function readRates(finished: Finished, { subject, metric }: Published): Reading | null {
  const { gather, simulation } = finished;
  const tally = gather.tallies.get(subject)!;
  const windowPs = simulation.context.window.lengthPs;
  const perTime = (sum: number): Reading => ({ kind: 'mean', sum, count: windowPs });
  const { waitingPs, busyPs, servers } = integrals(finished, subject);
  switch (metric) {
    case 'mean_number':
      return perTime(waitingPs + busyPs);
    case 'mean_number_waiting':
      return perTime(waitingPs);
    case 'utilisation':
      return perTime(busyPs / servers);
    case 'throughput':
      return perTime(tally.count * CYCLE_PS);
    case 'loss_prob':
      return { kind: 'mean', sum: gather.dropped, count: gather.dropped + tally.count };
    // work that stands before the server, over time: a request's is there while it waits and falls while it is served
    case 'mean_virtual_wait':
      return perTime((tally.serviceWaits + tally.serviceSquares / 2) / CYCLE_PS);
    case 'mean_residual_work_W0':
      return perTime(tally.serviceSquares / 2 / CYCLE_PS);
    default:
      return null;
  }
}

/** Integrals over the window: of the number waiting, and of the number in service. The meters know no classes. */
function integrals(finished: Finished, subject: string): { waitingPs: number; busyPs: number; servers: number } {
  const { simulation, gather, setup } = finished;
  const element = simulation.model.elements.find(({ base }) => base.name === setup.server)!;
  const meters = [...element.channels()].filter(({ kind }) => kind === 'server');
  const servers = Math.max(1, meters.length);
  if (setup.counters === 'meters' && !subject.startsWith('class')) {
    const busyPs = meters.reduce((sum, { busy }) => sum + busy.totalPs, 0);
    return { waitingPs: element.queued.areaPs, busyPs, servers };
  }
  const tally = gather.tallies.get(subject)!;
  return { waitingPs: tally.waitsPs, busyPs: tally.servicesPs, servers };
}
