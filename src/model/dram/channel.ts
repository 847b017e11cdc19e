// Hot path: one wake-up per command, none per idle clock. Nothing is allocated per command; times within the channel are
// DRAM clocks, turned into ps only where the calendar or a meter needs them; fields that hold them start as what is no
// whole number, so that they stay doubles, stored in place.
import type { Actor, Calendar } from '../../engine/calendar.js';
import type { Carrier } from '../../engine/carrier.js';
import type { Clock } from '../../engine/clock.js';
import { Phase } from '../../engine/phase.js';
import { Probe } from '../probe.js';
import { RowState, type Access } from './access.js';
import { AccessQueue } from './access-queue.js';
import { Arrivals } from './arrivals.js';
import type { Bank } from './bank.js';
import { BankState, Direction } from './bank-state.js';
import { DataBus } from './data-bus.js';
import type { ChannelOwner, ChannelParams } from './channel-params.js';
import { Command } from './command.js';
import { Drain } from './drain.js';
import { DramUse } from './dram-use.js';
import { Forecast } from './forecast.js';
import { Hazards } from './hazards.js';
import { LastUsers } from './last-users.js';
import { Planner } from './planner.js';
import { Refresh } from './refresh.js';

// constants of the file: an import is loaded and checked at each use
const { write: WRITE } = Direction;
const { hit: HIT, empty: EMPTY, conflict: CONFLICT, unknown: UNKNOWN } = RowState;
const { activate: ACTIVATE, read: READ_COMMAND, write: WRITE_COMMAND } = Command;
const { precharge: PRECHARGE, prechargeAll: PRECHARGE_ALL, refreshBank: REFRESH_BANK } = Command;

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
  readonly last = new LastUsers();
  private readonly planner: Planner;
  private readonly refresh: Refresh;
  private readonly drain: Drain;
  private readonly hazards: Hazards;
  private readonly arrivals: Arrivals;
  private readonly forecast: Forecast;
  private readonly carrier: Carrier;
  private readonly calendar: Calendar;
  private readonly clock: Clock;
  /** Does the probe listen to commands? */
  private readonly reports: boolean;
  private readonly inOrder: boolean;
  private readonly closedPages: boolean;
  private readonly timeoutPs: number;
  private readonly capPs: number;
  private readonly owner: ChannelOwner;
  // of the timing
  private readonly activateClocks: number;
  private readonly columnClocks: number;
  /** The first clock at which the next command may go; when the plan must be made anew whatever happens. */
  private from = Infinity;
  private again = Infinity;
  private stale = true;
  private readonly bus: DataBus;

  constructor(private readonly params: ChannelParams) {
    const { calendar, spec, clock, window, number } = params;
    this.from = 0;
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
    this.arrivals = new Arrivals(this.queue.all);
    this.forecast = new Forecast(params, this.queue, this.drain, this.planner, this.arrivals);
    const shares = spec.ranks * (spec.refresh.mode === 'per_bank' ? spec.timing.banks : 1);
    this.use = new DramUse(window, clock, spec.timing.busBytes, spec.timing.burstLength, shares);
    this.bus = new DataBus(spec.timing, this.state, this.use);
    // oxlint-disable-next-line typescript/unbound-method -- only compared
    this.reports = params.probe.command !== Probe.prototype.command;
    this.closedPages = spec.page.policy === 'closed';
    this.timeoutPs = spec.page.policy === 'timeout' ? spec.page.idlePs : Infinity;
    this.capPs = spec.capPs;
    this.owner = params.owner;
    this.activateClocks = spec.timing.activateClocks;
    this.columnClocks = spec.timing.columnClocks;
    this.carrier = calendar.carrier(this, 0, Phase.decide);
  }

  /**
   * A reserved access, its fields filled, reaches the queue at its `enteredAt`: later, or now if the phase
   * `decide` is yet to come. No other may be sent in after it that enters before the channel has come so far.
   */
  enter(access: Access): void {
    const { clock, hazards, forecast } = this;
    const timePs = access.enteredAt;
    const edge = clock.indexFrom(timePs);
    access.enterClock = edge;
    access.capAt = this.capPs === Infinity ? Infinity : clock.indexFrom(timePs + this.capPs + 1);
    this.arrivals.push(access);
    hazards.coming(access);
    let from = edge;
    // answers from the write queue are given at once, so the channel must be there
    if (!hazards.mayMeet(access)) from = forecast.soonestColumn(access, this.from);
    else forecast.watch(edge);
    this.calendar.armBy(this.carrier, clock.at(from));
  }

  /** The first access on its way is in the queue. */
  private admit(): void {
    const { queue, drain } = this;
    const access = this.arrivals.shift();
    const edge = access.enterClock;
    this.issueUpTo(edge - 1);
    // it may put a refresh off: the first of its rank, or of a bank whose turn it is
    const awaited = queue.queuedInRank[access.bank.rank] === 0 || this.refresh.blocked[access.bank.index] === 1;
    queue.insert(access);
    if (this.hazards.entered(access) || awaited || this.changesPlan(access, edge)) this.replan(edge);
    else if (access.direction === drain.direction && access.waits === 0) {
      this.planner.improve(access.bank.list(access.direction), edge);
    }
  }

  /** Something that an access waited for has happened, now: it may be served from now on. */
  unhide(access: Access): void {
    const edge = this.clock.indexFrom(this.calendar.now);
    this.run(edge - 1);
    // one still on its way is not listed yet
    if (access.enterClock >= edge) {
      access.waits--;
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
  private changesPlan(access: Access, edge: number): boolean {
    const { queue, drain, planner } = this;
    if (this.inOrder || planner.slowCommands || access.bank === planner.bank) return true;
    if (drain.changesAt(this.from > edge ? this.from : edge)) return true;
    return queue.side(access.direction).visible === 1;
  }

  private replan(from: number): void {
    this.stale = true;
    if (from > this.from) this.from = from;
  }

  /** Makes up for all that happens up to and including clock `upTo`, and plans what comes next. */
  private run(upTo: number): void {
    while (this.arrivals.headClock <= upTo) this.admit();
    this.issueUpTo(upTo);
  }

  /** Issues all that is due up to and including clock `upTo` while no access enters. */
  private issueUpTo(upTo: number): void {
    for (;;) {
      if (this.stale) this.plan(upTo);
      const { at } = this.planner;
      const { again } = this;
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
    const { drain, refresh, planner, hazards, queue, from } = this;
    this.stale = false;
    const turns = !this.inOrder && drain.changesAt(from);
    if (from > upTo && (turns || hazards.pending > 0)) {
      planner.waitUntil(from);
      this.again = from;
      return;
    }
    const doubts = hazards.pending > 0;
    if (doubts) this.resolveHazards(from);
    if (!refresh.off) refresh.update(from);
    if (turns || (doubts && !this.inOrder)) drain.update(from);
    planner.find(from, queue.side(drain.direction));
    const due = refresh.nextDue();
    const cap = planner.capAfter(from);
    this.again = due < cap ? due : cap;
    if (!this.inOrder && drain.direction === WRITE) this.watchDrain(drain.capAt(), from);
  }

  /** The age of a read may end the drain at clock `at`: the plan is to look again then. */
  private watchDrain(at: number, from: number): void {
    if (at <= from) return;
    if (at < this.planner.columnFrom) this.planner.columnFrom = at;
    if (at < this.again) this.again = at;
  }

  /** Sees to it that the channel is awake by the clock of the next column command; the rest can be made up for. */
  private arm(upTo: number): void {
    let next = Infinity;
    if (!this.queue.empty) {
      if (this.stale) this.plan(upTo);
      const { at, columnFrom } = this.planner;
      next = at < this.again ? at : this.again;
      if (columnFrom > next) next = columnFrom;
    }
    if (this.arrivals.headClock < next) {
      const entry = this.forecast.next(this.from);
      if (entry < next) next = entry;
    }
    if (next === Infinity) return;
    const timePs = this.clock.at(next);
    if (this.carrier.due !== timePs) this.calendar.arm(this.carrier, timePs);
  }

  private issue(at: number): void {
    const { planner } = this;
    const { kind } = planner;
    const bank = planner.bank!;
    this.stale = true;
    this.from = at + 1;
    switch (kind) {
      case ACTIVATE:
        this.from = at + this.activateClocks;
        this.activate(at, bank, planner.access!);
        return;
      case READ_COMMAND:
      case WRITE_COMMAND:
        this.from = at + this.columnClocks;
        this.column(at, planner.access!);
        return;
      case PRECHARGE:
        this.precharge(at, bank, planner.access);
        return;
      case PRECHARGE_ALL:
        this.prechargeAll(at, bank);
        return;
      default:
        this.refreshNow(at, bank, kind);
    }
  }

  private activate(at: number, bank: Bank, access: Access): void {
    this.classify(access, EMPTY, at);
    this.state.activate(bank, access.row, at);
    bank.idleAt = Infinity;
    this.queue.rowChanged(bank);
    if (this.use.inWindow(at)) this.use.activates++;
    this.report(at, bank, access.row, ACTIVATE);
  }

  private precharge(at: number, bank: Bank, access: Access | null): void {
    if (access !== null) this.classify(access, CONFLICT, at);
    const row = bank.openRow;
    this.state.precharge(bank, at);
    this.queue.rowChanged(bank);
    if (this.use.inWindow(at)) this.use.precharges++;
    this.report(at, bank, row, PRECHARGE);
  }

  private prechargeAll(at: number, firstBank: Bank): void {
    const { rank } = firstBank;
    if (this.use.inWindow(at)) this.use.precharges += this.state.openCount[rank]!;
    this.state.prechargeAll(rank, at);
    for (const bank of this.state.banksOf(rank)) this.queue.rowChanged(bank);
    this.report(at, firstBank, -1, PRECHARGE_ALL);
  }

  private refreshNow(at: number, bank: Bank, kind: number): void {
    const { refresh, state, use } = this;
    const { nRFC, nRFCpb } = this.params.spec.timing;
    const { rank } = bank;
    if (kind === REFRESH_BANK) state.refreshBank(bank, at);
    else state.refresh(rank, at);
    for (const other of state.banksOf(rank)) this.queue.timersChanged(other);
    const until = at + (kind === REFRESH_BANK ? nRFCpb : nRFC);
    const one = kind === REFRESH_BANK ? bank.index : -1;
    this.params.probe.refreshed(this.params.element, this, rank, one, refresh.dutySince[rank]!, until, at);
    use.refreshed(refresh.dutySince[rank]!, until);
    refresh.done(rank, until);
    if (this.use.inWindow(at)) use.refreshes++;
    this.report(at, bank, -1, kind);
  }

  private column(at: number, access: Access): void {
    const { queue, state } = this;
    const { bank, row } = access;
    const write = access.direction === WRITE;
    this.classify(access, HIT, at);
    queue.takeOut(access);
    this.hazards.gone(access);
    this.forecast.columnFrom = at + state.spacing;
    const auto = this.closedPages && !bank.wants(row);
    this.bus.carry(at, bank.rank, write, access.low, access.high);
    if (this.use.inWindow(at)) this.use.columnAccesses++;
    if (write) state.write(bank, at, auto);
    else state.read(bank, at, auto);
    if (this.timeoutPs < Infinity) bank.idleAt = this.clock.indexFrom(this.clock.at(at) + this.timeoutPs);
    if (auto) queue.rowChanged(bank);
    else queue.timersChanged(bank);
    this.drain.served();
    this.last.column(access, at);
    if (write) this.hazards.left(access);
    const kind = write ? WRITE_COMMAND : READ_COMMAND;
    this.report(at, bank, row, auto ? kind + 2 : kind);
    this.owner.served(this, access, at);
    queue.release(access);
  }

  private resolveHazards(at: number): void {
    for (let access = this.hazards.resolveNext(); access !== null; access = this.hazards.resolveNext()) {
      this.queue.remove(access);
      this.hazards.gone(access);
      if (this.use.inWindow(at)) this.use.coveredReads++;
      this.owner.covered(this, access, at);
      this.queue.release(access);
    }
  }

  /** What the access found, told by the first command that is chosen for it. */
  private classify(access: Access, found: number, at: number): void {
    if (access.rowState !== UNKNOWN) return;
    access.rowState = found;
    access.firstClock = at;
    this.params.probe.chosen(this.params.element, this, access, found, at);
    this.last.chosen(access, found);
    if (this.use.inWindow(at)) this.use.found(found);
  }

  private report(at: number, bank: Bank, row: number, kind: number): void {
    if (!this.reports) return;
    const { element, number, probe } = this.params;
    const { banksPerRank, groupsPerRank } = this.state;
    const { index, rank, group } = bank;
    probe.command(element, number, rank, group - rank * groupsPerRank, index - rank * banksPerRank, row, kind, at);
  }
}
