import { Command } from '../../../src/model/dram/command.js';
import type { RuleTimes } from './rule-times.js';
import { GAP_RULES, type RuleName, type Scope, WINDOW_RULES } from './rules.js';

/** One command of a channel's log. */
export interface Issued {
  /** Number on the DRAM's own clock. */
  readonly clock: number;
  readonly kind: number;
  readonly rank: number;
  /** Within the rank. */
  readonly group: number;
  readonly bank: number;
  /** −1 where the command has none. */
  readonly row: number;
}

/** A rule that a command of a log breaks. */
export interface Fault {
  readonly rule: RuleName;
  readonly command: Issued;
  /** The clock from which this rule allows it; Infinity where none does. */
  readonly from: number;
}

const KINDS = 1 + Math.max(...Object.values(Command));
const { activate, read, write, readAuto, writeAuto, precharge, prechargeAll, refresh, refreshBank } = Command;

/** Rooms for the numbers of a channel's ranks, and of the groups and banks of a rank. */
const RANKS = 16;
const GROUPS = 16;
const BANKS = 64;

interface Gap {
  readonly name: RuleName;
  readonly from: readonly number[];
  readonly within: Scope;
  readonly clocks: number;
}

interface Recent {
  readonly name: RuleName;
  readonly kinds: readonly number[];
  readonly clocks: number;
  /** By rank: clocks of the last commands, oldest first; as many as are allowed. */
  readonly byRank: number[][];
}

/**
 * Holds a channel's commands against the rule table, one after the other. A gap rule looks at the last earlier command of
 * its kind in its scope, since no older one can ask for more.
 */
export class LegalityChecker {
  private readonly gaps: readonly Gap[][];
  private readonly windows: readonly Recent[];
  private readonly byBank = lastClocks(RANKS * BANKS);
  private readonly byGroup = lastClocks(RANKS * GROUPS);
  private readonly byRank = lastClocks(RANKS);
  private readonly byChannel = lastClocks(1);
  private readonly openRows = new Int32Array(RANKS * BANKS).fill(-1);
  private clock = -Infinity;

  constructor(times: RuleTimes) {
    this.gaps = Array.from({ length: KINDS }, (_, kind) =>
      GAP_RULES.filter(({ to }) => to.includes(kind))
        .map(({ name, from, within, clocks }) => ({ name, from, within, clocks: clocks(times) }))
        .filter(({ clocks }) => clocks > 0),
    );
    this.windows = WINDOW_RULES.map(({ name, kinds, count, clocks }) => ({
      name,
      kinds,
      clocks: clocks(times),
      byRank: Array.from({ length: RANKS }, () => Array.from({ length: count }, () => -Infinity)),
    })).filter(({ clocks }) => clocks > 0);
  }

  /** The rules that the next command of the log breaks; it is taken into the history all the same. */
  next(command: Issued): Fault[] {
    const faults: Fault[] = [];
    const found = (rule: RuleName, from: number): void => {
      if (command.clock < from && !faults.some((fault) => fault.rule === rule)) faults.push({ rule, command, from });
    };
    if (command.clock < this.clock) found('order', this.clock);
    const state = this.stateFault(command);
    if (state !== null) found(state, Infinity);
    this.visit(command, found);
    this.add(command);
    return faults;
  }

  /** The first clock at which the timing rules allow a command, whatever its own clock says. */
  legalFrom(command: Issued): number {
    let from = 0;
    this.visit(command, (_, clock) => {
      if (clock > from) from = clock;
    });
    return from;
  }

  /** Which rule about open rows the command breaks, or null. */
  stateFault({ kind, rank, bank, row }: Issued): RuleName | null {
    const open = this.openRow(rank, bank);
    if (kind === activate && open >= 0) return 'activate_open';
    if (isColumn(kind) && open !== row) return 'column_row';
    if (kind === refreshBank && open >= 0) return 'refresh_open';
    if (kind === refresh && this.anyOpen(rank)) return 'refresh_open';
    return null;
  }

  /** The open row of a bank, or −1. */
  openRow(rank: number, bank: number): number {
    return this.openRows[rank * BANKS + bank]!;
  }

  anyOpen(rank: number): boolean {
    return this.openRows.subarray(rank * BANKS, (rank + 1) * BANKS).some((row) => row >= 0);
  }

  /** Takes a command into the history. */
  add(command: Issued): void {
    const { clock, kind, rank, group, bank, row } = command;
    this.clock = clock;
    this.byChannel[kind]![0] = clock;
    this.byRank[kind]![rank] = clock;
    for (const { kinds, byRank } of this.windows) {
      if (!kinds.includes(kind)) continue;
      byRank[rank]!.shift();
      byRank[rank]!.push(clock);
    }
    if (kind === prechargeAll) this.openRows.fill(-1, rank * BANKS, (rank + 1) * BANKS);
    if (kind === prechargeAll || kind === refresh) return;
    this.byGroup[kind]![rank * GROUPS + group] = clock;
    this.byBank[kind]![rank * BANKS + bank] = clock;
    if (kind === activate) this.openRows[rank * BANKS + bank] = row;
    if (kind === precharge || kind === readAuto || kind === writeAuto) this.openRows[rank * BANKS + bank] = -1;
  }

  /** Tells from which clock on each rule allows the command. */
  private visit(command: Issued, tell: (rule: RuleName, from: number) => void): void {
    for (const { name, from, within, clocks } of this.gaps[command.kind]!) {
      for (const kind of from) tell(name, this.last(kind, within, command) + clocks);
    }
    for (const { name, kinds, clocks, byRank } of this.windows) {
      if (kinds.includes(command.kind)) tell(name, byRank[command.rank]![0]! + clocks);
    }
  }

  /** Clock of the last command of a kind where a rule looks for it; −Infinity for none. */
  private last(kind: number, within: Scope, { rank, group, bank }: Issued): number {
    switch (within) {
      case 'bank':
        return this.byBank[kind]![rank * BANKS + bank]!;
      case 'group':
        return this.byGroup[kind]![rank * GROUPS + group]!;
      case 'other_group':
        return latestBut(this.byGroup[kind]!, rank * GROUPS, GROUPS, group);
      case 'rank':
        return this.byRank[kind]![rank]!;
      case 'other_rank':
        return latestBut(this.byRank[kind]!, 0, RANKS, rank);
      case 'channel':
        return this.byChannel[kind]![0]!;
    }
  }
}

/** Every fault of a channel's log. */
export function faultsOf(log: Iterable<Issued>, times: RuleTimes): Fault[] {
  const checker = new LegalityChecker(times);
  const faults: Fault[] = [];
  for (const command of log) faults.push(...checker.next(command));
  return faults;
}

function isColumn(kind: number): boolean {
  return kind === read || kind === write || kind === readAuto || kind === writeAuto;
}

function lastClocks(places: number): readonly Float64Array[] {
  return Array.from({ length: KINDS }, () => new Float64Array(places).fill(-Infinity));
}

function latestBut(clocks: Float64Array, first: number, count: number, but: number): number {
  let latest = -Infinity;
  for (let i = 0; i < count; i++) if (i !== but && clocks[first + i]! > latest) latest = clocks[first + i]!;
  return latest;
}
