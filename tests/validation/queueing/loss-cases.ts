/** Queues with an end, whose requests are lost when there is no place. */
import type { DeviceSpec, MasterSpec } from '../../../src/scenario/scenario.js';
import { type Arrivals, poisson } from './arrivals.js';
import { type Case, numberOf } from './case-file.js';
import { type Experiment, experiment } from './experiment.js';
import { atDevice } from './gather.js';
import { atServer, everyone, SERVER, spanOf } from './platform.js';
import { REPLICATIONS } from './recipe.js';
import { atoms, exponential, fixed, type Service, serviceOf } from './services.js';

/** What has an end settles soon, and needs no more than this. */
const REQUESTS = 300_000;
const WARMUP_SERVICES = 500;

/** `K` places, those in service among them: the device loses what finds them taken. */
export function finiteQueue(one: Case): Experiment[] {
  const servers = one.params.has('c') ? numberOf(one, 'c') : 1;
  const queueDepth = numberOf(one, 'K') - servers;
  return [lossy(one, poisson(numberOf(one, 'lambda')), serviceOf(one), { servers, queueDepth, full: 'lose' }, {}, '')];
}

/** As many outstanding as servers, so nobody waits: the loss does not depend on the distribution of the service. */
export function erlangLoss(one: Case): Experiment[] {
  const c = numberOf(one, 'c');
  const mean = numberOf(one, 'mean_latency');
  const uneven = atoms([
    { value: mean / 4, probability: 0.8 },
    { value: 4 * mean, probability: 0.2 },
  ]);
  const services: [string, Service][] = [
    ['constant latency', fixed(mean)],
    ['exponential latency', exponential(mean)],
    ['latency of two values', uneven],
  ];
  const arrivals = poisson(numberOf(one, 'lambda'));
  return services.map(([variant, service]) =>
    lossy(one, arrivals, service, { servers: c }, { maxReads: c, whenFull: 'drop' }, variant),
  );
}

/**
 * A generator that stops while N are outstanding. The model's source goes on and loses what it then wants; as gaps have no
 * memory, the next request after a place is free comes after the same time, so accepted requests cannot tell the two apart.
 */
export function pausingSource(one: Case): Experiment[] {
  const arrivals = poisson(numberOf(one, 'lambda_when_running'));
  const service = exponential(numberOf(one, 'mean_service'));
  return [lossy(one, arrivals, service, {}, { maxReads: numberOf(one, 'N'), whenFull: 'drop' }, '')];
}

function lossy(
  one: Case,
  arrivals: Arrivals,
  service: Service,
  server: Partial<DeviceSpec>,
  source: Partial<MasterSpec>,
  variant: string,
): Experiment {
  return experiment({
    ...spanOf(REQUESTS / REPLICATIONS, arrivals.rate, WARMUP_SERVICES * service.mean),
    variant,
    seed: one.id,
    system: (replication) =>
      atServer(arrivals.issues(replication, Infinity), { service: service.spec, ...server }, source),
    subjects: everyone(1, atDevice),
    values: one.values,
    tickPs: 0,
    server: SERVER,
    counters: 'meters',
  });
}
