// Hot path: filled and emptied once per wait. One such list is used again and again.
import type { Chains } from './chains.js';
import type { UseLog } from './use-log.js';

/** Whom to charge for one wait, instant by instant: intervals that follow one another from its beginning on. */
export class Charges {
  /** Where the list ends so far, in ps. */
  at = 0;
  private untils = new Float64Array(64);
  private culprits = new Int32Array(64);
  private elements = new Int32Array(64);
  private count = 0;

  /** Begins anew, at `fromPs`. */
  start(fromPs: number): void {
    this.at = fromPs;
    this.count = 0;
  }

  /** `culprit`, at `element`, is to blame until `untilPs`. */
  add(culprit: number, element: number, untilPs: number): void {
    if (untilPs <= this.at) return;
    const { count } = this;
    if (count > 0 && this.culprits[count - 1] === culprit && this.elements[count - 1] === element) {
      this.untils[count - 1] = untilPs;
    } else {
      if (count === this.untils.length) this.grow();
      this.untils[count] = untilPs;
      this.culprits[count] = culprit;
      this.elements[count] = element;
      this.count = count + 1;
    }
    this.at = untilPs;
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
    for (let i = 0; i < this.count; i++)
      chains.reach(slot, part, this.culprits[i]!, this.elements[i]!, this.untils[i]!);
  }

  /** Adds what lies after the log's end to a log, from `fromPs` on. */
  log(log: UseLog, fromPs: number): void {
    let from = fromPs;
    for (let i = 0; i < this.count; i++) {
      log.add(from, this.untils[i]!, this.culprits[i]!, this.elements[i]!, -1);
      if (this.untils[i]! > from) from = this.untils[i]!;
    }
  }

  private grow(): void {
    const { untils, culprits, elements } = this;
    const size = untils.length * 2;
    this.untils = new Float64Array(size);
    this.untils.set(untils);
    this.culprits = new Int32Array(size);
    this.culprits.set(culprits);
    this.elements = new Int32Array(size);
    this.elements.set(elements);
  }
}
