/** Stations one after the other. */
import type { IssueSpec, SystemSpec } from '../../../src/scenario/scenario.js';
import { device, roundRobin, system } from '../../model/platform.js';
import { poissonIssue, traceOf } from './arrivals.js';
import { type Case, numberOf, numbersOf, type Published } from './case-file.js';
import {
  type Experiment,
  experiment,
  type Finished,
  readStation,
  type Setup,
  simulate,
  type Span,
} from './experiment.js';
import { atDevice, endedAt, Gather, type Way } from './gather.js';
import { bufferOf, clockOf, lane, writer } from './lane.js';
import { atServer, everyone, SERVER, spanOf } from './platform.js';
import { REPLICATIONS, requestsFor, warmUpServices } from './recipe.js';
import { exponential, fixed } from './services.js';
import { CYCLE_PS, type Reading, Tally } from './tally.js';

/** Most requests, as each passes several stations; constant services are run at a higher load. */
const ENOUGH = { constant: 2_000_000, exponential: 1_200_000 };
/** Beats of a burst that is served for a constant time. */
const BEATS = 64;

/** Cycles in which whoever comes at the end of the first window passes a station: sources go on for so long. */
const MARGIN_CYCLES = 10_000;

export function tandem(one: Case): Experiment[] {
  return one.params.has('services') ? [constantTandem(one)] : [exponentialTandem(one)];
}

/**
 * Constant services: bursts of one length through ports, each with a clock that makes a burst last as long as the service,
 * and a device at the end. Ports collect a burst whole before they send it on: store and forward.
 */
function constantTandem(one: Case): Experiment {
  const services = numbersOf(one, 'services');
  const rate = numberOf(one, 'lambda');
  const ticks = services.slice(0, -1).map((service) => (service * CYCLE_PS) / BEATS);
  const before = services.slice(0, -1).reduce((sum, service) => sum + service * CYCLE_PS, 0);
  // theory's wait is the sum over stations: all the time before the last service that is not service
  const way: Way = {
    arrivedAt: atDevice.arrivedAt,
    startedAt: (bursts, slot) => bursts.enteredAt[slot]! - before,
    leftAt: endedAt,
  };
  const tickPs = ticks.reduce((sum, tick) => sum + tick, 0);
  const spec = portsAndDevice(rate, services, ticks);
  return experiment({
    ...spanFor(rate, Math.max(...services), 0, ENOUGH.constant),
    seed: one.id,
    system: () => spec,
    subjects: everyone(1, way),
    values: one.values,
    tickPs,
    server: SERVER,
    counters: 'requests',
    slack: () => tickPs / CYCLE_PS,
  });
}

function portsAndDevice(rate: number, services: readonly number[], ticks: readonly number[]): SystemSpec {
  const names = ticks.map((_, n) => `p${n}`);
  const ports = ticks.map((tick, n) => lane(names[n]!, names[n + 1] ?? SERVER, tick, roundRobin));
  const first = fixed(services[0]!);
  const elements = [...ports, device(SERVER, { widthBytes: 1, service: fixed(services.at(-1)!).spec })];
  const masters = [writer('m0', names[0]!, poissonIssue(rate), first, ticks[0]!)];
  const clocks = ticks.map((tick) => clockOf(tick));
  return system(elements, [bufferOf(masters, SERVER)], masters, clocks);
}

/** Exponential services: the departures of each station are the trace of the next, where services are drawn anew. */
function exponentialTandem(one: Case): Experiment {
  const services = numbersOf(one, 'mean_services');
  const rate = numberOf(one, 'lambda');
  const span = spanFor(rate, Math.max(...services), 1, ENOUGH.exponential);
  return {
    variant: '',
    replications: REPLICATIONS,
    targets: one.values.map((published) => ({ published, slack: 0 })),
    run: (replication) => {
      let issue: IssueSpec = poissonIssue(rate);
      const stations: Station[] = [];
      for (const [n, service] of services.entries()) {
        const station = runStation(one, n, issue, service, span, replication);
        stations.push(station);
        issue = traceOf(station.departures.leftAt);
      }
      const whole = wholeWay(one, stations, span);
      return one.values.map((published) => readTandem(published, stations, whole, span));
    },
  };
}

interface Station {
  readonly finished: Finished;
  readonly departures: Departures;
}

/** Keeps when each request came and left, in order: first come, first served. */
class Departures extends Gather {
  readonly arrivedAt: number[] = [];
  readonly leftAt: number[] = [];

  override completed(slot: number): void {
    const { bursts } = this.simulation.context;
    this.arrivedAt.push(bursts.wantedAt[slot]!);
    this.leftAt.push(bursts.doneAt[slot]!);
    super.completed(slot);
  }
}

function runStation(one: Case, n: number, issue: IssueSpec, service: number, span: Span, replication: number): Station {
  const name = `station${n + 1}`;
  const spec = atServer([issue], { service: exponential(service).spec });
  const setup: Setup = {
    warmupPs: span.warmupPs,
    durationPs: span.durationPs + MARGIN_CYCLES * CYCLE_PS * (numbersOf(one, 'mean_services').length - 1),
    // by station, or each request would be served for as long at every one
    seed: `${one.id} ${name}`,
    system: () => spec,
    subjects: new Map([[name, { masters: [0], way: atDevice }]]),
    values: one.values,
    tickPs: 0,
    server: SERVER,
    counters: 'meters',
    gather: (watched) => new Departures(watched),
  };
  const finished = simulate(setup, replication);
  return { finished, departures: finished.gather as Departures };
}

/** Responses over all stations of the requests that came to the first in its window. */
function wholeWay(one: Case, stations: readonly Station[], { warmupPs, durationPs }: Span): Tally {
  const tally = new Tally('all', one.values, 0);
  const { arrivedAt } = stations[0]!.departures;
  const { leftAt } = stations.at(-1)!.departures;
  for (const [n, at] of arrivedAt.entries()) {
    if (at >= warmupPs && at < warmupPs + durationPs) tally.add(0, leftAt[n]! - at, true);
  }
  return tally;
}

function readTandem(published: Published, stations: readonly Station[], whole: Tally, span: Span): Reading {
  const { subject, metric } = published;
  const reading =
    subject !== 'all'
      ? readStation(stations[Number(subject.at(-1)) - 1]!.finished, published)
      : metric === 'mean_number'
        ? { kind: 'mean' as const, sum: whole.responsesPs, count: span.durationPs }
        : whole.read(published);
  if (reading === null) throw new RangeError(`nothing reads ${subject} ${metric}`);
  return reading;
}

function spanFor(rate: number, slowest: number, services: number, most: number): Span {
  const traffic = { load: rate * slowest, arrivals: 1, services };
  return spanOf(requestsFor(traffic, most) / REPLICATIONS, rate, 2 * warmUpServices(traffic) * slowest);
}
