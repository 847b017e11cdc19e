// Hot path: one entry per column access. Columns in typed arrays, lists by links; nothing is allocated per access.
import { Direction, Shared } from './bank-state.js';
import type { BankState } from './bank-state.js';

/** What an access found when its own first command was chosen. */
export const RowState = { unknown: 0, hit: 1, empty: 2, conflict: 3 } as const;

/** A write that a read waits for goes before every QoS value (0 to 15). */
const NEEDED = 16;

/**
 * The column accesses of one channel, queued or reserved. An access is a slot of the columns below. Queued ones are
 * listed per bank and direction, most urgent first, then oldest; and per direction by age. `waits` above zero hides one
 * from the scheduler, though it still counts as queued.
 */
export class AccessQueue {
  readonly write: Uint8Array;
  readonly bank: Int32Array;
  readonly row: Int32Array;
  readonly column: Int32Array;
  /** Useful bytes [low, high) within the DRAM burst. */
  readonly low: Int32Array;
  readonly high: Int32Array;
  readonly qos: Int32Array;
  /** Order of entry, which the sender assigns; decides where instants tie. */
  readonly age: Float64Array;
  /** When it reaches the queue, in ps, and the first DRAM clock then or after. */
  readonly enteredAt: Float64Array;
  readonly enterClock: Float64Array;
  /** First DRAM clock at which the access is past the cap. */
  readonly capAt: Float64Array;
  /** For the sender: the burst, and which of its accesses this is. */
  readonly burst: Int32Array;
  readonly piece: Int32Array;
  readonly rowState: Uint8Array;
  /** How many things it waits for before it may be served. */
  readonly waits: Int32Array;
  /** For a read: how many of those are writes that it overlaps. */
  readonly overlaps: Int32Array;
  /** For a sender that keeps order: its stream and the access, as it numbers them, that comes next; −1: none. */
  readonly stream: Float64Array;
  readonly after: Float64Array;
  readonly urgency: Int32Array;

  /** By direction × banks + bank: the list, the first that may be served, and the first of those to the open row. */
  readonly first: Int32Array;
  readonly best: Int32Array;
  readonly bestHit: Int32Array;
  readonly next: Int32Array;
  /** By the same: the kind (`Shared`) of the next command that the list wants, and from when on its bank allows it. */
  readonly wanted: Uint8Array;
  readonly wantedAt: Float64Array;
  /** By direction: banks with an access that may be served, in no order. */
  readonly active: readonly [Int32Array, Int32Array];
  readonly activeCount = new Int32Array(2);
  /** By direction: the oldest; `newer` leads on. */
  readonly oldest = new Int32Array(2).fill(-1);
  readonly newer: Int32Array;
  /** By direction: queued, and those that may be served. */
  readonly queued = new Int32Array(2);
  readonly visible = new Int32Array(2);
  readonly queuedInRank: Int32Array;
  /** Writes that some read waits for. */
  needed = 0;

  readonly banks: number;
  private readonly previous: Int32Array;
  private readonly older: Int32Array;
  private readonly newest = new Int32Array(2).fill(-1);
  private readonly activePlace: Int32Array;
  private readonly free: Int32Array;
  private freeCount: number;

  constructor(
    private readonly state: BankState,
    readonly capacity: number,
  ) {
    this.banks = state.banks;
    const ints = (): Int32Array => new Int32Array(capacity);
    this.write = new Uint8Array(capacity);
    this.rowState = new Uint8Array(capacity);
    this.age = new Float64Array(capacity);
    this.enteredAt = new Float64Array(capacity);
    this.enterClock = new Float64Array(capacity);
    this.capAt = new Float64Array(capacity);
    [this.bank, this.row, this.column, this.low, this.high] = [ints(), ints(), ints(), ints(), ints()];
    [this.qos, this.burst, this.piece, this.waits, this.overlaps] = [ints(), ints(), ints(), ints(), ints()];
    this.urgency = ints();
    this.stream = new Float64Array(capacity);
    this.after = new Float64Array(capacity);
    [this.next, this.previous, this.newer, this.older] = [ints(), ints(), ints(), ints()];
    const perBank = (): Int32Array => new Int32Array(2 * this.banks).fill(-1);
    [this.first, this.best, this.bestHit, this.activePlace] = [perBank(), perBank(), perBank(), perBank()];
    this.wanted = new Uint8Array(2 * this.banks);
    this.wantedAt = new Float64Array(2 * this.banks);
    this.active = [new Int32Array(this.banks), new Int32Array(this.banks)];
    this.queuedInRank = new Int32Array(state.ranks);
    this.free = Int32Array.from({ length: capacity }, (_, i) => capacity - 1 - i);
    this.freeCount = capacity;
  }

  /** A slot for an access yet to come; the caller fills its columns and keeps to the number of entries there are. */
  reserve(): number {
    const access = this.free[--this.freeCount]!;
    this.rowState[access] = RowState.unknown;
    this.waits[access] = 0;
    this.overlaps[access] = 0;
    this.after[access] = -1;
    return access;
  }

  /** The slot is free again. */
  release(access: number): void {
    this.free[this.freeCount++] = access;
  }

  /** Puts a reserved access into the queue. */
  insert(access: number): void {
    const direction = this.write[access]!;
    this.urgency[access] = this.qos[access]!;
    this.queued[direction]!++;
    this.queuedInRank[this.state.rankOf[this.bank[access]!]!]!++;
    if (this.waits[access] === 0) this.visible[direction]!++;
    this.linkByAge(access);
    this.linkInBank(access);
    this.scanFor(access, direction * this.banks + this.bank[access]!);
  }

  /** Takes an access out of the queue; its slot stays in use until `release`. */
  remove(access: number): void {
    const direction = this.write[access]!;
    this.queued[direction]!--;
    this.queuedInRank[this.state.rankOf[this.bank[access]!]!]!--;
    if (this.waits[access] === 0) this.visible[direction]!--;
    if (this.urgency[access]! >= NEEDED) this.needed--;
    const older = this.older[access]!;
    const newer = this.newer[access]!;
    if (older >= 0) this.newer[older] = newer;
    else this.oldest[direction] = newer;
    if (newer >= 0) this.older[newer] = older;
    else this.newest[direction] = older;
    this.unlinkFromBank(access);
    this.rescan(direction * this.banks + this.bank[access]!);
  }

  /** The access may not be served until as many `unhide`s. */
  hide(access: number): void {
    if (this.waits[access]!++ > 0) return;
    const direction = this.write[access]!;
    this.visible[direction]!--;
    this.rescan(direction * this.banks + this.bank[access]!);
  }

  unhide(access: number): void {
    if (--this.waits[access]! > 0) return;
    const direction = this.write[access]!;
    this.visible[direction]!++;
    this.rescan(direction * this.banks + this.bank[access]!);
  }

  /** A read waits for this write: it goes before all others. */
  need(write: number): void {
    if (this.urgency[write]! >= NEEDED) return;
    this.needed++;
    this.unlinkFromBank(write);
    this.urgency[write] = this.qos[write]! + NEEDED;
    this.linkInBank(write);
    this.rescan(this.banks + this.bank[write]!);
  }

  /** The open row of a bank has changed. */
  rowChanged(bank: number): void {
    if (this.first[bank]! >= 0) this.rescan(bank);
    if (this.first[this.banks + bank]! >= 0) this.rescan(this.banks + bank);
  }

  /** The timers of a bank have changed, its row has not. */
  timersChanged(bank: number): void {
    if (this.first[bank]! >= 0) this.setWanted(bank, bank);
    if (this.first[this.banks + bank]! >= 0) this.setWanted(this.banks + bank, bank);
  }

  /** Is any access to this row of the bank queued, in either direction? */
  wants(bank: number, row: number): boolean {
    for (let direction = 0; direction < 2; direction++) {
      let access = this.first[direction * this.banks + bank]!;
      for (; access >= 0; access = this.next[access]!) if (this.row[access] === row) return true;
    }
    return false;
  }

  /** Is nothing queued? */
  get empty(): boolean {
    return this.queued[0] === 0 && this.queued[1] === 0;
  }

  /** Is nothing queued for this bank? */
  bankIdle(bank: number): boolean {
    return this.first[bank]! < 0 && this.first[this.banks + bank]! < 0;
  }

  /** The oldest access of a direction that may be served, or −1. */
  oldestVisible(direction: number): number {
    let access = this.oldest[direction]!;
    while (access >= 0 && this.waits[access]! > 0) access = this.newer[access]!;
    return access;
  }

  /** Does `a` go before `b`, both of one class? */
  ahead(a: number, b: number): boolean {
    const more = this.urgency[a]! - this.urgency[b]!;
    return more !== 0 ? more > 0 : this.age[a]! < this.age[b]!;
  }

  /** The same as `rescan` for a list in which only this access is new: most go to its end, where they change nothing. */
  private scanFor(access: number, list: number): void {
    const bank = this.bank[access]!;
    const last = this.next[access]! < 0 && this.best[list]! >= 0 && this.first[list] !== access;
    if (!last) {
      this.rescan(list);
      return;
    }
    if (this.waits[access]! > 0 || this.bestHit[list]! >= 0 || this.state.openRow[bank] !== this.row[access]) return;
    this.bestHit[list] = access;
    this.setWanted(list, bank);
  }

  /** Finds again the first access of a bank's list that may be served, and the first to the open row. */
  private rescan(list: number): void {
    const bank = list < this.banks ? list : list - this.banks;
    const row = this.state.openRow[bank]!;
    let best = -1;
    let hit = -1;
    for (let access = this.first[list]!; access >= 0; access = this.next[access]!) {
      if (this.waits[access]! > 0) continue;
      if (best < 0) best = access;
      if (row < 0) break;
      if (this.row[access] === row) {
        hit = access;
        break;
      }
    }
    this.best[list] = best;
    this.bestHit[list] = hit;
    this.setActive(list, bank, best >= 0);
    this.setWanted(list, bank);
  }

  private setWanted(list: number, bank: number): void {
    const { state } = this;
    if (state.openRow[bank]! < 0) {
      this.wanted[list] = Shared.activate;
      this.wantedAt[list] = state.activateAt[bank]!;
    } else if (this.bestHit[list]! >= 0) {
      this.wanted[list] = list < this.banks ? Shared.read : Shared.write;
      this.wantedAt[list] = state.columnAt[bank]!;
    } else {
      this.wanted[list] = Shared.precharge;
      this.wantedAt[list] = state.prechargeAt[bank]!;
    }
  }

  private setActive(list: number, bank: number, active: boolean): void {
    const place = this.activePlace[list]!;
    if (active === place >= 0) return;
    const direction = list < this.banks ? Direction.read : Direction.write;
    const banks = this.active[direction];
    if (active) {
      this.activePlace[list] = this.activeCount[direction]!;
      banks[this.activeCount[direction]!++] = bank;
      return;
    }
    const last = banks[--this.activeCount[direction]!]!;
    banks[place] = last;
    this.activePlace[direction * this.banks + last] = place;
    this.activePlace[list] = -1;
  }

  private linkByAge(access: number): void {
    const direction = this.write[access]!;
    let before = this.newest[direction]!;
    while (before >= 0 && this.age[before]! > this.age[access]!) before = this.older[before]!;
    const after = before >= 0 ? this.newer[before]! : this.oldest[direction]!;
    this.older[access] = before;
    this.newer[access] = after;
    if (before >= 0) this.newer[before] = access;
    else this.oldest[direction] = access;
    if (after >= 0) this.older[after] = access;
    else this.newest[direction] = access;
  }

  private linkInBank(access: number): void {
    const list = this.write[access]! * this.banks + this.bank[access]!;
    let before = -1;
    let after = this.first[list]!;
    while (after >= 0 && !this.ahead(access, after)) {
      before = after;
      after = this.next[after]!;
    }
    this.previous[access] = before;
    this.next[access] = after;
    if (before >= 0) this.next[before] = access;
    else this.first[list] = access;
    if (after >= 0) this.previous[after] = access;
  }

  private unlinkFromBank(access: number): void {
    const before = this.previous[access]!;
    const after = this.next[access]!;
    if (before >= 0) this.next[before] = after;
    else this.first[this.write[access]! * this.banks + this.bank[access]!] = after;
    if (after >= 0) this.previous[after] = before;
  }
}
