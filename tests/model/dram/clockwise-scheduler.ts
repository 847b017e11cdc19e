// The command choice order of the design (section 4), stated clock by clock with plain lists: slow, and with nothing that
// looks ahead. The channel must issue the same commands at the same clocks.
import { Command } from '../../../src/model/dram/command.js';
import type { DdrSpec } from '../../../src/scenario/scenario.js';
import { LegalityChecker, type Issued } from '../../validation/dram/legality.js';
import type { Logged, Wanted } from './rig.js';

interface Access extends Wanted {
  readonly number: number;
  readonly enteredPs: number;
  needed: boolean;
}

interface Choice {
  readonly command: Issued;
  readonly access: Access | null;
  readonly rank: number;
}

/** A scheduler that decides every clock anew. */
export class ClockwiseScheduler {
  readonly log: Logged[] = [];
  readonly served: [number, number][] = [];
  readonly coveredBy: [number, number][] = [];
  private readonly queue: Access[] = [];
  private readonly rules: LegalityChecker;
  private busFreeAt = 0;
  private count = 0;
  private writing = false;
  private reason: 'high' | 'idle' | 'needed' = 'idle';
  private done = 0;
  private readsFirst = false;
  private readonly owed: number[];
  private readonly dueCount: number[];
  private readonly forced: boolean[];
  private readonly turn: number[];
  private readonly lastColumnPs = new Map<number, number>();
  private fresh: Access[] = [];
  private readonly notBefore = new Map<string, number>();

  constructor(
    private readonly spec: DdrSpec,
    private readonly edge: (clock: number) => number,
    private readonly phasesPs: readonly number[],
  ) {
    this.rules = new LegalityChecker(spec.timing);
    this.owed = phasesPs.map(() => 0);
    this.dueCount = phasesPs.map(() => 0);
    this.forced = phasesPs.map(() => false);
    this.turn = phasesPs.map(() => 0);
  }

  queued(write: boolean): number {
    return this.queue.filter((access) => access.write === write).length;
  }

  enter(wanted: Wanted, atPs: number): void {
    const access = { ...wanted, number: this.count++, enteredPs: atPs, needed: false };
    this.queue.push(access);
    if (!access.write) this.fresh.push(access);
  }

  /** The decision at `clock`: all that has arrived by its edge is in. */
  step(clock: number): void {
    const now = this.edge(clock);
    this.countRefreshes(now);
    if (clock < this.busFreeAt) return;
    this.answerCovered(clock);
    if (this.spec.scheduler === 'out_of_order') this.chooseDirection(now);
    const choices = this.choices(now);
    const legal = choices
      .filter((choice) => this.isLegal(choice.command, clock) && !this.putsOff(choice, choices, clock))
      .map((choice) => ({ ...choice, command: { ...choice.command, clock } }));
    legal.sort((a, b) => a.rank - b.rank || this.order(a, b));
    if (legal.length > 0) this.issue(legal[0]!, clock, now);
  }

  /** The rules only ever put a command off, so one found to be illegal until some clock need not be tried before. */
  private isLegal(command: Issued, clock: number): boolean {
    const key = `${command.kind}/${command.rank}/${command.bank}`;
    if (clock < (this.notBefore.get(key) ?? 0) || this.rules.stateFault(command) !== null) return false;
    const from = this.rules.legalFrom(command);
    this.notBefore.set(key, from);
    return clock >= from;
  }

  /** Would a command of several clocks put off one of a higher class that becomes legal meanwhile? */
  private putsOff(choice: Choice, all: readonly Choice[], clock: number): boolean {
    const { activateClocks, columnClocks } = this.spec.timing;
    const { kind } = choice.command;
    if (kind > Command.write || Math.max(activateClocks, columnClocks) === 1) return false;
    const end = clock + (kind === Command.activate ? activateClocks : columnClocks);
    return all.some(({ command, rank }) => {
      if (rank >= choice.rank || this.rules.stateFault(command) !== null) return false;
      const from = this.rules.legalFrom(command);
      return from > clock && from < end;
    });
  }

  private order(a: Choice, b: Choice): number {
    if (a.access === null || b.access === null) return this.flat(a.command) - this.flat(b.command);
    const urgency = (access: Access): number => (access.qos ?? 0) + (access.needed ? 100 : 0);
    return urgency(b.access) - urgency(a.access) || a.access.number - b.access.number;
  }

  private flat({ rank, bank }: Issued): number {
    return rank * this.spec.timing.banks + bank;
  }

  private countRefreshes(now: number): void {
    const { refresh, timing } = this.spec;
    if (refresh.mode === 'off') return;
    const every = timing.tREFIps / (refresh.mode === 'per_bank' ? timing.banks : 1);
    for (const [rank, phase] of this.phasesPs.entries()) {
      while (phase + Math.round(this.dueCount[rank]! * every) <= now) {
        this.dueCount[rank]!++;
        this.owed[rank]!++;
      }
      const limit = refresh.postpone * (refresh.mode === 'per_bank' ? timing.banks : 1);
      if (this.owed[rank]! > limit) this.forced[rank] = true;
    }
  }

  /** Banks that a refresh is being carried out on, or must be. */
  private refreshing(rank: number): number[] {
    const { banks } = this.spec.timing;
    const first = rank * banks;
    if (this.owed[rank] === 0) return [];
    const perBank = this.spec.refresh.mode === 'per_bank';
    const all = perBank ? [first + this.turn[rank]!] : Array.from({ length: banks }, (_, i) => first + i);
    const idle = !this.queue.some((access) => all.includes(access.bank));
    return this.forced[rank] === true || idle ? all : [];
  }

  private answerCovered(clock: number): void {
    for (const read of this.fresh.splice(0).toReversed()) {
      const writes = this.queue.filter((other) => other.write && this.overlap(other, read));
      const [low, high] = this.range(read);
      const whole = writes.some((write) => this.range(write)[0] <= low && this.range(write)[1] >= high);
      if (!whole) continue;
      this.queue.splice(this.queue.indexOf(read), 1);
      this.coveredBy.push([read.number, clock]);
    }
    for (const write of this.queue) write.needed = this.queue.some((read) => !read.write && this.overlap(write, read));
  }

  private range(access: Access): [number, number] {
    return [access.low ?? 0, access.high ?? this.spec.timing.burstLength * this.spec.timing.busBytes];
  }

  /** Does the read have to wait for the write? In order it never does for one that stands behind it. */
  private overlap(write: Access, read: Access): boolean {
    if (!write.write || read.write || write.enteredPs > read.enteredPs) return false;
    if (this.spec.scheduler === 'in_order' && write.number > read.number) return false;
    if (write.bank !== read.bank || write.row !== read.row || write.column !== read.column) return false;
    const [a, b] = [this.range(write), this.range(read)];
    return a[0] < b[1] && b[0] < a[1];
  }

  private waits(access: Access): boolean {
    return !access.write && this.queue.some((write) => this.overlap(write, access));
  }

  private chooseDirection(now: number): void {
    const { spec } = this;
    const reads = this.queue.filter((access) => !access.write && !this.waits(access));
    const writes = this.queue.filter((access) => access.write);
    const needed = writes.some((write) => write.needed);
    const readPastCap = reads.length > 0 && reads[0]!.enteredPs + spec.capPs < now;
    if (this.writing) {
      const cut = readPastCap && this.done >= spec.minDrain;
      const noWrite = writes.length === 0;
      const stopsNeeded = this.reason === 'needed' && !needed;
      const stopsHigh = this.reason === 'high' && (writes.length <= spec.lowMark || (reads.length > 0 && cut));
      const stopsIdle = this.reason === 'idle' && reads.length > 0 && this.done >= spec.minDrain;
      if (noWrite || stopsNeeded || stopsHigh || stopsIdle) {
        this.readsFirst = this.reason !== 'needed' && cut;
        this.turnTo(false, 'idle');
      }
    }
    if (this.writing || writes.length === 0) return;
    if (reads.length === 0) this.turnTo(true, needed ? 'needed' : 'idle');
    else if (this.readsFirst && this.done < spec.minDrain && readPastCap) return;
    else if (needed) this.turnTo(true, 'needed');
    else if (writes.length >= spec.highMark) this.turnTo(true, 'high');
  }

  private turnTo(writing: boolean, reason: 'high' | 'idle' | 'needed'): void {
    this.writing = writing;
    this.reason = reason;
    this.done = 0;
  }

  private choices(now: number): Choice[] {
    const found: Choice[] = [];
    const taken = new Set<number>();
    for (let rank = 0; rank < this.spec.ranks; rank++) {
      const banks = this.refreshing(rank);
      for (const bank of banks) taken.add(bank);
      if (banks.length > 0) found.push(this.refreshStep(rank, banks));
    }
    if (this.spec.scheduler === 'in_order') this.addInOrder(found, taken, now);
    else this.addOutOfOrder(found, taken, now);
    if (this.spec.page.policy === 'timeout') this.addTimeouts(found, taken, now);
    return found;
  }

  private refreshStep(rank: number, banks: readonly number[]): Choice {
    const bank = banks[0]!;
    const perBank = this.spec.refresh.mode === 'per_bank';
    const open = perBank ? this.openRow(bank) !== -1 : this.rules.anyOpen(rank);
    const kinds = perBank ? [Command.precharge, Command.refreshBank] : [Command.prechargeAll, Command.refresh];
    return {
      command: this.command(open ? kinds[0]! : kinds[1]!, bank, perBank ? this.openRow(bank) : -1),
      access: null,
      rank: -1,
    };
  }

  private addOutOfOrder(found: Choice[], taken: Set<number>, now: number): void {
    const active = this.queue.filter((access) => access.write === this.writing && !this.waits(access));
    const oldest = active[0];
    if (oldest !== undefined && oldest.enteredPs + this.spec.capPs < now) {
      if (!taken.has(oldest.bank)) found.push({ ...this.next(oldest), rank: 0 });
      taken.add(oldest.bank);
    }
    for (const access of active) {
      if (taken.has(access.bank)) continue;
      const choice = this.next(access);
      const hit = active.some((other) => other.bank === access.bank && other.row === this.openRow(access.bank));
      if (choice.command.kind === Command.precharge && hit) continue;
      found.push(choice);
    }
  }

  private addInOrder(found: Choice[], taken: Set<number>, now: number): void {
    for (const [place, access] of this.queue.slice(0, this.spec.lookahead + 1).entries()) {
      if (taken.has(access.bank)) continue;
      // an earlier one that is kept from acting keeps its bank all the same
      const earlier = this.queue.slice(0, place).some((other) => other.bank === access.bank);
      if (earlier) continue;
      const choice = this.next(access);
      const column = choice.command.kind === Command.read || choice.command.kind === Command.write;
      if (column && (place > 0 || this.waits(access))) continue;
      const capped = place === 0 && access.enteredPs + this.spec.capPs < now;
      found.push(capped ? { ...choice, rank: 0 } : choice);
    }
  }

  private addTimeouts(found: Choice[], taken: Set<number>, now: number): void {
    for (let bank = 0; bank < this.spec.ranks * this.spec.timing.banks; bank++) {
      const row = this.openRow(bank);
      const since = this.lastColumnPs.get(bank);
      if (row === -1 || since === undefined || taken.has(bank)) continue;
      if (this.queue.some((access) => access.bank === bank && access.row === row)) continue;
      if (since + this.spec.page.idlePs > now) continue;
      found.push({ command: this.command(Command.precharge, bank, row), access: null, rank: 9 });
    }
  }

  private next(access: Access): Choice {
    const row = this.openRow(access.bank);
    const [column, activate] = this.spec.activateFirst ? [2, 1] : [1, 2];
    if (row === -1) {
      return { command: this.command(Command.activate, access.bank, access.row), access, rank: activate };
    }
    if (row !== access.row) return { command: this.command(Command.precharge, access.bank, row), access, rank: 3 };
    const kind = access.write ? Command.write : Command.read;
    return { command: this.command(kind, access.bank, row), access, rank: column };
  }

  private command(kind: number, flat: number, row: number): Issued {
    const { banks, bankGroups } = this.spec.timing;
    const rank = Math.floor(flat / banks);
    const bank = flat % banks;
    return { clock: 0, kind, rank, bank, row, group: Math.floor(bank / (banks / bankGroups)) };
  }

  private openRow(flat: number): number {
    const { banks } = this.spec.timing;
    return this.rules.openRow(Math.floor(flat / banks), flat % banks);
  }

  private issue({ command, access }: Choice, clock: number, now: number): void {
    const { timing } = this.spec;
    let { kind } = command;
    const flat = this.flat(command);
    this.busFreeAt = clock + 1;
    if (kind === Command.activate) {
      this.busFreeAt = clock + timing.activateClocks;
      this.lastColumnPs.delete(flat);
    }
    if (kind === Command.read || kind === Command.write) {
      this.busFreeAt = clock + timing.columnClocks;
      this.queue.splice(this.queue.indexOf(access!), 1);
      this.done++;
      this.served.push([access!.number, clock]);
      this.lastColumnPs.set(flat, now);
      const more = this.queue.some((other) => other.bank === access!.bank && other.row === access!.row);
      if (this.spec.page.policy === 'closed' && !more) kind += 2;
    }
    if (kind === Command.refresh || kind === Command.refreshBank) this.refreshed(command.rank);
    this.rules.add({ ...command, kind });
    this.log.push([clock, kind, command.rank, command.bank, command.row, 0]);
  }

  private refreshed(rank: number): void {
    const { refresh, timing } = this.spec;
    const perBank = refresh.mode === 'per_bank';
    this.owed[rank]!--;
    if (this.owed[rank]! <= (perBank ? refresh.postpone * timing.banks : 0)) this.forced[rank] = false;
    if (perBank) this.turn[rank] = (this.turn[rank]! + 1) % timing.banks;
  }
}
