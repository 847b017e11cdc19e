import type { IssueSpec } from '../../../src/scenario/scenario.js';
import { randomStream } from '../../../src/engine/random.js';
import { RequestSource } from '../../../src/traffic/request-source.js';
import { makeDraw } from '../../../src/traffic/distribution.js';
import { master } from '../../model/platform.js';
import { type Case, numberOf, parseNumber, textOf } from './case-file.js';
import { CYCLE_PS } from './tally.js';

/** How requests come. */
export interface Arrivals {
  /** One master each; a trace is drawn for its replication, and holds what comes until `untilPs`. */
  readonly issues: (replication: number, untilPs: number) => IssueSpec[];
  /** Requests a cycle of all together. */
  readonly rate: number;
  /** Variance over mean of the number in a long time. */
  readonly dispersion: number;
}

const every = (rate: number) => ({ kind: 'every', everyPs: CYCLE_PS / rate }) as const;

export function poisson(rate: number): Arrivals {
  return { issues: () => [poissonIssue(rate)], rate, dispersion: 1 };
}

export function poissonIssue(rate: number): IssueSpec {
  return { process: 'poisson', pace: every(rate), batch: { kind: 'fixed', value: 1 } };
}

/** Batches of a fixed or geometric size, without memory. */
export function batches(one: Case): Arrivals {
  const [kind, , size] = textOf(one, 'batch').split(' ') as [string, string, string];
  const mean = parseNumber(size);
  const rate = numberOf(one, 'lambda_batches') * mean;
  const batch =
    kind === 'const' ? ({ kind: 'fixed', value: mean } as const) : ({ kind: 'geometric', mean, unit: 1 } as const);
  return {
    issues: () => [{ process: 'poisson', pace: every(rate), batch }],
    rate,
    dispersion: kind === 'const' ? mean : 2 * mean - 1,
  };
}

/** At even distances. */
export function steady(rate: number): Arrivals {
  return { issues: () => [{ process: 'steady', pace: every(rate), jitterPs: 0, offsetPs: null }], rate, dispersion: 0 };
}

/** Every k-th request of a Poisson source, as a trace: gaps are sums of `k` exponentials. */
export function erlangGaps(id: string, k: number, rate: number): Arrivals {
  const issues = (replication: number, untilPs: number) => {
    const times = poissonTimes(id, replication, k * rate, untilPs);
    return [traceOf(times.filter((_, n) => n % k === 0))];
  };
  return { issues, rate, dispersion: 1 / k };
}

/** Two states without memory, Poisson within each: a steady flow and one that is on in state 1, at one queue. */
export function modulated(low: number, high: number, leave0: number, leave1: number): Arrivals {
  const exponential = (rate: number) => ({ kind: 'exponential', mean: CYCLE_PS / rate }) as const;
  const bursts: IssueSpec = {
    process: 'on_off',
    within: 'poisson',
    pace: every(high - low),
    on: exponential(leave1),
    off: exponential(leave0),
  };
  const share = leave0 / (leave0 + leave1);
  const rate = low + share * (high - low);
  return {
    issues: () => (low > 0 ? [poissonIssue(low), bursts] : [bursts]),
    rate,
    dispersion: 1 + (2 * (high - low) ** 2 * share * (1 - share)) / ((leave0 + leave1) * rate),
  };
}

/** In each cycle one request with probability `rate`, as a trace. */
export function coins(id: string, name: string, rate: number): Arrivals {
  const issues = (replication: number, untilPs: number) => {
    const gap = makeDraw(
      { kind: 'geometric', mean: 1 / rate, unit: CYCLE_PS },
      randomStream(id, replication, name, 'gap'),
    );
    const times: number[] = [];
    for (let at = gap(); at < untilPs; at += gap()) times.push(at);
    return [traceOf(times)];
  };
  return { issues, rate, dispersion: 1 - rate };
}

/** In each cycle, while on, one request with a probability; then the state may change. As a trace. */
export function onOffCycles(one: Case): Arrivals {
  const [p, toOn, toOff] = ['p_request_when_on', 'p_off_to_on', 'p_on_to_off'].map((key) => numberOf(one, key)) as [
    number,
    number,
    number,
  ];
  const share = toOn / (toOn + toOff);
  const issues = (replication: number, untilPs: number) => {
    const random = randomStream(one.id, replication, 'trace', 'cycles');
    const off = makeDraw(
      { kind: 'geometric', mean: 1 / toOn, unit: CYCLE_PS },
      randomStream(one.id, replication, 'trace', 'off'),
    );
    const times: number[] = [];
    for (let at = 0; at < untilPs; at += CYCLE_PS) {
      if (random() < p) times.push(at);
      if (random() < toOff) at += off();
    }
    return [traceOf(times)];
  };
  const rate = share * p;
  return { issues, rate, dispersion: 1 - rate + (2 * p * p * share * (1 - share)) / ((toOn + toOff) * rate) };
}

/** When a Poisson source wants its requests: the source itself is asked. */
export function poissonTimes(id: string, replication: number, rate: number, untilPs: number): number[] {
  const spec = master('trace', '', '', { size: { kind: 'fixed', value: 16 }, issue: poissonIssue(rate) });
  const source = new RequestSource(spec, 4096, id, replication);
  const times: number[] = [];
  for (source.advance(); source.wantedPs < untilPs; source.advance()) times.push(source.wantedPs);
  return times;
}

/** A source that wants 16 bytes at each of these instants. */
export function traceOf(timesPs: readonly number[]): IssueSpec {
  const entries = timesPs.map((timePs) => ({ timePs, write: false, address: 0, bytes: 16 }));
  return { process: 'trace', file: 'trace.csv', entries };
}

/** What a case of on-off arrivals states. */
export function onOff(one: Case): Arrivals {
  const { params } = one;
  if (params.has('p_off_to_on')) return onOffCycles(one);
  const [low, high, leave0, leave1] = params.has('mean_on')
    ? [0, numberOf(one, 'lambda_on'), 1 / numberOf(one, 'mean_off'), 1 / numberOf(one, 'mean_on')]
    : (['lambda_state0', 'lambda_state1', 'rate_0to1', 'rate_1to0'].map((key) => numberOf(one, key)) as [
        number,
        number,
        number,
        number,
      ]);
  return modulated(low!, high!, leave0!, leave1!);
}
