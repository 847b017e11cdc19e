/** Closed systems: a fixed number of tokens, each a master that asks again only after its last answer, or a place at a source. */
import type { DistributionSpec, IssueSpec, SystemSpec } from '../../../src/scenario/scenario.js';
import { device, roundRobin, system } from '../../model/platform.js';
import { poissonIssue } from './arrivals.js';
import { type Case, numberOf, parseNumber, type Published, textOf } from './case-file.js';
import { type Experiment, experiment, type Finished, type Setup, type Span } from './experiment.js';
import { atDevice, endedAt, type Way } from './gather.js';
import { bufferOf, clockOf, LANE, lane, throughLane, writer } from './lane.js';
import { atServer, everyone, SERVER, spanOf } from './platform.js';
import { REPLICATIONS } from './recipe.js';
import { exponential, fixed } from './services.js';
import { CYCLE_PS, type Reading } from './tally.js';

const REQUESTS = 350_000;
/** Most requests where a station is a lane, which costs several times a device. */
const REQUESTS_AT_LANE = 150_000;
const WARMUP_ROUNDS = 100;

/** A beat of a lane that is a station. */
const TICK_PS = CYCLE_PS / 8;

/** N masters that think and ask in turn, one device. */
export function machineRepair(one: Case): Experiment[] {
  const think = exponential(numberOf(one, 'mean_think'));
  const service = exponential(numberOf(one, 'mean_service'));
  const servers = one.params.has('c') ? numberOf(one, 'c') : 1;
  const spec = atServer(tokens(numberOf(one, 'N'), think.spec), { service: service.spec, servers });
  return [experiment({ ...stationOf(one, spec), ...spanOfRounds(one, REQUESTS) })];
}

/** The same without chance: the window is a whole number of rounds. */
export function deterministicLoop(one: Case): Experiment[] {
  const n = numberOf(one, 'N');
  const think = numberOf(one, 'think_cycles');
  const service = numberOf(one, 'service_cycles');
  const spec = atServer(tokens(n, fixed(think).spec), { service: fixed(service).spec });
  const roundPs = Math.max(think + service, n * service) * CYCLE_PS;
  return [
    experiment({ ...stationOf(one, spec), warmupPs: 100 * roundPs, durationPs: 1000 * roundPs, replications: 1 }),
  ];
}

/** Closed networks of two stations, or of three that are alike; others need a route that the model has not. */
export function closedNetwork(one: Case): Experiment[] {
  const services = stationsOf(one);
  if (services === null) return [];
  if (numberOf(one, 'mean_think') > 0) return [thinkersAndTwoStations(one, services)];
  return [services.length === 2 ? sourceAndDevice(one, services) : sourceLaneAndDevice(one, services)];
}

/** Mean services of the stations, each visited once a round; null where the network is of another kind. */
function stationsOf(one: Case): number[] | null {
  if (!one.params.has('N')) return null;
  const keys = [...one.params.keys()].filter((key) => key.startsWith('station'));
  const visits = keys.map((key) => textOf(one, key).split(' ').at(-1));
  return visits.every((each) => each === '1') ? keys.map((key) => parseNumber(textOf(one, key).split(' ')[1]!)) : null;
}

/**
 * Two stations in a ring: the device is one; the other is a Poisson source with N places, whose free places are the tokens
 * that stand before it. What it wants without a free place is lost, which changes nothing as gaps have no memory.
 */
function sourceAndDevice(one: Case, [first, second]: readonly number[]): Experiment {
  const n = numberOf(one, 'N');
  const spec = atServer([poissonIssue(1 / second!)], { service: exponential(first!).spec }, placesOf(n));
  const subjects = new Map([...everyone(1, atDevice), ['station1', { masters: [0], way: atDevice }]]);
  const read = (finished: Finished, published: Published) => readRing(finished, published, n, ['station1'], 'station2');
  return experiment({ ...stationOf(one, spec), ...spanOfRounds(one, REQUESTS), subjects, read });
}

/** Three stations in a ring: source, lane of a port, device. A token needs two beats more to get from one to the next. */
function sourceLaneAndDevice(one: Case, [first, second, third]: readonly number[]): Experiment {
  const n = numberOf(one, 'N');
  const source = writer('m0', LANE, poissonIssue(1 / third!), exponential(first!), TICK_PS, {
    maxWrites: n,
    whenFull: 'drop',
  });
  const spec = laneAndDevice([source], second!);
  const read = (finished: Finished, published: Published) =>
    readRing(finished, published, n, ['station1', 'station2'], 'station3');
  return experiment({ ...throughBoth(one, spec, 1), read });
}

/** Masters that think, then a lane of a port and a device. Thinking is shorter by what a token needs between stations. */
function thinkersAndTwoStations(one: Case, [first, second]: readonly number[]): Experiment {
  const think = exponential(numberOf(one, 'mean_think') - (2 * TICK_PS) / CYCLE_PS);
  const masters = tokens(numberOf(one, 'N'), think.spec).map((issue, k) =>
    writer(`m${k}`, LANE, issue, exponential(first!), TICK_PS),
  );
  return experiment(throughBoth(one, laneAndDevice(masters, second!), masters.length));
}

function laneAndDevice(masters: SystemSpec['masters'], service: number): SystemSpec {
  const elements = [
    lane(LANE, SERVER, TICK_PS, { ...roundRobin, policy: 'oldest' }),
    device(SERVER, { widthBytes: 1, service: exponential(service).spec }),
  ];
  return system(elements, [bufferOf(masters, SERVER)], masters, [clockOf(TICK_PS)]);
}

/** The lane is station 1, the device station 2; the way of all is through both. */
function throughBoth(one: Case, spec: SystemSpec, count: number): Setup {
  const first = throughLane(0, TICK_PS, null);
  const second: Way = { arrivedAt: first.leftAt, startedAt: atDevice.startedAt, leftAt: endedAt };
  const whole: Way = { ...first, leftAt: endedAt };
  const masters = Array.from({ length: count }, (_, n) => n);
  const subjects = new Map([
    ['all', { masters, way: whole }],
    ['station1', { masters, way: first }],
    ['station2', { masters, way: second }],
  ]);
  const rounds = spanOfRounds(one, REQUESTS_AT_LANE);
  const slack = (published: Published) => tickSlack(one, published);
  return { ...stationOf(one, spec), ...rounds, subjects, counters: 'requests', tickPs: TICK_PS, slack };
}

/** Two beats a round of pipeline and edges: so much longer a visit, and in proportion to the round fewer of them. */
function tickSlack(one: Case, { metric, value }: Published): number {
  const ticks = (2 * TICK_PS) / CYCLE_PS;
  if (metric === 'mean_response') return ticks;
  const round = numberOf(one, 'N') / throughputOf(one);
  return value * (ticks / round) + (metric === 'mean_number' ? ticks * throughputOf(one) : 0);
}

/** What the ring says of the station that is its source, and of the whole: of the N tokens, those that are nowhere else. */
function readRing(
  { gather, simulation }: Finished,
  { subject, metric }: Published,
  n: number,
  others: readonly string[],
  source: string,
): Reading | null {
  const windowPs = simulation.context.window.lengthPs;
  const { count } = gather.tallies.get('all')!;
  if (subject === 'all' && metric === 'mean_response') return { kind: 'mean', sum: (n * windowPs) / CYCLE_PS, count };
  if (subject !== source) return null;
  const elsewherePs = others.reduce((sum, other) => sum + gather.tallies.get(other)!.responsesPs, 0);
  const herePs = n * windowPs - elsewherePs;
  if (metric === 'mean_number') return { kind: 'mean', sum: herePs, count: windowPs };
  if (metric === 'mean_response') return { kind: 'mean', sum: herePs / CYCLE_PS, count };
  // busy whenever a token stands before it
  return metric === 'utilisation' ? { kind: 'mean', sum: windowPs - gather.levels.timeWith(n), count: windowPs } : null;
}

const placesOf = (n: number) => ({ maxReads: n, whenFull: 'drop' as const });

function tokens(count: number, think: DistributionSpec): IssueSpec[] {
  return Array.from({ length: count }, () => ({ process: 'dependent', think }));
}

const throughputOf = ({ values }: Case) => values.find(({ metric }) => metric === 'throughput')!.value;

function spanOfRounds(one: Case, requests: number): Span {
  const rate = throughputOf(one);
  return spanOf(requests / REPLICATIONS, rate, (WARMUP_ROUNDS * numberOf(one, 'N')) / rate);
}

function stationOf(one: Case, spec: SystemSpec): Omit<Setup, keyof Span> {
  return {
    seed: one.id,
    system: () => spec,
    subjects: everyone(spec.masters.length, atDevice),
    values: one.values,
    tickPs: 0,
    server: SERVER,
    counters: 'meters',
  };
}
