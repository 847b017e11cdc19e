// Hot path: read for every candidate command and written for every command. Clocks are those of the DRAM, in records and
// typed arrays; nothing is allocated, and no time in ps passes through here.
import type { DramTimingSpec } from '../../scenario/scenario.js';
import { Bank, LONG_AGO } from './bank.js';

/** Refreshes of a rank that `refreshBurstClocks` may hold. */
const BURST_REFRESHES = 8;

/** Which way a column access moves data. */
export const Direction = { read: 0, write: 1 } as const;

/** Rows of `BankState.shared`: what a command has in common with others of its kind; the columns come by direction. */
export const Shared = { read: 0, write: 1, activate: 2, precharge: 3 } as const;

const { read: READ, write: WRITE } = Direction;
const { activate: ACTIVATE } = Shared;

/**
 * The timing state of one channel's banks and ranks: from which clock on each command is legal. A bank is numbered
 * rank × banks per rank + bank within the rank. Rules are those of JEDEC's command tables, command start to command
 * start; their values come with the timing.
 */
export class BankState {
  readonly banks: readonly Bank[];
  readonly banksPerRank: number;
  /**
   * By kind (`Shared`) × groups + group: the earliest command as far as other banks are concerned (tRRD, tFAW, tCCD,
   * turnaround, the data bus). A precharge has nothing in common with others.
   */
  readonly shared: Float64Array;
  readonly groups: number;
  /** By rank: earliest per-bank refresh after the one before. */
  readonly refreshBankAt: Float64Array;
  /** By rank: open banks. */
  readonly openCount: Int32Array;
  /** Clocks that one access occupies the data bus. */
  readonly burst: number;
  /** Clocks between two column commands of any banks, at the least. */
  readonly spacing: number;
  /** From a column command to its first data. */
  readonly readDelay: number;
  readonly writeDelay: number;

  /** Bank groups of one rank. */
  readonly groupsPerRank: number;
  private readonly byRank: readonly (readonly Bank[])[];
  /** The last four activates of each rank, oldest next. */
  private readonly recent: Float64Array;
  private readonly recentNext: Int32Array;
  /** The last refreshes of each rank, as many as may follow one another, oldest next. */
  private readonly refreshes: Float64Array;
  private readonly refreshNext: Int32Array;

  constructor(
    private readonly timing: DramTimingSpec,
    readonly ranks: number,
  ) {
    const { banks, bankGroups } = timing;
    this.banksPerRank = banks;
    this.groups = ranks * bankGroups;
    this.groupsPerRank = bankGroups;
    const perGroup = banks / bankGroups;
    this.banks = Array.from(
      { length: ranks * banks },
      (_, b) => new Bank(b, Math.floor(b / banks), Math.floor(b / perGroup)),
    );
    this.byRank = Array.from({ length: ranks }, (_, rank) => this.banks.slice(rank * banks, (rank + 1) * banks));
    this.shared = clocks(4 * this.groups);
    this.refreshBankAt = clocks(ranks);
    this.openCount = new Int32Array(ranks);
    this.recent = clocks(4 * ranks);
    this.recentNext = new Int32Array(ranks);
    this.refreshes = clocks(BURST_REFRESHES * ranks);
    this.refreshNext = new Int32Array(ranks);
    this.burst = timing.burstLength / 2;
    this.readDelay = timing.nCL + timing.nDQSCK;
    // LPDDR writes start tDQSS, up to a clock, after CWL
    this.writeDelay = timing.nCWL + (timing.standard.startsWith('LPDDR') ? 1 : 0);
    const toWrite = this.readDelay + this.burst - this.writeDelay;
    const toRead = this.writeDelay + this.burst - this.readDelay;
    const otherRank = timing.nRankGap + Math.min(this.burst, toWrite, toRead);
    const same = Math.max(timing.nCCD_S, this.burst);
    const turned = Math.min(Math.max(timing.nReadToWrite, toWrite), timing.nWriteToRead_S);
    this.spacing = Math.min(same, turned, ranks > 1 ? otherRank : same);
  }

  /** Earliest legal activate of a closed bank. */
  activateFrom(bank: Bank): number {
    return this.later(bank.activateAt, ACTIVATE, bank);
  }

  /** Earliest legal read or write of an open bank. */
  columnFrom(bank: Bank, direction: number): number {
    return this.later(bank.columnAt, direction, bank);
  }

  /** Earliest legal precharge-all of a rank: every bank meets its own precharge rules. */
  prechargeAllFrom(rank: number): number {
    let latest = LONG_AGO;
    for (const bank of this.banksOf(rank)) if (bank.prechargeAt > latest) latest = bank.prechargeAt;
    return latest;
  }

  /** Earliest legal refresh of a rank all of whose banks are closed. */
  refreshFrom(rank: number): number {
    const oldest = this.refreshes[BURST_REFRESHES * rank + this.refreshNext[rank]!]!;
    let latest = oldest + this.timing.refreshBurstClocks;
    for (const bank of this.banksOf(rank)) if (bank.activateAt > latest) latest = bank.activateAt;
    return latest;
  }

  /** Earliest legal refresh of one closed bank; tRRD and tFAW count it as an activate. */
  refreshBankFrom(bank: Bank): number {
    const again = this.refreshBankAt[bank.rank]!;
    const activate = this.activateFrom(bank);
    return again > activate ? again : activate;
  }

  /** The banks of a rank, in order. */
  banksOf(rank: number): readonly Bank[] {
    return this.byRank[rank]!;
  }

  activate(bank: Bank, row: number, clock: number): void {
    const t = this.timing;
    bank.openRow = row;
    this.openCount[bank.rank]!++;
    bank.columnAt = clock + t.nRCD;
    bank.prechargeAt = clock + t.nRAS;
    bank.activateAt = clock + t.nRC;
    this.countActivate(bank, clock);
  }

  read(bank: Bank, clock: number, auto: boolean): void {
    const t = this.timing;
    const gap = t.nRankGap;
    const turn = this.readDelay + this.burst - this.writeDelay;
    const same = Math.max(t.nCCD_S, this.burst);
    this.spread(READ, bank, clock + same, clock + this.burst + gap);
    this.spread(WRITE, bank, clock + Math.max(t.nReadToWrite, turn), clock + turn + gap);
    raise(this.shared, bank.group, clock + Math.max(t.nCCD_L, this.burst));
    this.afterColumn(bank, clock + t.nReadToPrecharge, auto);
  }

  write(bank: Bank, clock: number, auto: boolean): void {
    const t = this.timing;
    const gap = t.nRankGap;
    const turn = this.writeDelay + this.burst - this.readDelay;
    const same = Math.max(t.nCCD_S, this.burst);
    this.spread(WRITE, bank, clock + same, clock + this.burst + gap);
    this.spread(READ, bank, clock + t.nWriteToRead_S, clock + turn + gap);
    raise(this.shared, this.groups + bank.group, clock + Math.max(t.nCCD_L, this.burst));
    raise(this.shared, bank.group, clock + t.nWriteToRead_L);
    this.afterColumn(bank, clock + (auto ? t.nWriteToAutoPrecharge : t.nWriteToPrecharge), auto);
  }

  precharge(bank: Bank, clock: number): void {
    this.close(bank);
    raiseActivate(bank, clock + this.timing.nRP);
  }

  prechargeAll(rank: number, clock: number): void {
    for (const bank of this.banksOf(rank)) {
      this.close(bank);
      raiseActivate(bank, clock + this.timing.nRPab);
    }
  }

  refresh(rank: number, clock: number): void {
    const next = this.refreshNext[rank]!;
    this.refreshes[BURST_REFRESHES * rank + next] = clock;
    this.refreshNext[rank] = (next + 1) % BURST_REFRESHES;
    for (const bank of this.banksOf(rank)) raiseActivate(bank, clock + this.timing.nRFC);
  }

  refreshBank(bank: Bank, clock: number): void {
    raiseActivate(bank, clock + this.timing.nRFCpb);
    this.refreshBankAt[bank.rank] = clock + this.timing.nRFCpb;
    this.countActivate(bank, clock);
  }

  private countActivate(bank: Bank, clock: number): void {
    const t = this.timing;
    const { rank } = bank;
    const next = this.recentNext[rank]!;
    this.recent[4 * rank + next] = clock;
    const oldest = (next + 1) & 3;
    this.recentNext[rank] = oldest;
    const four = this.recent[4 * rank + oldest]! + t.nFAW;
    const spaced = clock + t.nRRD_S;
    const first = ACTIVATE * this.groups + rank * this.groupsPerRank;
    for (let i = first; i < first + this.groupsPerRank; i++) raise(this.shared, i, four > spaced ? four : spaced);
    raise(this.shared, ACTIVATE * this.groups + bank.group, clock + t.nRRD_L);
  }

  /** A column command puts off those of one direction: in its own rank to `own`, in others to `other`. */
  private spread(direction: number, bank: Bank, own: number, other: number): void {
    if (this.groups === 1) {
      raise(this.shared, direction, own);
      return;
    }
    const first = bank.rank * this.groupsPerRank;
    const row = direction * this.groups;
    for (let group = 0; group < this.groups; group++) {
      const mine = group >= first && group < first + this.groupsPerRank;
      raise(this.shared, row + group, mine ? own : other);
    }
  }

  /** Auto-precharge happens inside the device as soon as tRAS and the recovery allow. */
  private afterColumn(bank: Bank, prechargeAt: number, auto: boolean): void {
    if (bank.prechargeAt < prechargeAt) bank.prechargeAt = prechargeAt;
    if (!auto) return;
    this.close(bank);
    raiseActivate(bank, bank.prechargeAt + this.timing.nRP);
  }

  private close(bank: Bank): void {
    if (bank.openRow < 0) return;
    bank.openRow = -1;
    this.openCount[bank.rank]!--;
  }

  private later(own: number, kind: number, bank: Bank): number {
    const shared = this.shared[kind * this.groups + bank.group]!;
    return own > shared ? own : shared;
  }
}

function clocks(count: number): Float64Array {
  return new Float64Array(count).fill(LONG_AGO);
}

function raise(at: Float64Array, index: number, clock: number): void {
  if (at[index]! < clock) at[index] = clock;
}

function raiseActivate(bank: Bank, clock: number): void {
  if (bank.activateAt < clock) bank.activateAt = clock;
}
