/** Several classes or queues at one server, and an arbiter that chooses among them. */
import type { ArbitrationSpec, SystemSpec } from '../../../src/scenario/scenario.js';
import { device, roundRobin, system } from '../../model/platform.js';
import { poissonIssue } from './arrivals.js';
import { type Case, parseAtoms, parseNumber, type Published, textOf } from './case-file.js';
import { type Experiment, experiment, type Finished, type Setup, type Span } from './experiment.js';
import { atDevice, type Subject, type Way } from './gather.js';
import { bufferOf, clockOf, LANE, lane, throughLane, writer } from './lane.js';
import { atServer, SERVER, spanOf } from './platform.js';
import { REPLICATIONS, requestsFor, warmUpServices } from './recipe.js';
import { atoms, exponential, fixed, type Service } from './services.js';
import { CYCLE_PS, type Reading } from './tally.js';

/** A class of requests; the first is the most urgent. */
interface Stream {
  readonly load: number;
  readonly rate: number;
  readonly service: Service;
}

/** The highest QoS value of AXI4. */
const MOST_URGENT = 15;

/** A beat of a lane: a quarter of a cycle of theory. */
const TICK_PS = CYCLE_PS / 4;

/** Most requests: fewer at a lane, where each costs several times one at a device, and fewer still for a mean or two. */
const MOST = 1_500_000;
const MOST_AT_LANE = { forFew: 800_000, forMany: 1_200_000 };

const oldest: ArbitrationSpec = { ...roundRobin, policy: 'oldest' };
const firstIsUrgent: ArbitrationSpec = { ...roundRobin, policy: 'fixed_priority', priority: ['m0', 'm1', 'm2', 'm3'] };
const byQos: ArbitrationSpec = { ...roundRobin, policy: 'qos' };
const weighted: ArbitrationSpec = {
  ...roundRobin,
  policy: 'weighted',
  weights: new Map([
    ['m0', 3],
    ['m2', 2],
  ]),
};

/** Fixed priority, the same by the urgency of requests, and the same traffic first come first served. */
export function priorities(one: Case): Experiment[] {
  const streams = streamsOf(one, 'class');
  const fifoOnly = ({ metric }: Published) => metric === 'fifo_mean_wait_same_traffic';
  const kept = one.values.filter((value) => !fifoOnly(value));
  const waits = one.values.filter(({ subject, metric }) => subject.startsWith('class') && metric === 'mean_wait');
  const fifo = one.values.filter((value) => fifoOnly(value) || value.metric === 'rho_weighted_wait_sum');
  const policies: [string, ArbitrationSpec, Published[]][] = [
    ['fixed priority', firstIsUrgent, kept],
    ['oldest first', oldest, fifo],
  ];
  // at a port, where QoS is at home
  if (!areAlike(streams)) policies.push(['by QoS', byQos, waits]);
  return policies.map(([variant, policy, values]) => experiment({ ...setupOf(one, streams, policy, values), variant }));
}

/** The law of conservation, whatever the arbiter. Where all queues are alike, a fair one gives each the same wait. */
export function conservation(one: Case): Experiment[] {
  const streams = streamsOf(one, 'queue');
  const shared = one.values.filter(({ subject }) => subject === 'all');
  const single = one.values.filter(({ subject }) => subject === 'each queue');
  const each = single.flatMap((value) => streams.map((_, n) => ({ ...value, subject: `queue${n + 1}` })));
  const policies: [string, ArbitrationSpec, Published[]][] = [
    ['round robin', roundRobin, [...shared, ...each]],
    ['oldest first', oldest, [...shared, ...each]],
  ];
  if (!areAlike(streams)) policies.push(['fixed priority', firstIsUrgent, shared], ['weighted', weighted, shared]);
  return policies.map(([variant, policy, values]) => experiment({ ...setupOf(one, streams, policy, values), variant }));
}

/** Do all have one distribution of services, so that one device can serve them? */
function areAlike(streams: readonly Stream[]): boolean {
  return new Set(streams.map(({ service }) => JSON.stringify(service))).size === 1;
}

function setupOf(one: Case, streams: readonly Stream[], policy: ArbitrationSpec, values: readonly Published[]): Setup {
  const alike = areAlike(streams);
  const atMost = values.length > 6 ? MOST_AT_LANE.forMany : MOST_AT_LANE.forFew;
  const shared = {
    ...spanFor(streams, alike ? MOST : atMost),
    seed: one.id,
    values,
    counters: 'requests' as const,
    read: (finished: Finished, published: Published) => readSums(finished, published, streams),
  };
  if (alike) {
    const issues = streams.map((stream) => poissonIssue(stream.rate));
    const spec = withUrgency(atServer(issues, { service: streams[0]!.service.spec, discipline: policy }));
    return { ...shared, system: () => spec, subjects: subjectsOf(streams, atDevice), tickPs: 0, server: SERVER };
  }
  const spec = withUrgency(atLane(streams, policy));
  return {
    ...shared,
    system: () => spec,
    subjects: subjectsOf(streams, throughLane(0, TICK_PS, null)),
    tickPs: TICK_PS,
    server: LANE,
    slack: (published) => tickSlack(published, streams),
  };
}

/** The window that all classes together need. */
function spanFor(streams: readonly Stream[], most: number): Span {
  const rate = streams.reduce((sum, stream) => sum + stream.rate, 0);
  const load = streams.reduce((sum, stream) => sum + stream.load, 0);
  const squares = streams.map(({ rate: own, service }) => own * (service.variation + 1) * service.mean ** 2);
  const mean = load / rate;
  const services = squares.reduce((sum, square) => sum + square, 0) / rate / mean ** 2 - 1;
  const traffic = { load, arrivals: 1, services };
  return spanOf(requestsFor(traffic, most) / REPLICATIONS, rate, warmUpServices(traffic) * mean);
}

/** The first master is the most urgent, for an arbiter that looks at it. */
function withUrgency(spec: SystemSpec): SystemSpec {
  return { ...spec, masters: spec.masters.map((own, n) => ({ ...own, qos: MOST_URGENT - n })) };
}

/** Bursts of each class's own length at a port, whose arbiter chooses. */
function atLane(streams: readonly Stream[], policy: ArbitrationSpec): SystemSpec {
  const masters = streams.map(({ rate, service }, n) => writer(`m${n}`, LANE, poissonIssue(rate), service, TICK_PS));
  const sink = device('sink', { widthBytes: 1, service: { kind: 'fixed', value: 0 } });
  return system([lane(LANE, 'sink', TICK_PS, policy), sink], [bufferOf(masters, 'sink')], masters, [clockOf(TICK_PS)]);
}

/** Everyone, and each class or queue by itself. */
function subjectsOf(streams: readonly Stream[], way: Way): Map<string, Subject> {
  const single = streams.flatMap((_, n) =>
    ['class', 'queue'].map((word): [string, Subject] => [`${word}${n + 1}`, { masters: [n], way }]),
  );
  return new Map([['all', { masters: streams.map((_, n) => n), way }], ...single]);
}

function readSums({ gather }: Finished, { metric }: Published, streams: readonly Stream[]): Reading | null {
  const mean = (subject: string) => {
    const { waitsPs, count } = gather.tallies.get(subject)!;
    return waitsPs / count / CYCLE_PS;
  };
  if (metric === 'fifo_mean_wait_same_traffic') return { kind: 'mean', sum: mean('all'), count: 1 };
  if (metric !== 'rho_weighted_wait_sum') return null;
  return { kind: 'mean', sum: streams.reduce((sum, { load }, n) => sum + load * mean(`class${n + 1}`), 0), count: 1 };
}

/** A grant comes up to a beat late, as it waits for an edge; numbers change by as much as that is of a gap. */
function tickSlack({ subject, metric }: Published, streams: readonly Stream[]): number {
  const tick = TICK_PS / CYCLE_PS;
  const own = subject === 'all' ? streams : [streams[Number(subject.at(-1)) - 1]!];
  const rate = own.reduce((sum, stream) => sum + stream.rate, 0);
  if (metric.startsWith('mean_number')) return tick * rate;
  // who comes less than a beat before the server is free cannot be told from who finds it free
  if (metric === 'prob_wait') return tick * streams.reduce((sum, stream) => sum + stream.rate, 0);
  return metric === 'utilisation' || metric === 'mean_residual_work_W0' ? 0 : tick;
}

/** `class1=rho 0.3 exp 16 lambda 0.01875` */
function streamsOf(one: Case, word: string): Stream[] {
  const keys = [...one.params.keys()].filter((key) => key.startsWith(word));
  return keys.map((key) => {
    const [, load, kind, size, , rate] = textOf(one, key).split(' ') as [
      string,
      string,
      string,
      string,
      string,
      string,
    ];
    return { load: parseNumber(load), rate: parseNumber(rate), service: serviceOf(kind, size) };
  });
}

function serviceOf(kind: string, size: string): Service {
  switch (kind) {
    case 'exp':
      return exponential(parseNumber(size));
    case 'det':
      return fixed(parseNumber(size));
    case 'atoms':
      return atoms(parseAtoms(size));
    default:
      throw new RangeError(`unknown service ${kind}`);
  }
}
