// Hot path: see `access.ts` for why banks are records.
import type { Access } from './access.js';

/** Before the first command, every timer has long expired. */
export const LONG_AGO = -Infinity;

/** Accesses of one direction that are queued for one bank, most urgent first, then oldest. */
export class BankList {
  first: Access | null = null;
  last: Access | null = null;
  /** The first that may be served, and the first of those to the open row. */
  best: Access | null = null;
  hit: Access | null = null;
  /** The next command that the list wants: its kind (`Shared`), from when on the bank allows it, for whom, and its key. */
  kind = 0;
  wantedAt = LONG_AGO;
  candidate: Access | null = null;
  key = 0.5;
  /** Place among the lists that have something to serve, or −1. */
  place = -1;

  /** The bank's. */
  readonly index: number;

  constructor(
    readonly bank: Bank,
    readonly direction: number,
  ) {
    this.index = bank.index;
  }
}

/** The timers of one bank, in DRAM clocks, and what is queued for it. */
export class Bank {
  /** The open row, or −1. */
  openRow = -1;
  /** Earliest activate (tRP, tRPab, tRC, tRFC), precharge (tRAS, tRTP, tWR), column command (tRCD). */
  activateAt = LONG_AGO;
  prechargeAt = LONG_AGO;
  columnAt = LONG_AGO;
  /** First clock at which its time-out has passed. */
  idleAt = Infinity;
  readonly reads: BankList;
  readonly writes: BankList;
  /** Whose access opened its row last, and whose had its last command; −1 for none. */
  openedBy = -1;
  usedBy = -1;

  /**
   * @param index rank × banks per rank + bank within the rank
   * @param group rank × groups + bank group
   */
  constructor(
    readonly index: number,
    readonly rank: number,
    readonly group: number,
  ) {
    this.reads = new BankList(this, 0);
    this.writes = new BankList(this, 1);
  }

  list(direction: number): BankList {
    return direction === 0 ? this.reads : this.writes;
  }

  /** Is nothing queued for it? */
  get idle(): boolean {
    return this.reads.first === null && this.writes.first === null;
  }

  /** Is any access to this row queued, in either direction? */
  wants(row: number): boolean {
    for (let it = this.reads.first; it !== null; it = it.next) if (it.row === row) return true;
    for (let it = this.writes.first; it !== null; it = it.next) if (it.row === row) return true;
    return false;
  }
}
