import { type Published, valueOf } from './case-file.js';

/** Picoseconds of a cycle of theory: fine enough that rounding to picoseconds is nothing. */
export const CYCLE_PS = 1e6;

/** Times are whole picoseconds, published ones are not: these many make them equal. */
const SAME_PS = 0.5;

/** What one replication says of a published value, in the value's own unit. */
export type Reading =
  /** A mean, or a share: sum over count. */
  | { readonly kind: 'mean'; readonly sum: number; readonly count: number }
  /** A deviation: sum of squares about the published mean, over count. */
  | { readonly kind: 'deviation'; readonly sum: number; readonly count: number }
  | QuantileReading;

/** A quantile: how many are beyond it, and how many are not below it; with a tick, beyond it by more than the tick. */
export interface QuantileReading {
  readonly kind: 'quantile';
  readonly beyond: number;
  readonly from: number;
  readonly count: number;
  readonly ticked: boolean;
}

/** Counts of what lies beyond limits. */
export class Tail {
  private readonly limits: Float64Array;
  private readonly beyond: Float64Array;
  private readonly from: Float64Array;

  /**
   * @param limitsPs published quantiles
   * @param tickPs by how much a value may be late because a clock divides time
   */
  constructor(
    limitsPs: readonly number[],
    private readonly tickPs: number,
  ) {
    this.limits = Float64Array.from(limitsPs).toSorted();
    this.beyond = new Float64Array(limitsPs.length);
    this.from = new Float64Array(limitsPs.length);
  }

  add(valuePs: number): void {
    const { limits, tickPs } = this;
    for (let i = 0; i < limits.length; i++) {
      if (valuePs < limits[i]! - SAME_PS) return;
      this.from[i]!++;
      if (valuePs > limits[i]! + tickPs + SAME_PS) this.beyond[i]!++;
    }
  }

  read(limitPs: number, count: number): Reading {
    const i = this.limits.indexOf(limitPs);
    return { kind: 'quantile', beyond: this.beyond[i]!, from: this.from[i]!, count, ticked: this.tickPs > 0 };
  }
}

/** Waits, services and responses of the requests of one subject in one replication. */
export class Tally {
  count = 0;
  waitsPs = 0;
  responsesPs = 0;
  servicesPs = 0;
  /** Sum of squared services, and of service × wait. */
  serviceSquares = 0;
  serviceWaits = 0;
  /** Squares about the published means. */
  private waitSquares = 0;
  private responseSquares = 0;
  private waited = 0;
  private firsts = 0;
  private firstWaitsPs = 0;
  private readonly meanWaitPs: number;
  private readonly meanResponsePs: number;
  private readonly waitTail: Tail;
  private readonly responseTail: Tail;

  /** @param values what is published of this subject */
  constructor(
    subject: string,
    values: readonly Published[],
    private readonly tickPs: number,
  ) {
    const own = values.filter((one) => one.subject === subject);
    const limits = (kind: string) =>
      own.filter(({ metric }) => metric.startsWith(`${kind}_p`)).map(({ value }) => value * CYCLE_PS);
    this.meanWaitPs = CYCLE_PS * (valueOf(own, subject, 'mean_wait') ?? 0);
    this.meanResponsePs = CYCLE_PS * (valueOf(own, subject, 'mean_response') ?? 0);
    this.waitTail = new Tail(limits('wait'), tickPs);
    this.responseTail = new Tail(limits('response'), tickPs);
  }

  /** @param isFirst the request is the first of those that came with it */
  add(waitPs: number, responsePs: number, isFirst: boolean): void {
    const servicePs = responsePs - waitPs;
    this.count++;
    this.waitsPs += waitPs;
    this.responsesPs += responsePs;
    this.servicesPs += servicePs;
    this.serviceSquares += servicePs * servicePs;
    this.serviceWaits += servicePs * waitPs;
    this.waitSquares += (waitPs - this.meanWaitPs) ** 2;
    this.responseSquares += (responsePs - this.meanResponsePs) ** 2;
    if (waitPs > this.tickPs) this.waited++;
    if (isFirst) {
      this.firsts++;
      this.firstWaitsPs += waitPs;
    }
    this.waitTail.add(waitPs);
    this.responseTail.add(responsePs);
  }

  /** What it says of a metric of single requests; null if it says nothing. */
  read({ metric, value }: Published): Reading | null {
    const { count } = this;
    const [kind, quantile] = metric.split('_p') as [string, string | undefined];
    if (quantile !== undefined && kind === 'wait') return this.waitTail.read(value * CYCLE_PS, count);
    if (quantile !== undefined && kind === 'response') return this.responseTail.read(value * CYCLE_PS, count);
    switch (metric) {
      case 'mean_wait':
        return { kind: 'mean', sum: this.waitsPs / CYCLE_PS, count };
      case 'mean_response':
        return { kind: 'mean', sum: this.responsesPs / CYCLE_PS, count };
      case 'sd_wait':
        return { kind: 'deviation', sum: this.waitSquares / CYCLE_PS ** 2, count };
      case 'sd_response':
        return { kind: 'deviation', sum: this.responseSquares / CYCLE_PS ** 2, count };
      // the root sigma of GI/M/1 is the share of requests that find the server busy
      case 'prob_wait':
      case 'sigma':
        return { kind: 'mean', sum: this.waited, count };
      case 'mean_wait_first_of_batch':
        return { kind: 'mean', sum: this.firstWaitsPs / CYCLE_PS, count: this.firsts };
      default:
        return null;
    }
  }
}
