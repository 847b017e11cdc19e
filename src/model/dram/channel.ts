// Hot path: one wake-up per command, none per idle clock. Nothing is allocated per command; times within the channel are
// DRAM clocks, turned into ps only where the calendar or a meter needs them.
import type { Actor, Calendar } from '../../engine/calendar.js';
import type { Clock } from '../../engine/clock.js';
import { Phase } from '../../engine/phase.js';
import type { DdrSpec } from '../../scenario/scenario.js';
import { Probe } from '../probe.js';
import type { Window } from '../window.js';
import { AccessQueue, RowState } from './access-queue.js';
import { Arrivals } from './arrivals.js';
import { BankState, Direction } from './bank-state.js';
import { DataBus } from './data-bus.js';
import { Command } from './command.js';
import { Drain } from './drain.js';
import { DramUse } from './dram-use.js';
import { Hazards } from './hazards.js';
import { Planner } from './planner.js';
import { Refresh } from './refresh.js';

/** Whoever sends accesses into a channel. Each access's slot is free once its call returns. */
export interface ChannelOwner {
  /** The column command of `access` goes out at `clock` of the DRAM. */
  served(channel: Channel, access: number, clock: number): void;
  /** A read was answered from the write queue, at `clock` of the DRAM. */
  covered(channel: Channel, access: number, clock: number): void;
}

/** What a channel is made from. */
export interface ChannelParams {
  readonly calendar: Calendar;
  readonly probe: Probe;
  readonly window: Window;
  readonly spec: DdrSpec;
  /** The DRAM's clock, at its exact tCK. */
  readonly clock: Clock;
  /** Numbers of the element and of this channel in it, for the command log. */
  readonly element: number;
  readonly number: number;
  /** By rank: when its first refresh is due. */
  readonly phasesPs: readonly number[];
  readonly owner: ChannelOwner;
}

/**
 * One DRAM channel at command granularity. Accesses are reserved and filled in `queue`, then sent in by `enter`, ahead of
 * time or as they reach it; from then on commands go out on the channel's own clock edges by the order of the planner.
 * Only column commands are seen from outside, so only for them does it ask to be woken: the commands and entries before are
 * made up for then, or by `settle`. That changes no result, as nothing else changes what they depend on.
 */
export class Channel implements Actor {
  readonly queue: AccessQueue;
  readonly state: BankState;
  readonly use: DramUse;
  readonly number: number;
  private readonly planner: Planner;
  private readonly refresh: Refresh;
  private readonly drain: Drain;
  private readonly hazards: Hazards;
  private readonly arrivals: Arrivals;
  private readonly carrier: number;
  private readonly calendar: Calendar;
  private readonly clock: Clock;
  /** Does the probe listen to commands? */
  private readonly reports: boolean;
  private readonly inOrder: boolean;
  private readonly closedPages: boolean;
  private readonly timeoutPs: number;
  private readonly capPs: number;
  /** 0: the first clock at which the next command may go; 1: when the plan must be made anew whatever happens. */
  private readonly clocks = new Float64Array(2);
  /** No column command can go before this clock. */
  private readonly columnFrom = new Float64Array(1);
  /** Up to this clock, the channel must be awake whenever an access enters. */
  private readonly watchUntil = new Float64Array(1);
  private stale = true;
  private readonly bus: DataBus;

  constructor(private readonly params: ChannelParams) {
    const { calendar, spec, clock, window, number } = params;
    this.calendar = calendar;
    this.clock = clock;
    this.number = number;
    this.state = new BankState(spec.timing, spec.ranks);
    this.queue = new AccessQueue(this.state, spec.readEntries + spec.writeEntries);
    this.refresh = new Refresh(spec, clock, this.state, this.queue, params.phasesPs);
    this.drain = new Drain(spec, this.queue);
    this.planner = new Planner(spec, this.state, this.queue, this.refresh);
    this.inOrder = spec.scheduler === 'in_order';
    this.hazards = new Hazards(this.queue, this.inOrder);
    this.arrivals = new Arrivals(this.queue);
    const shares = spec.ranks * (spec.refresh.mode === 'per_bank' ? spec.timing.banks : 1);
    this.use = new DramUse(window, clock, spec.timing.busBytes, spec.timing.burstLength, shares);
    this.bus = new DataBus(spec.timing, this.state, this.use);
    // oxlint-disable-next-line typescript/unbound-method -- only compared
    this.reports = params.probe.command !== Probe.prototype.command;
    this.closedPages = spec.page.policy === 'closed';
    this.timeoutPs = spec.page.policy === 'timeout' ? spec.page.idlePs : Infinity;
    this.capPs = spec.capPs;
    this.carrier = calendar.carrier(this, 0, Phase.decide);
  }

  /**
   * A reserved access, its columns filled, reaches the queue at `queue.enteredAt` of it: later, or now if the phase
   * `decide` is yet to come. No other may be sent in after it that enters before the channel has come so far.
   */
  enter(access: number): void {
    const { queue, clock, hazards } = this;
    const timePs = queue.enteredAt[access]!;
    const edge = clock.indexFrom(timePs);
    queue.enterClock[access] = edge;
    queue.capAt[access] = this.capPs === Infinity ? Infinity : clock.indexFrom(timePs + this.capPs + 1);
    this.arrivals.push(access);
    hazards.coming(access);
    let from = edge;
    // answers from the write queue are given at once, so the channel must be there
    if (hazards.mayMeet(access)) this.watchUntil[0] = Math.max(this.watchUntil[0]!, edge);
    else from = this.soonestColumn(access);
    this.calendar.armBy(this.carrier, clock.at(from));
  }

  /** The first access on its way is in the queue. */
  private admit(): void {
    const { queue } = this;
    const access = this.arrivals.shift();
    const edge = queue.enterClock[access]!;
    this.issueUpTo(edge - 1);
    const direction = queue.write[access]!;
    const newRank = queue.queuedInRank[this.state.rankOf[queue.bank[access]!]!] === 0;
    queue.insert(access);
    if (this.hazards.entered(access) || newRank || this.changesPlan(access, direction, edge)) this.replan(edge);
    else if (direction === this.drain.direction && queue.waits[access] === 0) {
      this.planner.improve(queue.bank[access]!, direction, edge);
    }
  }

  /** Something that an access waited for has happened, now: it may be served from now on. */
  unhide(access: number): void {
    const edge = this.clock.indexFrom(this.calendar.now);
    this.run(edge - 1);
    // one still on its way is not listed yet
    if (this.queue.enterClock[access]! >= edge) {
      this.queue.waits[access]!--;
      return;
    }
    this.queue.unhide(access);
    this.replan(edge);
    this.arm(edge - 1);
  }

  wake(): void {
    const edge = this.clock.indexFrom(this.calendar.now);
    this.run(edge);
    this.arm(edge);
  }

  /** Makes up for what was put off before `timePs`, for the counters; the calendar has run up to then. */
  settle(timePs: number): void {
    this.run(this.clock.indexFrom(timePs) - 1);
  }

  /** May an access that came in change more than which command is best? */
  private changesPlan(access: number, direction: number, edge: number): boolean {
    const { queue, drain, planner } = this;
    if (this.inOrder || planner.slowCommands || queue.bank[access] === planner.bank) return true;
    if (drain.changesAt(this.clocks[0]! > edge ? this.clocks[0]! : edge)) return true;
    return queue.visible[direction] === 1;
  }

  private replan(from: number): void {
    this.stale = true;
    if (from > this.clocks[0]!) this.clocks[0] = from;
  }

  /** Makes up for all that happens up to and including clock `upTo`, and plans what comes next. */
  private run(upTo: number): void {
    while (this.arrivals.headClock() <= upTo) this.admit();
    this.issueUpTo(upTo);
  }

  /** Issues all that is due up to and including clock `upTo` while no access enters. */
  private issueUpTo(upTo: number): void {
    for (;;) {
      if (this.stale) this.plan(upTo);
      const at = this.planner.at[0]!;
      const again = this.clocks[1]!;
      if (again <= at) {
        if (again > upTo) return;
        this.replan(again);
      } else {
        if (at > upTo) return;
        this.issue(at);
      }
    }
  }

  /**
   * Plans the next command, judging the state at the first clock it may go. What depends on who arrives by then (the
   * direction, a read's hazards) is settled only when that clock has come; until then the plan is to look again.
   */
  private plan(upTo: number): void {
    const { drain, refresh, planner, hazards } = this;
    const from = this.clocks[0]!;
    this.stale = false;
    const turns = !this.inOrder && drain.changesAt(from);
    if (from > upTo && (turns || hazards.pending > 0)) {
      planner.waitUntil(from);
      this.clocks[1] = from;
      return;
    }
    const doubts = hazards.pending > 0;
    if (doubts) this.resolveHazards(from);
    if (!refresh.off) refresh.update(from);
    if (turns || (doubts && !this.inOrder)) drain.update(from);
    planner.find(from, drain.direction);
    const due = refresh.nextDue();
    const cap = planner.capAfter(from);
    this.clocks[1] = due < cap ? due : cap;
    if (!this.inOrder && drain.direction === Direction.write) this.watchDrain(drain.capAt(), from);
  }

  /** The age of a read may end the drain at clock `at`: the plan is to look again then. */
  private watchDrain(at: number, from: number): void {
    if (at <= from) return;
    if (at < this.planner.at[1]!) this.planner.at[1] = at;
    if (at < this.clocks[1]!) this.clocks[1] = at;
  }

  /** Sees to it that the channel is awake by the clock of the next column command; the rest can be made up for. */
  private arm(upTo: number): void {
    let next = Infinity;
    if (!this.queue.empty) {
      if (this.stale) this.plan(upTo);
      const at = this.planner.at[0]!;
      const again = this.clocks[1]!;
      next = at < again ? at : again;
      if (this.planner.at[1]! > next) next = this.planner.at[1]!;
    }
    if (this.arrivals.headClock() < next) {
      const entry = this.nextEntry();
      if (entry < next) next = entry;
    }
    if (next === Infinity) return;
    const timePs = this.clock.at(next);
    if (this.calendar.at[this.carrier] !== timePs) this.calendar.arm(this.carrier, timePs);
  }

  /** The first clock at which a column command, or an answer, could follow from an access that is on its way. */
  private nextEntry(): number {
    const { arrivals, queue } = this;
    const entry = arrivals.headClock();
    if (entry <= this.watchUntil[0]!) return entry;
    const from = this.columnFrom[0]!;
    let first = Infinity;
    for (let i = 0; i < arrivals.count && first > from; i++) {
      const access = arrivals.nth(i);
      if (queue.enterClock[access]! >= first) break;
      const clock = this.soonestColumn(access);
      if (clock < first) first = clock;
    }
    return first > from ? first : from;
  }

  /**
   * The first clock at which a column command could go because of an access that is on its way: at once if its row is
   * open, or if its coming may begin a drain, else no sooner than its row can be opened from now on. Where commands take
   * several clocks, a refresh that no longer comes first may free a column command that was put off for it.
   */
  private soonestColumn(access: number): number {
    const { queue, drain, state, planner } = this;
    const { empty } = queue;
    const clock = queue.enterClock[access]!;
    const bank = queue.bank[access]!;
    const open = state.openRow[bank]!;
    if (open === queue.row[access]) return clock;
    if (!empty && (this.inOrder || (queue.write[access] === 1 && drain.direction === Direction.read))) return clock;
    // the state is that of clock `since`: the row may have been closed from then on, but opened only for what is queued
    const since = this.clocks[0]!;
    const { nRP, nRCD } = this.params.spec.timing;
    const closes = state.prechargeAt[bank]! > since ? state.prechargeAt[bank]! : since;
    const legal = open < 0 ? state.activateAt[bank]! : closes + nRP;
    const from = empty ? this.arrivals.headClock() : since;
    const opened = (legal > from ? legal : from) + nRCD;
    const freed = planner.slowCommands && !empty ? planner.at[1]! : Infinity;
    const soonest = freed < opened ? freed : opened;
    return soonest > clock ? soonest : clock;
  }

  private issue(at: number): void {
    const { planner, params } = this;
    const { kind, bank } = planner;
    const timing = params.spec.timing;
    this.stale = true;
    this.clocks[0] = at + 1;
    switch (kind) {
      case Command.activate:
        this.clocks[0] = at + timing.activateClocks;
        this.activate(at, bank, planner.access);
        return;
      case Command.read:
      case Command.write:
        this.clocks[0] = at + timing.columnClocks;
        this.column(at, bank, planner.access, kind === Command.write);
        return;
      case Command.precharge:
        this.precharge(at, bank, planner.access);
        return;
      case Command.prechargeAll:
        this.prechargeAll(at, bank);
        return;
      default:
        this.refreshNow(at, bank, kind);
    }
  }

  private activate(at: number, bank: number, access: number): void {
    this.classify(access, RowState.empty, at);
    this.state.activate(bank, this.queue.row[access]!, at);
    this.planner.idleAt[bank] = Infinity;
    this.queue.rowChanged(bank);
    if (this.use.inWindow(at)) this.use.activates++;
    this.report(at, bank, this.queue.row[access]!, Command.activate);
  }

  private precharge(at: number, bank: number, access: number): void {
    if (access >= 0) this.classify(access, RowState.conflict, at);
    const row = this.state.openRow[bank]!;
    this.state.precharge(bank, at);
    this.queue.rowChanged(bank);
    if (this.use.inWindow(at)) this.use.precharges++;
    this.report(at, bank, row, Command.precharge);
  }

  private prechargeAll(at: number, firstBank: number): void {
    const rank = this.state.rankOf[firstBank]!;
    if (this.use.inWindow(at)) this.use.precharges += this.state.openCount[rank]!;
    this.state.prechargeAll(rank, at);
    for (let bank = firstBank; bank < firstBank + this.state.banksPerRank; bank++) this.queue.rowChanged(bank);
    this.report(at, firstBank, -1, Command.prechargeAll);
  }

  private refreshNow(at: number, bank: number, kind: number): void {
    const { refresh, state, use } = this;
    const timing = this.params.spec.timing;
    const rank = state.rankOf[bank]!;
    if (kind === Command.refreshBank) state.refreshBank(bank, at);
    else state.refresh(rank, at);
    for (let b = rank * state.banksPerRank; b < (rank + 1) * state.banksPerRank; b++) this.queue.timersChanged(b);
    const until = at + (kind === Command.refreshBank ? timing.nRFCpb : timing.nRFC);
    use.refreshed(refresh.dutySince[rank]!, until);
    refresh.done(rank, until);
    if (this.use.inWindow(at)) use.refreshes++;
    this.report(at, bank, -1, kind);
  }

  private column(at: number, bank: number, access: number, write: boolean): void {
    const { queue, state, drain, params } = this;
    this.classify(access, RowState.hit, at);
    const row = queue.row[access]!;
    queue.remove(access);
    this.hazards.gone(access);
    this.columnFrom[0] = at + state.spacing;
    const auto = this.closedPages && !queue.wants(bank, row);
    this.bus.carry(at, state.rankOf[bank]!, write, queue.low[access]!, queue.high[access]!);
    if (this.use.inWindow(at)) this.use.columnAccesses++;
    if (write) state.write(bank, at, auto);
    else state.read(bank, at, auto);
    if (this.timeoutPs < Infinity) this.planner.idleAt[bank] = this.clock.indexFrom(this.clock.at(at) + this.timeoutPs);
    if (auto) queue.rowChanged(bank);
    else queue.timersChanged(bank);
    drain.served();
    if (write) this.hazards.left(access);
    const kind = write ? Command.write : Command.read;
    this.report(at, bank, row, auto ? kind + 2 : kind);
    params.owner.served(this, access, at);
    queue.release(access);
  }

  private resolveHazards(at: number): void {
    for (let access = this.hazards.resolveNext(); access >= 0; access = this.hazards.resolveNext()) {
      this.queue.remove(access);
      this.hazards.gone(access);
      if (this.use.inWindow(at)) this.use.coveredReads++;
      this.params.owner.covered(this, access, at);
      this.queue.release(access);
    }
  }

  /** What the access found, told by the first command that is chosen for it. */
  private classify(access: number, found: number, at: number): void {
    const { rowState } = this.queue;
    if (rowState[access] !== RowState.unknown) return;
    rowState[access] = found;
    if (!this.use.inWindow(at)) return;
    if (found === RowState.hit) this.use.rowHits++;
    else if (found === RowState.empty) this.use.rowEmpties++;
    else this.use.rowConflicts++;
  }

  private report(at: number, bank: number, row: number, kind: number): void {
    if (!this.reports) return;
    const { element, number, probe } = this.params;
    const { rankOf, banksPerRank, groupOf, groupsPerRank } = this.state;
    const rank = rankOf[bank]!;
    const group = groupOf[bank]! - rank * groupsPerRank;
    probe.command(element, number, rank, group, bank - rank * banksPerRank, row, kind, at);
  }
}
