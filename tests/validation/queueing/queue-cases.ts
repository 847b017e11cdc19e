/** Open queues without end: one stream, one station of one or several servers, first come first served. */
import type { DeviceSpec } from '../../../src/scenario/scenario.js';
import { type Arrivals, batches, coins, erlangGaps, onOff, poisson, steady } from './arrivals.js';
import { type Case, numberOf, parseAtoms, textOf } from './case-file.js';
import { type Experiment, experiment, type Setup, type Span } from './experiment.js';
import { atDevice, endedAt, type Way } from './gather.js';
import { atClockedServer, atServer, everyone, SERVER, spanOf } from './platform.js';
import { REPLICATIONS, requestsFor, warmUpServices } from './recipe.js';
import { atoms, fixed, geometric, type Service, serviceOf } from './services.js';
import { CYCLE_PS } from './tally.js';

/** In a clock the address takes a cycle to the device, so each wait is a cycle longer than that of theory. */
const inClock: Way = {
  arrivedAt: (bursts, slot) => bursts.wantedAt[slot]! + CYCLE_PS,
  startedAt: atDevice.startedAt,
  leftAt: endedAt,
};

/** A case of a Poisson stream. */
export function poissonQueue(one: Case): Experiment[] {
  return [queue(one, poisson(numberOf(one, 'lambda')), serviceOf(one))];
}

/** The same, and once more with a queue of two places that holds the source back: the rest waits there. */
export function poissonQueueAndBackPressure(one: Case): Experiment[] {
  const load = numberOf(one, 'rho');
  const arrivals = poisson(numberOf(one, 'lambda'));
  const service = serviceOf(one);
  const plain = queue(one, arrivals, service);
  if (load !== 0.5 && load !== 0.7) return [plain];
  const held = setupOf(one, arrivals, service, { queueDepth: 2, full: 'hold' });
  const values = one.values.filter(({ metric }) => /^(mean_|wait_|response_|sd_[wr])/.test(metric));
  return [plain, experiment({ ...held, values, counters: 'requests', variant: 'two places, then back-pressure' })];
}

/** D/M/1 and E_k/M/1. */
export function renewalQueue(one: Case): Experiment[] {
  const rate = numberOf(one, 'lambda');
  const even = one.params.has('interarrival_cycles');
  const arrivals = even
    ? steady(1 / numberOf(one, 'interarrival_cycles'))
    : erlangGaps(one.id, numberOf(one, 'k'), rate);
  return [queue(one, arrivals, exponentialService(one))];
}

/** `k` is of the gaps here. */
function exponentialService(one: Case): Service {
  return serviceOf({ ...one, params: new Map([...one.params].filter(([key]) => key !== 'k')) });
}

export function batchQueue(one: Case): Experiment[] {
  return [queue(one, batches(one), serviceOf(one))];
}

export function onOffQueue(one: Case): Experiment[] {
  const arrivals = onOff(one);
  return [
    one.id.startsWith('onoffd') ? wholeCycles(one, arrivals, serviceOf(one)) : queue(one, arrivals, serviceOf(one)),
  ];
}

/** Arrivals and services in whole cycles, all in one clock. */
export function discreteQueue(one: Case): Experiment[] {
  const { id, params } = one;
  if (params.has('p_finish_per_cycle')) {
    const service = geometric(numberOf(one, 'p_finish_per_cycle'));
    return [wholeCycles(one, coins(id, 'm0', numberOf(one, 'p_arrival_per_cycle')), service)];
  }
  if (params.has('service_atoms')) {
    const service = atoms(parseAtoms(textOf(one, 'service_atoms')));
    return [wholeCycles(one, coins(id, 'm0', numberOf(one, 'p_arrival_per_cycle')), service)];
  }
  const n = numberOf(one, 'N');
  const each = numberOf(one, 'p_each');
  const streams = Array.from({ length: n }, (_, master) => coins(id, `m${master}`, each));
  const together: Arrivals = {
    issues: (replication, untilPs) => streams.flatMap(({ issues }) => issues(replication, untilPs)),
    rate: n * each,
    dispersion: 1 - each,
  };
  return [wholeCycles(one, together, fixed(numberOf(one, 'service_cycles')))];
}

function queue(one: Case, arrivals: Arrivals, service: Service): Experiment {
  return experiment(setupOf(one, arrivals, service, {}));
}

function setupOf(one: Case, arrivals: Arrivals, service: Service, more: Partial<DeviceSpec>): Setup {
  const servers = one.params.has('c') ? numberOf(one, 'c') : 1;
  const span = spanFor(arrivals, service, servers);
  const untilPs = span.warmupPs + span.durationPs;
  const system = (replication: number) =>
    atServer(arrivals.issues(replication, untilPs), { service: service.spec, servers, ...more });
  return { ...common(one, arrivals, span, atDevice), system, counters: 'meters' };
}

function wholeCycles(one: Case, arrivals: Arrivals, service: Service): Experiment {
  const span = spanFor(arrivals, service, 1);
  const untilPs = span.warmupPs + span.durationPs;
  const system = (replication: number) =>
    atClockedServer(arrivals.issues(replication, untilPs), { service: service.spec });
  return experiment({ ...common(one, arrivals, span, inClock), system, counters: 'requests' });
}

function common(one: Case, arrivals: Arrivals, span: Span, way: Way) {
  const masters = arrivals.issues(1, 0).length;
  return { ...span, seed: one.id, subjects: everyone(masters, way), values: one.values, tickPs: 0, server: SERVER };
}

function spanFor(arrivals: Arrivals, service: Service, servers: number): Span {
  const { rate, dispersion } = arrivals;
  const load = (rate * service.mean) / servers;
  const traffic = { load, arrivals: dispersion, services: service.variation };
  return spanOf(requestsFor(traffic) / REPLICATIONS, rate, warmUpServices(traffic) * service.mean);
}
