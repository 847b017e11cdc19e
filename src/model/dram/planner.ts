// Hot path: one plan per command. Clocks live in fields that stay doubles and in locals; nothing is allocated per plan.
import type { DdrSpec } from '../../scenario/scenario.js';
import type { Access } from './access.js';
import type { AccessQueue } from './access-queue.js';
import type { Bank, BankList } from './bank.js';
import { Direction, Shared, type BankState } from './bank-state.js';
import { Command } from './command.js';
import type { Refresh } from './refresh.js';
import type { Side } from './side.js';
import { SlowCommands } from './slow-commands.js';

// a constant of the file is a number to the compiler, an import is loaded and checked at each use
const { activate: ACTIVATE, precharge: PRECHARGE } = Shared;
const { read: READ } = Direction;
const NONE = Command.none;

/** Order among the commands that are legal in one clock; the lowest goes first. */
const Class = { refresh: 0, cap: 1, column: 2, activate: 3, precharge: 4, timeout: 5, none: 6 } as const;

/** By `Shared` kind. */
const KINDS = Uint8Array.of(Command.read, Command.write, Command.activate, Command.precharge);

/**
 * Finds the next command of a channel: the earliest clock at which any is legal, and of those legal then the first by
 * class, urgency and age. `find` leaves its answer in the fields; with no command it leaves `Command.none` and Infinity.
 */
export class Planner {
  /** The clock of the command. */
  at = Infinity;
  /** No column command can go before this clock, unless an access comes in. */
  columnFrom = Infinity;
  kind: number = NONE;
  bank: Bank | null = null;
  /** The access it is for, or null (refresh duty, time-out). */
  access: Access | null = null;
  /** Do some commands take several clocks? Then all candidates are kept, to see whom one would put off. */
  readonly slowCommands: boolean;

  private rank: number = Class.none;
  /** The key of `access`. */
  private key = 0.5;
  private from = Infinity;
  /** The number of the bank of an access past the cap, which no other may touch, or −1. */
  private capped = -1;
  /** The oldest access that may be served, or null. */
  private oldest: Access | null = null;
  private readonly slow: SlowCommands;
  private readonly inOrder: boolean;
  private readonly timeouts: boolean;
  private readonly lookahead: number;
  /** By `Shared` kind: its class, and the clocks from it to a column command at the least. */
  private readonly classes: Uint8Array;
  private readonly lead: Float64Array;
  private readonly activateLead: number;
  private readonly prechargeLead: number;
  private readonly refreshLead: number;
  private readonly one: BankList[];
  private readonly seen: Int32Array;
  private seenMark = 0;

  constructor(
    spec: DdrSpec,
    private readonly state: BankState,
    private readonly queue: AccessQueue,
    private readonly refresh: Refresh,
  ) {
    const { nRCD, nRP, nRFC, nRFCpb, activateClocks, columnClocks } = spec.timing;
    const column = spec.activateFirst ? Class.activate : Class.column;
    const activate = spec.activateFirst ? Class.column : Class.activate;
    this.classes = Uint8Array.of(column, column, activate, Class.precharge);
    this.lead = Float64Array.of(0, 0, nRCD, nRP + nRCD);
    this.activateLead = nRCD;
    this.prechargeLead = nRP + nRCD;
    this.refreshLead = nRCD + (refresh.perBank ? nRFCpb : nRFC);
    this.inOrder = spec.scheduler === 'in_order';
    this.timeouts = spec.page.policy === 'timeout';
    this.lookahead = spec.lookahead;
    this.one = [state.banks[0]!.reads];
    this.seen = new Int32Array(state.banks.length);
    this.slowCommands = activateClocks > 1 || columnClocks > 1;
    this.slow = new SlowCommands(state.banks.length * 2 + state.ranks + 1, activateClocks, columnClocks);
  }

  /** Plans at clock `from`, the first at which a command may go, for the direction being served. */
  find(from: number, side: Side): void {
    this.begin(from);
    if (this.refresh.duties > 0) this.refreshDuty();
    if (this.inOrder) this.considerInOrder();
    else this.considerAll(side);
    if (this.timeouts) this.considerTimeouts();
    if (this.slowCommands) this.chooseAmongSlow();
  }

  /** Has an access come in that goes before what was planned? Looks at its list only; `from` is the clock it came in. */
  improve(list: BankList, from: number): void {
    if (from > this.from) this.from = from;
    if (list.best === null) return;
    this.one[0] = list;
    this.considerLists(this.one, 1);
  }

  /** The first clock, after `from`, at which the oldest access of those planned for is past the cap. */
  capAfter(from: number): number {
    if (this.oldest === null) return Infinity;
    const at = this.oldest.capAt;
    return at > from ? at : Infinity;
  }

  /** Nothing is planned before the state is looked at again at clock `from`. */
  waitUntil(from: number): void {
    this.begin(Infinity);
    this.columnFrom = from;
  }

  private begin(from: number): void {
    this.from = from;
    this.at = Infinity;
    this.columnFrom = Infinity;
    this.kind = NONE;
    this.rank = Class.none;
    this.bank = null;
    this.access = null;
    this.capped = -1;
  }

  /** Takes a command that is legal from `legal` on, if it goes before the one found so far. */
  private consider(legal: number, rank: number, kind: number, bank: Bank, access: Access | null): void {
    const at = legal > this.from ? legal : this.from;
    if (this.slowCommands) this.slow.add(at, rank, kind, bank, access);
    else this.compare(at, rank, kind, bank, access);
  }

  private compare(at: number, rank: number, kind: number, bank: Bank, access: Access | null): void {
    if (at > this.at) return;
    if (at === this.at) {
      if (rank > this.rank) return;
      if (rank === this.rank && !this.goesFirst(access, bank)) return;
    }
    this.at = at;
    this.rank = rank;
    this.kind = kind;
    this.bank = bank;
    this.access = access;
    if (access !== null) this.key = access.key;
  }

  private goesFirst(access: Access | null, bank: Bank): boolean {
    return access === null || this.access === null ? bank.index < this.bank!.index : access.key < this.key;
  }

  /** No column command can follow from a command legal at `legal` sooner than `lead` clocks after it. */
  private bound(legal: number, lead: number): void {
    const at = (legal > this.from ? legal : this.from) + lead;
    if (at < this.columnFrom) this.columnFrom = at;
  }

  private considerAll(side: Side): void {
    const oldest = side.oldestVisible();
    this.oldest = oldest;
    if (oldest !== null && oldest.capAt <= this.from) {
      const { bank } = oldest;
      this.capped = bank.index;
      if (this.refresh.blocked[bank.index] === 0) this.considerAccess(oldest, true);
    }
    this.considerLists(side.active, side.activeCount);
  }

  /**
   * The command that each of some banks, with accesses of one direction to serve, wants next: `compare`, but written out,
   * since this loop is where a plan's time goes.
   */
  private considerLists(lists: readonly BankList[], count: number): void {
    if (this.slowCommands) {
      this.addSlow(lists, count);
      return;
    }
    const { from, capped, classes, activateLead, prechargeLead } = this;
    const { shared, groups } = this.state;
    const { blocked, duties } = this.refresh;
    const column = lists[0]!.direction;
    // with one bank group no bank has a rule of its own: no typed array need be read in the loop
    const single = groups === 1;
    const columns = later(shared[column * groups]!, from);
    const activates = later(shared[ACTIVATE * groups]!, from);
    let soonest = this.columnFrom;
    let best = this.at;
    let { rank, key } = this;
    let winner: BankList | null = null;
    for (let i = 0; i < count; i++) {
      const list = lists[i]!;
      const { index, kind, wantedAt } = list;
      if (index === capped || (duties > 0 && blocked[index] === 1)) continue;
      let at = from;
      let lead = prechargeLead;
      if (kind < ACTIVATE) {
        at = single ? columns : later(shared[column * groups + list.bank.group]!, from);
        lead = 0;
      } else if (kind === ACTIVATE) {
        at = single ? activates : later(shared[ACTIVATE * groups + list.bank.group]!, from);
        lead = activateLead;
      }
      if (wantedAt > at) at = wantedAt;
      if (at + lead < soonest) soonest = at + lead;
      if (at > best) continue;
      const own = classes[kind]!;
      if (at === best && (own > rank || (own === rank && list.key > key))) continue;
      best = at;
      rank = own;
      key = list.key;
      winner = list;
    }
    this.columnFrom = soonest;
    if (winner === null) return;
    this.at = best;
    this.rank = rank;
    this.key = key;
    this.kind = KINDS[winner.kind]!;
    this.bank = winner.bank;
    this.access = winner.candidate;
  }

  /** The same where commands take several clocks: all are kept, and compared once they are known. */
  private addSlow(lists: readonly BankList[], count: number): void {
    const { state, classes } = this;
    for (let i = 0; i < count; i++) {
      const { bank, kind, wantedAt, candidate } = lists[i]!;
      if (bank.index === this.capped || this.refresh.blocked[bank.index] === 1) continue;
      const others = state.shared[kind * state.groups + bank.group]!;
      const legal = wantedAt > others ? wantedAt : others;
      this.bound(legal, this.lead[kind]!);
      const at = legal > this.from ? legal : this.from;
      this.slow.add(at, classes[kind]!, KINDS[kind]!, bank, candidate);
    }
  }

  /** The next command of one access; past the cap it goes before all but refresh. */
  private considerAccess(access: Access, capped: boolean): void {
    const { state } = this;
    const { bank, direction } = access;
    const open = bank.openRow;
    let kind: number = PRECHARGE;
    let legal = bank.prechargeAt;
    if (open < 0) {
      kind = ACTIVATE;
      legal = state.activateFrom(bank);
    } else if (open === access.row) {
      kind = direction;
      legal = state.columnFrom(bank, direction);
    }
    this.bound(legal, this.lead[kind]!);
    this.consider(legal, capped ? Class.cap : this.classes[kind]!, KINDS[kind]!, bank, access);
  }

  /**
   * Column commands in order of entry over both directions; the accesses behind the head, up to `lookahead` of them, may
   * open and close rows, each bank for the first that wants it.
   */
  private considerInOrder(): void {
    const { queue, refresh } = this;
    const mark = ++this.seenMark;
    let read = queue.reads.oldest;
    let write = queue.writes.oldest;
    this.oldest = earlier(read, write);
    for (let place = 0; place <= this.lookahead; place++) {
      const access = earlier(read, write);
      if (access === null) break;
      if (access.direction === READ) read = access.newer;
      else write = access.newer;
      const { bank } = access;
      if (this.seen[bank.index] === mark) continue;
      this.seen[bank.index] = mark;
      if (refresh.blocked[bank.index] === 1) continue;
      const hit = bank.openRow === access.row;
      if (hit && (place > 0 || access.waits > 0)) continue;
      this.considerAccess(access, place === 0 && access.capAt <= this.from);
    }
  }

  /** Close what is open, then refresh. */
  private refreshDuty(): void {
    const { state, refresh } = this;
    for (let rank = 0; rank < state.ranks; rank++) {
      if (refresh.duty[rank] === 0) continue;
      this.bound(this.from, this.refreshLead);
      const bank = refresh.perBank ? refresh.nextBank(rank) : state.banksOf(rank)[0]!;
      const open = refresh.perBank ? bank.openRow >= 0 : state.openCount[rank]! > 0;
      if (open && refresh.perBank) {
        this.consider(bank.prechargeAt, Class.refresh, Command.precharge, bank, null);
      } else if (open) {
        this.consider(state.prechargeAllFrom(rank), Class.refresh, Command.prechargeAll, bank, null);
      } else {
        const legal = refresh.perBank ? state.refreshBankFrom(bank) : state.refreshFrom(rank);
        this.consider(legal, Class.refresh, refresh.perBank ? Command.refreshBank : Command.refresh, bank, null);
      }
    }
  }

  /** Rows that nobody has used for the time-out and nobody queued wants. */
  private considerTimeouts(): void {
    const { refresh } = this;
    for (const bank of this.state.banks) {
      const row = bank.openRow;
      if (row < 0 || refresh.blocked[bank.index] === 1 || bank.wants(row)) continue;
      const { idleAt, prechargeAt } = bank;
      this.consider(idleAt > prechargeAt ? idleAt : prechargeAt, Class.timeout, Command.precharge, bank, null);
    }
  }

  /** The earliest clock at which a candidate may start without putting off one of a higher class. */
  private chooseAmongSlow(): void {
    const { slow } = this;
    for (let clock = slow.next(-1); clock < Infinity && this.kind === NONE; clock = slow.next(clock)) {
      for (let i = 0; i < slow.count; i++) {
        if (!slow.mayStart(i, clock)) continue;
        this.compare(clock, slow.rank[i]!, slow.kind[i]!, slow.bank[i]!, slow.access[i] ?? null);
      }
    }
    slow.count = 0;
  }
}

function earlier(read: Access | null, write: Access | null): Access | null {
  if (read === null || write === null) return read ?? write;
  return read.age < write.age ? read : write;
}

function later(a: number, b: number): number {
  return a > b ? a : b;
}
