// Hot path: read and written a few times per column access. State in typed arrays by access.
import type { Clock } from '../../engine/clock.js';
import type { Channel } from '../../model/dram/channel.js';
import { REFRESH } from './books.js';
import type { UseLog } from './use-log.js';

/** Refreshes that are remembered, a power of two. */
const KEPT = 256;

/** What the recorder keeps of one DRAM channel. */
export class MemoryBooks {
  /** By access: how far the way of its burst through the door was when it had passed: so many links, up to an instant. */
  readonly wayLinks: Int32Array;
  readonly wayEnd: Float64Array;

  private readonly refreshFrom = new Float64Array(KEPT);
  private readonly refreshTo = new Float64Array(KEPT);
  private readonly refreshAt = new Float64Array(KEPT);
  private readonly refreshRank = new Int32Array(KEPT);
  private readonly refreshBank = new Int32Array(KEPT);
  private refreshes = 0;

  constructor(
    readonly channel: Channel,
    readonly clock: Clock,
    private readonly element: number,
    /** From a precharge to the activate after it. */
    readonly prechargePs: number,
    /** From a column command to the next of the same burst, in one bank group. */
    readonly spacingPs: number,
    /** Who had the channel, column command by column command. */
    readonly use: UseLog,
  ) {
    const { capacity } = channel.queue;
    this.wayLinks = new Int32Array(capacity);
    this.wayEnd = new Float64Array(capacity);
  }

  /** From now on notes are taken: whoever the channel served last is noted, as if that had been done in its time. */
  open(): void {
    const { ofColumn, columnClock } = this.channel.last;
    if (ofColumn < 0) return;
    const servedPs = this.clock.at(columnClock);
    this.use.resume(servedPs - 1, servedPs, servedPs, ofColumn, this.element);
  }

  /** A rank, or one bank of it (−1: all), was kept for refresh between two clocks, the command itself at clock `at`. */
  refreshed(rank: number, bank: number, from: number, to: number, at: number): void {
    const n = this.refreshes++ & (KEPT - 1);
    this.refreshFrom[n] = this.clock.at(from);
    this.refreshTo[n] = this.clock.at(to);
    this.refreshAt[n] = this.clock.at(at);
    this.refreshRank[n] = rank;
    this.refreshBank[n] = bank;
  }

  /** Number of the first refresh that is remembered and lasts beyond an instant; they end in the order in which they began. */
  firstRefresh(timePs: number): number {
    const oldest = this.refreshes > KEPT ? this.refreshes - KEPT : 0;
    let n = this.refreshes;
    while (n > oldest && this.refreshTo[(n - 1) & (KEPT - 1)]! > timePs) n--;
    return n;
  }

  /** Number after that of the last refresh. */
  get nextRefresh(): number {
    return this.refreshes;
  }

  /** Does a refresh keep out accesses to this bank? */
  keepsOut(refresh: number, bank: number): boolean {
    const n = refresh & (KEPT - 1);
    const one = this.refreshBank[n]!;
    return this.refreshRank[n] === this.channel.state.banks[bank]!.rank && (one < 0 || one === bank);
  }

  fromOf(refresh: number): number {
    return this.refreshFrom[refresh & (KEPT - 1)]!;
  }

  toOf(refresh: number): number {
    return this.refreshTo[refresh & (KEPT - 1)]!;
  }

  commandOf(refresh: number): number {
    return this.refreshAt[refresh & (KEPT - 1)]!;
  }

  /** `who` had the channel until `toPs`, since `fromPs` or the one before, but for the time for which the bank was kept. */
  had(fromPs: number, toPs: number, who: number, bank: number): void {
    const { use, element } = this;
    const begins = fromPs > use.end ? fromPs : use.end;
    for (let n = this.firstRefresh(begins); n < this.refreshes; n++) {
      if (!this.keepsOut(n, bank) || this.fromOf(n) >= toPs) continue;
      use.add(fromPs, this.fromOf(n), who, element, -1);
      use.add(this.fromOf(n), this.toOf(n) < toPs ? this.toOf(n) : toPs, REFRESH, element, -1);
    }
    use.add(fromPs, toPs, who, element, -1);
  }
}
