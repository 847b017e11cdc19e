import type { Clock } from '../../engine/clock.js';
import type { DdrSpec, DramTimingSpec } from '../../scenario/scenario.js';
import type { AccessQueue } from './access-queue.js';
import type { Bank } from './bank.js';
import type { BankState } from './bank-state.js';

/** The standards let no rank wait longer than nine tREFI for a refresh: eight may be put off. */
const MOST_POSTPONED = 8;

/**
 * When the ranks of a channel must be refreshed. A refresh falls due at phase + m × tREFI (per bank: that divided by the
 * banks, in turn). One owed is carried out at once while nothing is queued for what it closes; otherwise up to `postpone`
 * of them (per bank: that many rounds) may be put off. Beyond that it is a duty that nothing can pass: all-bank, until
 * none is owed; per bank, until no more are owed than may be. Where all that the standards allow have been put off, the
 * duty begins so early that the rows are closed by then.
 */
export class Refresh {
  readonly off: boolean;
  readonly perBank: boolean;
  /** By bank: no new activate or column command, since a refresh is being carried out. */
  readonly blocked: Uint8Array;
  /** By rank: is there a refresh to carry out now? */
  readonly duty: Uint8Array;
  /** Ranks that have a duty. */
  duties = 0;
  /** By rank: since which clock it has held back others. */
  readonly dutySince: Float64Array;
  /** By rank: refreshes owed. */
  readonly owed: Int32Array;
  /** As the only element: before this clock nothing falls due, and nothing is owed. */
  private readonly quietUntil = new Float64Array(1);
  private readonly forced: Uint8Array;
  private readonly dueAt: Float64Array;
  private readonly dueNumber: Float64Array;
  private readonly turn: Int32Array;
  private readonly intervalPs: number;
  private readonly limit: number;
  /** So many clocks before a refresh more than `limit` falls due, it is a duty already. */
  private readonly leadClocks: number;

  /** @param phasesPs by rank, when the first refresh is due */
  constructor(
    spec: DdrSpec,
    private readonly clock: Clock,
    private readonly state: BankState,
    private readonly queue: AccessQueue,
    private readonly phasesPs: readonly number[],
  ) {
    const { mode, postpone } = spec.refresh;
    const { ranks, banks, banksPerRank } = state;
    this.off = mode === 'off';
    this.perBank = mode === 'per_bank';
    this.intervalPs = spec.timing.tREFIps / (this.perBank ? banksPerRank : 1);
    this.limit = this.perBank ? postpone * banksPerRank : postpone;
    this.leadClocks = postpone < MOST_POSTPONED ? 0 : closingClocks(spec.timing, this.perBank, ranks);
    this.blocked = new Uint8Array(banks.length);
    this.duty = new Uint8Array(ranks);
    this.dutySince = new Float64Array(ranks);
    this.owed = new Int32Array(ranks);
    this.forced = new Uint8Array(ranks);
    this.dueNumber = new Float64Array(ranks);
    this.turn = new Int32Array(ranks);
    this.dueAt = new Float64Array(ranks).fill(Infinity);
    if (!this.off) for (let rank = 0; rank < ranks; rank++) this.setDue(rank);
  }

  /** Judges at `clock` what is due and what must be done. */
  update(clock: number): void {
    if (clock < this.quietUntil[0]!) return;
    const owes = this.judge(clock);
    this.quietUntil[0] = 0;
    if (!owes) this.quietUntil[0] = this.nextDue();
  }

  /** Answers whether any is owed afterwards. */
  private judge(clock: number): boolean {
    let owed = 0;
    for (let rank = 0; rank < this.state.ranks; rank++) {
      while (this.dueAt[rank]! <= clock) {
        this.owed[rank]!++;
        this.dueNumber[rank]!++;
        this.setDue(rank);
      }
      if (this.owed[rank]! > this.limit || this.forcedAt(rank) <= clock) this.forced[rank] = 1;
      const idle = this.perBank ? this.nextBank(rank).idle : this.queue.queuedInRank[rank] === 0;
      owed += this.owed[rank]!;
      const duty = this.forced[rank] === 1 || (this.owed[rank]! > 0 && idle) ? 1 : 0;
      if (duty === this.duty[rank]) continue;
      this.duty[rank] = duty;
      this.duties += duty === 1 ? 1 : -1;
      // what the refresh before holds back already is not counted twice
      if (duty === 1 && clock > this.dutySince[rank]!) this.dutySince[rank] = clock;
      this.mark(rank, duty);
    }
    return owed > 0;
  }

  /** The next clock at which something falls due. */
  nextDue(): number {
    if (this.off) return Infinity;
    if (this.quietUntil[0]! > 0) return this.quietUntil[0]!;
    let next = Infinity;
    for (let rank = 0; rank < this.dueAt.length; rank++) {
      const at = this.forced[rank] === 1 ? this.dueAt[rank]! : this.forcedAt(rank);
      if (at < next) next = at;
    }
    return next;
  }

  /** When something will be due, or, with all put off that may be, a duty ahead of that. */
  private forcedAt(rank: number): number {
    return this.owed[rank] === this.limit ? this.dueAt[rank]! - this.leadClocks : this.dueAt[rank]!;
  }

  /** The bank that a per-bank refresh of the rank takes next. */
  nextBank(rank: number): Bank {
    return this.state.banksOf(rank)[this.turn[rank]!]!;
  }

  /** A refresh has been issued; what it held back is free from `until` on. */
  done(rank: number, until: number): void {
    this.mark(rank, 0);
    this.duty[rank] = 0;
    this.duties--;
    this.dutySince[rank] = until;
    if (this.perBank) this.turn[rank] = (this.turn[rank]! + 1) % this.state.banksPerRank;
    if (--this.owed[rank]! <= (this.perBank ? this.limit : 0)) this.forced[rank] = 0;
  }

  private setDue(rank: number): void {
    const duePs = this.phasesPs[rank]! + Math.round(this.dueNumber[rank]! * this.intervalPs);
    this.dueAt[rank] = this.clock.indexFrom(duePs);
  }

  private mark(rank: number, value: number): void {
    if (this.perBank) {
      this.blocked[this.nextBank(rank).index] = value;
      return;
    }
    const first = rank * this.state.banksPerRank;
    this.blocked.fill(value, first, first + this.state.banksPerRank);
  }
}

/** The longest that closing rows, and the commands before, can put a refresh off. */
function closingClocks(t: DramTimingSpec, perBank: boolean, ranks: number): number {
  const open = Math.max(t.nRAS, t.nReadToPrecharge, t.nWriteToPrecharge, t.nWriteToAutoPrecharge);
  const commands = Math.max(t.activateClocks, t.columnClocks) + ranks;
  // a refresh of one bank waits for others as an activate does
  return open + commands + (perBank ? t.nRP + t.nFAW + t.nRFCpb : t.nRPab);
}
