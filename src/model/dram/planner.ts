// Hot path: one plan per command. Clocks live in typed arrays and locals; nothing is allocated per plan.
import type { DdrSpec } from '../../scenario/scenario.js';
import type { AccessQueue } from './access-queue.js';
import { Direction, Shared, type BankState } from './bank-state.js';
import { Command } from './command.js';
import type { Refresh } from './refresh.js';
import { SlowCommands } from './slow-commands.js';

/** Order among the commands that are legal in one clock; the lowest goes first. */
const Class = { refresh: 0, cap: 1, column: 2, activate: 3, precharge: 4, timeout: 5, none: 6 } as const;

/** By `Shared` kind. */
const KINDS = Uint8Array.of(Command.read, Command.write, Command.activate, Command.precharge);

/**
 * Finds the next command of a channel: the earliest clock at which any is legal, and of those legal then the first by
 * class, urgency and age. `find` leaves its answer in the fields; with no command it leaves `Command.none` and Infinity.
 */
export class Planner {
  /** 0: the clock of the command. 1: no column command can go before this clock, unless an access comes in. */
  readonly at = new Float64Array(2);
  kind: number = Command.none;
  bank = -1;
  /** The access it is for, or −1 (refresh duty, time-out). */
  access = -1;
  /** By bank: first clock at which its time-out has passed. */
  readonly idleAt: Float64Array;
  /** Do some commands take several clocks? Then all candidates are kept, to see whom one would put off. */
  readonly slowCommands: boolean;

  private rank: number = Class.none;
  private from = 0;
  /** The bank of an access past the cap, which no other may touch, or −1. */
  private cappedBank = -1;
  /** The oldest access that may be served, or −1. */
  private oldest = -1;
  private readonly slow: SlowCommands;
  private readonly inOrder: boolean;
  private readonly timeouts: boolean;
  private readonly lookahead: number;
  /** By `Shared` kind: its class, and the clocks from it to a column command at the least. */
  private readonly classes: Uint8Array;
  private readonly lead: Float64Array;
  private readonly refreshLead: number;
  private readonly one = new Int32Array(1);
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
    this.refreshLead = nRCD + (refresh.perBank ? nRFCpb : nRFC);
    this.inOrder = spec.scheduler === 'in_order';
    this.timeouts = spec.page.policy === 'timeout';
    this.lookahead = spec.lookahead;
    this.idleAt = new Float64Array(state.banks).fill(Infinity);
    this.seen = new Int32Array(state.banks);
    this.slowCommands = activateClocks > 1 || columnClocks > 1;
    this.slow = new SlowCommands(state.banks * 2 + state.ranks + 1, activateClocks, columnClocks);
  }

  /** Plans at clock `from`, the first at which a command may go, for the direction being served. */
  find(from: number, direction: number): void {
    this.begin(from);
    if (this.refresh.duties > 0) this.refreshDuty();
    if (this.inOrder) this.considerInOrder();
    else this.considerAll(direction);
    if (this.timeouts) this.considerTimeouts();
    if (this.slowCommands) this.chooseAmongSlow();
  }

  /** Has an access come in that goes before what was planned? Looks at its bank only; `from` is the clock it came in. */
  improve(bank: number, direction: number, from: number): void {
    if (from > this.from) this.from = from;
    this.one[0] = bank;
    if (this.queue.best[direction * this.state.banks + bank]! >= 0) this.considerBanks(this.one, 1, direction);
  }

  /** The first clock, after `from`, at which the oldest access of those planned for is past the cap. */
  capAfter(from: number): number {
    if (this.oldest < 0) return Infinity;
    const at = this.queue.capAt[this.oldest]!;
    return at > from ? at : Infinity;
  }

  /** Nothing is planned before the state is looked at again at clock `from`. */
  waitUntil(from: number): void {
    this.begin(Infinity);
    this.at[1] = from;
  }

  private begin(from: number): void {
    this.from = from;
    this.at[0] = Infinity;
    this.at[1] = Infinity;
    this.kind = Command.none;
    this.rank = Class.none;
    this.bank = -1;
    this.access = -1;
    this.cappedBank = -1;
  }

  /** Takes a command that is legal from `legal` on, if it goes before the one found so far. */
  private consider(legal: number, rank: number, kind: number, bank: number, access: number): void {
    const at = legal > this.from ? legal : this.from;
    if (this.slowCommands) this.slow.add(at, rank, kind, bank, access);
    else this.compare(at, rank, kind, bank, access);
  }

  private compare(at: number, rank: number, kind: number, bank: number, access: number): void {
    const best = this.at[0]!;
    if (at > best) return;
    if (at === best) {
      if (rank > this.rank) return;
      if (rank === this.rank && !this.goesFirst(access, bank)) return;
    }
    this.at[0] = at;
    this.rank = rank;
    this.kind = kind;
    this.bank = bank;
    this.access = access;
  }

  private goesFirst(access: number, bank: number): boolean {
    return access < 0 || this.access < 0 ? bank < this.bank : this.queue.ahead(access, this.access);
  }

  /** No column command can follow from a command legal at `legal` sooner than `lead` clocks after it. */
  private bound(legal: number, lead: number): void {
    const at = (legal > this.from ? legal : this.from) + lead;
    if (at < this.at[1]!) this.at[1] = at;
  }

  private considerAll(direction: number): void {
    const { queue, refresh } = this;
    const oldest = queue.oldestVisible(direction);
    this.oldest = oldest;
    if (oldest >= 0 && queue.capAt[oldest]! <= this.from) {
      this.cappedBank = queue.bank[oldest]!;
      if (refresh.blocked[this.cappedBank] === 0) this.considerAccess(oldest, this.cappedBank, direction, true);
    }
    this.considerBanks(queue.active[direction]!, queue.activeCount[direction]!, direction);
  }

  /**
   * The command that each of some banks, with accesses of one direction to serve, wants next: `compare`, but written out,
   * since this loop is where a plan's time goes.
   */
  private considerBanks(banks: Int32Array, count: number, direction: number): void {
    if (this.slowCommands) {
      this.addSlow(banks, count, direction);
      return;
    }
    const { from, cappedBank, lead, classes, at: found } = this;
    const { wanted, wantedAt, urgency, age } = this.queue;
    const { shared, groupOf, groups } = this.state;
    const { blocked, duties } = this.refresh;
    const lists = direction * this.state.banks;
    let soonest = found[1]!;
    let best = found[0]!;
    let { rank, access } = this;
    let winner = -1;
    for (let i = 0; i < count; i++) {
      const bank = banks[i]!;
      if (bank === cappedBank || (duties > 0 && blocked[bank] === 1)) continue;
      const kind = wanted[lists + bank]!;
      let at = wantedAt[lists + bank]!;
      const others = shared[groups === 1 ? kind : kind * groups + groupOf[bank]!]!;
      if (others > at) at = others;
      if (from > at) at = from;
      const column = at + lead[kind]!;
      if (column < soonest) soonest = column;
      if (at > best) continue;
      const candidate = this.firstOf(lists + bank, kind);
      if (at === best) {
        if (classes[kind]! > rank) continue;
        if (classes[kind] === rank) {
          const more = urgency[candidate]! - urgency[access]!;
          if (more < 0 || (more === 0 && age[candidate]! > age[access]!)) continue;
        }
      }
      best = at;
      rank = classes[kind]!;
      access = candidate;
      winner = bank;
    }
    found[1] = soonest;
    if (winner >= 0) this.settleOn(best, rank, wanted[lists + winner]!, winner, access);
  }

  /** The same where commands take several clocks: all are kept, and compared once they are known. */
  private addSlow(banks: Int32Array, count: number, direction: number): void {
    const { queue, state, classes } = this;
    const lists = direction * state.banks;
    for (let i = 0; i < count; i++) {
      const bank = banks[i]!;
      if (bank === this.cappedBank || this.refresh.blocked[bank] === 1) continue;
      const kind = queue.wanted[lists + bank]!;
      const own = queue.wantedAt[lists + bank]!;
      const others = state.shared[kind * state.groups + state.groupOf[bank]!]!;
      const legal = own > others ? own : others;
      this.bound(legal, this.lead[kind]!);
      const at = legal > this.from ? legal : this.from;
      this.slow.add(at, classes[kind]!, KINDS[kind]!, bank, this.firstOf(lists + bank, kind));
    }
  }

  /** The access that a command of this kind would be for, in a bank's list. */
  private firstOf(list: number, kind: number): number {
    return kind < Shared.activate ? this.queue.bestHit[list]! : this.queue.best[list]!;
  }

  private settleOn(at: number, rank: number, kind: number, bank: number, access: number): void {
    this.at[0] = at;
    this.rank = rank;
    this.kind = KINDS[kind]!;
    this.bank = bank;
    this.access = access;
  }

  /** The next command of one access; past the cap it goes before all but refresh. */
  private considerAccess(access: number, bank: number, direction: number, capped: boolean): void {
    const { queue, state } = this;
    const open = state.openRow[bank]!;
    let kind: number = Shared.precharge;
    let legal = state.prechargeAt[bank]!;
    if (open < 0) {
      kind = Shared.activate;
      legal = state.activateFrom(bank);
    } else if (open === queue.row[access]) {
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
    const { queue, state, refresh } = this;
    const mark = ++this.seenMark;
    let read = queue.oldest[Direction.read]!;
    let write = queue.oldest[Direction.write]!;
    this.oldest = this.earlier(read, write);
    for (let place = 0; place <= this.lookahead && (read >= 0 || write >= 0); place++) {
      const access = this.earlier(read, write);
      if (access === read) read = queue.newer[read]!;
      else write = queue.newer[write]!;
      const bank = queue.bank[access]!;
      if (this.seen[bank] === mark) continue;
      this.seen[bank] = mark;
      if (refresh.blocked[bank] === 1) continue;
      const hit = state.openRow[bank] === queue.row[access];
      if (hit && (place > 0 || queue.waits[access]! > 0)) continue;
      this.considerAccess(access, bank, queue.write[access]!, place === 0 && queue.capAt[access]! <= this.from);
    }
  }

  private earlier(read: number, write: number): number {
    if (read < 0 || write < 0) return read < 0 ? write : read;
    return this.queue.age[read]! < this.queue.age[write]! ? read : write;
  }

  /** Close what is open, then refresh. */
  private refreshDuty(): void {
    const { state, refresh } = this;
    for (let rank = 0; rank < state.ranks; rank++) {
      if (refresh.duty[rank] === 0) continue;
      this.bound(this.from, this.refreshLead);
      const bank = refresh.perBank ? refresh.nextBank(rank) : rank * state.banksPerRank;
      const open = refresh.perBank ? state.openRow[bank]! >= 0 : state.openCount[rank]! > 0;
      if (open && refresh.perBank) {
        this.consider(state.prechargeAt[bank]!, Class.refresh, Command.precharge, bank, -1);
      } else if (open) {
        this.consider(state.prechargeAllFrom(rank), Class.refresh, Command.prechargeAll, bank, -1);
      } else {
        const legal = refresh.perBank ? state.refreshBankFrom(bank) : state.refreshFrom(rank);
        this.consider(legal, Class.refresh, refresh.perBank ? Command.refreshBank : Command.refresh, bank, -1);
      }
    }
  }

  /** Rows that nobody has used for the time-out and nobody queued wants. */
  private considerTimeouts(): void {
    const { state, queue, refresh } = this;
    for (let bank = 0; bank < state.banks; bank++) {
      const row = state.openRow[bank]!;
      if (row < 0 || refresh.blocked[bank] === 1 || queue.wants(bank, row)) continue;
      const idle = this.idleAt[bank]!;
      const legal = state.prechargeAt[bank]!;
      this.consider(idle > legal ? idle : legal, Class.timeout, Command.precharge, bank, -1);
    }
  }

  /** The earliest clock at which a candidate may start without putting off one of a higher class. */
  private chooseAmongSlow(): void {
    const { slow } = this;
    for (let clock = slow.next(-1); clock < Infinity && this.kind === Command.none; clock = slow.next(clock)) {
      for (let i = 0; i < slow.count; i++) {
        if (!slow.mayStart(i, clock)) continue;
        this.compare(clock, slow.rank[i]!, slow.kind[i]!, slow.bank[i]!, slow.access[i]!);
      }
    }
    slow.count = 0;
  }
}
