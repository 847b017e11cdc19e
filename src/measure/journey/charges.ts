// Hot path: filled and emptied once per wait. One such list is used again and again.
import type { Chains } from './chains.js';
import type { UseLog } from './use-log.js';

/** Spans that are kept in order of time. Beyond, time goes to what the same culprit has at the same element already. */
const IN_ORDER = 12;

/**
 * Whom to charge for one wait, from its beginning on. A short one is told instant by instant; of a long one, which may go
 * through hundreds of hands, the sums per culprit and element are what counts, and the order only as far as it is short.
 */
export class Charges {
  /** Where the list ends so far, in ps. */
  at = 0.5;
  private startedAt = 0.5;
  private spans = new Float64Array(64);
  private culprits = new Int32Array(64);
  private elements = new Int32Array(64);
  private count = 0;

  /** Begins anew, at `fromPs`. */
  start(fromPs: number): void {
    this.at = fromPs;
    this.startedAt = fromPs;
    this.count = 0;
  }

  /** `culprit`, at `element`, is to blame until `untilPs`. */
  add(culprit: number, element: number, untilPs: number): void {
    const span = untilPs - this.at;
    if (!(span > 0)) return;
    this.at = untilPs;
    const { culprits, elements, count } = this;
    const least = count > IN_ORDER ? 0 : count - 1;
    for (let i = count - 1; i >= least && i >= 0; i--) {
      if (culprits[i] !== culprit || elements[i] !== element) continue;
      this.spans[i]! += span;
      return;
    }
    if (count === this.spans.length) this.grow();
    this.spans[count] = span;
    this.culprits[count] = culprit;
    this.elements[count] = element;
    this.count = count + 1;
  }

  /** Charges until `untilPs` whoever the log names; where it names nobody, `culprit` at `element`. */
  byLog(log: UseLog, untilPs: number, culprit: number, element: number): void {
    this.byEntries(log, log.next, untilPs, culprit, element);
  }

  /** The same by what was in the log before this instant: for logs of places whose events of this instant may be yet to come. */
  byEarlier(log: UseLog, untilPs: number, culprit: number, element: number): void {
    this.byEntries(log, log.nextEarlier, untilPs, culprit, element);
  }

  /** By a log, and by what was in a second one before this instant for the times at which the first names nobody. */
  byLogs(log: UseLog, second: UseLog, untilPs: number, culprit: number, element: number): void {
    for (let entry = log.firstAfter(this.at); entry < log.next && this.at < untilPs; entry++) {
      const from = log.fromOf(entry);
      if (from >= untilPs) break;
      if (from > this.at) this.byEarlier(second, from, culprit, element);
      const to = log.toOf(entry);
      this.add(log.whoOf(entry), log.whereOf(entry), to < untilPs ? to : untilPs);
    }
    if (this.at < untilPs) this.byEarlier(second, untilPs, culprit, element);
  }

  /** By the entries of a log up to number `end`. */
  byEntries(log: UseLog, end: number, untilPs: number, culprit: number, element: number): void {
    for (let entry = log.firstAfter(this.at); entry < end && this.at < untilPs; entry++) {
      const from = log.fromOf(entry);
      if (from >= untilPs) break;
      if (from > this.at) this.add(culprit, element, from);
      const to = log.toOf(entry);
      this.add(log.whoOf(entry), log.whereOf(entry), to < untilPs ? to : untilPs);
    }
    this.add(culprit, element, untilPs);
  }

  /** Adds all of it to a chain, as time in `part`. */
  addTo(chains: Chains, slot: number, part: number): void {
    let until = this.startedAt;
    for (let i = 0; i < this.count; i++) {
      until += this.spans[i]!;
      chains.reach(slot, part, this.culprits[i]!, this.elements[i]!, until);
    }
  }

  /** Adds what lies after the log's end to a log. */
  log(log: UseLog): void {
    let from = this.startedAt;
    for (let i = 0; i < this.count; i++) {
      const until = from + this.spans[i]!;
      log.add(from, until, this.culprits[i]!, this.elements[i]!, -1);
      from = until;
    }
  }

  private grow(): void {
    const { spans, culprits, elements } = this;
    const size = spans.length * 2;
    this.spans = new Float64Array(size);
    this.spans.set(spans);
    this.culprits = new Int32Array(size);
    this.culprits.set(culprits);
    this.elements = new Int32Array(size);
    this.elements.set(elements);
  }
}
