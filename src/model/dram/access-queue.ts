// Hot path: one entry per column access. Records and links of a fixed pool (see `access.ts`); nothing is allocated per
// access.
import { Access, RowState } from './access.js';
import type { Bank, BankList } from './bank.js';
import { Direction, Shared, type BankState } from './bank-state.js';
import { Side } from './side.js';

const { write: WRITE } = Direction;
const { activate: ACTIVATE, precharge: PRECHARGE } = Shared;
const UNKNOWN = RowState.unknown;

/** A write that a read waits for goes before every QoS value (0 to 15). */
const NEEDED = 16;

/** One step of urgency outweighs every age; keys stay whole numbers. */
const URGENCY_KEY = 2 ** 47;

/**
 * The column accesses of one channel, queued or reserved. Queued ones are listed per bank and direction, most urgent
 * first, then oldest; and per direction by age. `waits` above zero hides one from the scheduler, though it still counts
 * as queued.
 */
export class AccessQueue {
  /** By number: all accesses there are. */
  readonly all: readonly Access[];
  readonly reads: Side;
  readonly writes: Side;
  readonly queuedInRank: Int32Array;
  /** Writes that some read waits for. */
  needed = 0;
  private readonly free: Access[];
  private freeCount: number;

  constructor(
    state: BankState,
    readonly capacity: number,
  ) {
    this.all = Array.from({ length: capacity }, (_, number) => new Access(number, state.banks[0]!));
    this.reads = new Side(state.banks.map((bank) => bank.reads));
    this.writes = new Side(state.banks.map((bank) => bank.writes));
    this.queuedInRank = new Int32Array(state.ranks);
    this.free = this.all.toReversed();
    this.freeCount = capacity;
  }

  /** An access yet to come; the caller fills its fields and keeps to the number of entries there are. */
  reserve(): Access {
    const access = this.free[--this.freeCount]!;
    access.rowState = UNKNOWN;
    access.heldBy = -1;
    access.closes = -1;
    access.waits = 0;
    access.overlaps = 0;
    access.after = -1;
    return access;
  }

  /** The access may be used again. */
  release(access: Access): void {
    this.free[this.freeCount++] = access;
  }

  side(direction: number): Side {
    return direction === WRITE ? this.writes : this.reads;
  }

  /** Puts a reserved access into the queue. */
  insert(access: Access): void {
    const { bank, direction } = access;
    const list = bank.list(direction);
    access.urgency = access.qos;
    access.key = access.age - access.qos * URGENCY_KEY;
    this.queuedInRank[bank.rank]!++;
    this.side(direction).add(access);
    link(list, access);
    this.scanFor(access, list);
  }

  /** Takes an access out of the queue; it stays in use until `release`. */
  remove(access: Access): void {
    this.takeOut(access);
    want(access.bank.list(access.direction));
  }

  /** The same, but leaves it to the caller to call `timersChanged` or `rowChanged` of the bank. */
  takeOut(access: Access): void {
    const { bank, direction } = access;
    const list = bank.list(direction);
    const side = this.side(direction);
    this.queuedInRank[bank.rank]!--;
    if (access.urgency >= NEEDED) this.needed--;
    side.drop(access);
    // none before the first one that may be served, or hits, becomes it by this
    if (list.hit === access) list.hit = nextHit(access.next, bank.openRow);
    if (list.best === access) {
      list.best = nextVisible(access.next);
      side.setActive(list, list.best !== null);
    }
    unlink(list, access);
  }

  /** The access may not be served until as many `unhide`s. */
  hide(access: Access): void {
    if (access.waits++ > 0) return;
    this.side(access.direction).visible--;
    this.rescan(access.bank.list(access.direction));
  }

  unhide(access: Access): void {
    if (--access.waits > 0) return;
    this.side(access.direction).visible++;
    this.rescan(access.bank.list(access.direction));
  }

  /** A read waits for this write: it goes before all others. */
  need(write: Access): void {
    if (write.urgency >= NEEDED) return;
    this.needed++;
    const { writes } = write.bank;
    unlink(writes, write);
    write.urgency = write.qos + NEEDED;
    write.key = write.age - write.urgency * URGENCY_KEY;
    link(writes, write);
    this.rescan(writes);
  }

  /** The open row of a bank has changed. */
  rowChanged(bank: Bank): void {
    if (bank.reads.first !== null) this.rescan(bank.reads);
    if (bank.writes.first !== null) this.rescan(bank.writes);
  }

  /** The timers of a bank have changed, its row has not. */
  timersChanged(bank: Bank): void {
    if (bank.reads.first !== null) want(bank.reads);
    if (bank.writes.first !== null) want(bank.writes);
  }

  /** Is nothing queued? */
  get empty(): boolean {
    return this.reads.queued === 0 && this.writes.queued === 0;
  }

  /** The same as `rescan` for a list in which only this access is new: most go to its end, where they change nothing. */
  private scanFor(access: Access, list: BankList): void {
    if (access.next !== null || list.best === null || list.first === access) {
      this.rescan(list);
      return;
    }
    if (access.waits > 0 || list.hit !== null || list.bank.openRow !== access.row) return;
    list.hit = access;
    want(list);
  }

  /** Finds again the first access of a bank's list that may be served, and the first to the open row. */
  private rescan(list: BankList): void {
    const best = nextVisible(list.first);
    list.best = best;
    list.hit = nextHit(best, list.bank.openRow);
    this.side(list.direction).setActive(list, best !== null);
    want(list);
  }
}

/** The first that may be served, from `access` on. */
function nextVisible(access: Access | null): Access | null {
  let it = access;
  while (it !== null && it.waits > 0) it = it.next;
  return it;
}

/** The first that may be served of those to the open row, from `access` on. */
function nextHit(access: Access | null, openRow: number): Access | null {
  if (openRow < 0) return null;
  let it = access;
  while (it !== null && (it.row !== openRow || it.waits > 0)) it = it.next;
  return it;
}

/** Works out which command a list wants next. */
function want(list: BankList): void {
  const { bank, hit } = list;
  let candidate = list.best;
  if (bank.openRow < 0) {
    list.kind = ACTIVATE;
    list.wantedAt = bank.activateAt;
  } else if (hit !== null) {
    candidate = hit;
    list.kind = list.direction;
    list.wantedAt = bank.columnAt;
  } else {
    list.kind = PRECHARGE;
    list.wantedAt = bank.prechargeAt;
  }
  list.candidate = candidate;
  if (candidate !== null) list.key = candidate.key;
}

/** Puts an access into its place in a list, which mostly is the end. */
function link(list: BankList, access: Access): void {
  const { key } = access;
  let before = list.last;
  while (before !== null && before.key > key) before = before.previous;
  const after = before === null ? list.first : before.next;
  access.previous = before;
  access.next = after;
  if (before === null) list.first = access;
  else before.next = access;
  if (after === null) list.last = access;
  else after.previous = access;
}

function unlink(list: BankList, access: Access): void {
  const { previous, next } = access;
  if (previous === null) list.first = next;
  else previous.next = next;
  if (next === null) list.last = previous;
  else next.previous = previous;
}
