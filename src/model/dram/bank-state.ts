// Hot path: read for every candidate command and written for every command. Flat typed arrays of DRAM clocks; nothing is
// allocated, and no time in ps passes through here.
import type { DramTimingSpec } from '../../scenario/scenario.js';

/** Before the first command, every timer has long expired. */
const LONG_AGO = -1e9;

/** Refreshes of a rank that `refreshBurstClocks` may hold. */
const BURST_REFRESHES = 8;

/** Which way a column access moves data. */
export const Direction = { read: 0, write: 1 } as const;

/** Rows of `BankState.shared`: what a command has in common with others of its kind; the columns come by direction. */
export const Shared = { read: 0, write: 1, activate: 2, precharge: 3 } as const;

/**
 * The timing state of one channel's banks and ranks: from which clock on each command is legal. A bank is numbered
 * rank × banks per rank + bank within the rank. Rules are those of JEDEC's command tables, command start to command
 * start; their values come with the timing.
 */
export class BankState {
  readonly banks: number;
  readonly banksPerRank: number;
  /** By bank: the open row, or −1. */
  readonly openRow: Int32Array;
  /** By bank: earliest activate (tRP, tRPab, tRC, tRFC), precharge (tRAS, tRTP, tWR), column command (tRCD). */
  readonly activateAt: Float64Array;
  readonly prechargeAt: Float64Array;
  readonly columnAt: Float64Array;
  readonly rankOf: Int32Array;
  /** By bank: rank × groups + bank group. */
  readonly groupOf: Int32Array;
  /**
   * By kind (`Shared`) × groups + group: the earliest command as far as other banks are concerned (tRRD, tFAW, tCCD,
   * turnaround, the data bus). A precharge has nothing in common with others.
   */
  readonly shared: Float64Array;
  readonly groups: number;
  /** By rank: earliest per-bank refresh after the one before. */
  readonly refreshBankAt: Float64Array;
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
    this.banks = ranks * banks;
    this.groups = ranks * bankGroups;
    this.groupsPerRank = bankGroups;
    this.openRow = new Int32Array(this.banks).fill(-1);
    this.activateAt = clocks(this.banks);
    this.prechargeAt = clocks(this.banks);
    this.columnAt = clocks(this.banks);
    this.rankOf = Int32Array.from({ length: this.banks }, (_, b) => Math.floor(b / banks));
    this.groupOf = Int32Array.from({ length: this.banks }, (_, b) => Math.floor(b / (banks / bankGroups)));
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
  activateFrom(bank: number): number {
    return this.later(this.activateAt[bank]!, Shared.activate, bank);
  }

  /** Earliest legal read or write of an open bank. */
  columnFrom(bank: number, direction: number): number {
    return this.later(this.columnAt[bank]!, direction, bank);
  }

  /** Earliest legal precharge-all of a rank: every bank meets its own precharge rules. */
  prechargeAllFrom(rank: number): number {
    return this.latest(this.prechargeAt, rank);
  }

  /** Earliest legal refresh of a rank all of whose banks are closed. */
  refreshFrom(rank: number): number {
    const oldest = this.refreshes[BURST_REFRESHES * rank + this.refreshNext[rank]!]!;
    const burst = oldest + this.timing.refreshBurstClocks;
    const closed = this.latest(this.activateAt, rank);
    return burst > closed ? burst : closed;
  }

  /** Earliest legal refresh of one closed bank; tRRD and tFAW count it as an activate. */
  refreshBankFrom(bank: number): number {
    const again = this.refreshBankAt[this.rankOf[bank]!]!;
    const activate = this.activateFrom(bank);
    return again > activate ? again : activate;
  }

  activate(bank: number, row: number, clock: number): void {
    const t = this.timing;
    this.openRow[bank] = row;
    this.openCount[this.rankOf[bank]!]!++;
    this.columnAt[bank] = clock + t.nRCD;
    this.prechargeAt[bank] = clock + t.nRAS;
    this.activateAt[bank] = clock + t.nRC;
    this.countActivate(bank, clock);
  }

  read(bank: number, clock: number, auto: boolean): void {
    const t = this.timing;
    const gap = t.nRankGap;
    const turn = this.readDelay + this.burst - this.writeDelay;
    const same = Math.max(t.nCCD_S, this.burst);
    this.spread(Direction.read, bank, clock + same, clock + this.burst + gap);
    this.spread(Direction.write, bank, clock + Math.max(t.nReadToWrite, turn), clock + turn + gap);
    raise(this.shared, this.groupOf[bank]!, clock + Math.max(t.nCCD_L, this.burst));
    this.afterColumn(bank, clock + t.nReadToPrecharge, auto);
  }

  write(bank: number, clock: number, auto: boolean): void {
    const t = this.timing;
    const gap = t.nRankGap;
    const turn = this.writeDelay + this.burst - this.readDelay;
    const same = Math.max(t.nCCD_S, this.burst);
    this.spread(Direction.write, bank, clock + same, clock + this.burst + gap);
    this.spread(Direction.read, bank, clock + t.nWriteToRead_S, clock + turn + gap);
    raise(this.shared, this.groups + this.groupOf[bank]!, clock + Math.max(t.nCCD_L, this.burst));
    raise(this.shared, this.groupOf[bank]!, clock + t.nWriteToRead_L);
    this.afterColumn(bank, clock + (auto ? t.nWriteToAutoPrecharge : t.nWriteToPrecharge), auto);
  }

  precharge(bank: number, clock: number): void {
    this.close(bank);
    raise(this.activateAt, bank, clock + this.timing.nRP);
  }

  prechargeAll(rank: number, clock: number): void {
    const first = rank * this.banksPerRank;
    for (let bank = first; bank < first + this.banksPerRank; bank++) {
      this.close(bank);
      raise(this.activateAt, bank, clock + this.timing.nRPab);
    }
  }

  refresh(rank: number, clock: number): void {
    const next = this.refreshNext[rank]!;
    this.refreshes[BURST_REFRESHES * rank + next] = clock;
    this.refreshNext[rank] = (next + 1) % BURST_REFRESHES;
    const first = rank * this.banksPerRank;
    for (let bank = first; bank < first + this.banksPerRank; bank++) {
      raise(this.activateAt, bank, clock + this.timing.nRFC);
    }
  }

  refreshBank(bank: number, clock: number): void {
    raise(this.activateAt, bank, clock + this.timing.nRFCpb);
    this.refreshBankAt[this.rankOf[bank]!] = clock + this.timing.nRFCpb;
    this.countActivate(bank, clock);
  }

  private countActivate(bank: number, clock: number): void {
    const t = this.timing;
    const rank = this.rankOf[bank]!;
    const next = this.recentNext[rank]!;
    this.recent[4 * rank + next] = clock;
    const oldest = (next + 1) & 3;
    this.recentNext[rank] = oldest;
    const four = this.recent[4 * rank + oldest]! + t.nFAW;
    const spaced = clock + t.nRRD_S;
    const first = Shared.activate * this.groups + rank * this.groupsPerRank;
    for (let i = first; i < first + this.groupsPerRank; i++) raise(this.shared, i, four > spaced ? four : spaced);
    raise(this.shared, Shared.activate * this.groups + this.groupOf[bank]!, clock + t.nRRD_L);
  }

  /** A column command puts off those of one direction: in its own rank to `own`, in others to `other`. */
  private spread(direction: number, bank: number, own: number, other: number): void {
    const first = this.rankOf[bank]! * this.groupsPerRank;
    const row = direction * this.groups;
    for (let group = 0; group < this.groups; group++) {
      const mine = group >= first && group < first + this.groupsPerRank;
      raise(this.shared, row + group, mine ? own : other);
    }
  }

  /** Auto-precharge happens inside the device as soon as tRAS and the recovery allow. */
  private afterColumn(bank: number, prechargeAt: number, auto: boolean): void {
    raise(this.prechargeAt, bank, prechargeAt);
    if (!auto) return;
    this.close(bank);
    raise(this.activateAt, bank, this.prechargeAt[bank]! + this.timing.nRP);
  }

  private close(bank: number): void {
    if (this.openRow[bank]! < 0) return;
    this.openRow[bank] = -1;
    this.openCount[this.rankOf[bank]!]!--;
  }

  private later(own: number, kind: number, bank: number): number {
    const shared = this.shared[kind * this.groups + this.groupOf[bank]!]!;
    return own > shared ? own : shared;
  }

  private latest(at: Float64Array, rank: number): number {
    const first = rank * this.banksPerRank;
    let latest = LONG_AGO;
    for (let bank = first; bank < first + this.banksPerRank; bank++) if (at[bank]! > latest) latest = at[bank]!;
    return latest;
  }
}

function clocks(count: number): Float64Array {
  return new Float64Array(count).fill(LONG_AGO);
}

function raise(at: Float64Array, index: number, clock: number): void {
  if (at[index]! < clock) at[index] = clock;
}
