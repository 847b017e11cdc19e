import type { Clock } from '../../engine/clock.js';
import type { DdrSpec, DramTimingSpec } from '../../scenario/scenario.js';

/** One column access of a burst that is alone. */
export interface IdleAccess {
  readonly low: number;
  readonly high: number;
  readonly channel: number;
  /** rank × banks + bank. */
  readonly bank: number;
  readonly row: number;
  /** The access that must have gone before this one may be served; null: none. */
  readonly before: IdleAccess | null;
  cutEdge: number;
  enteredAt: number;
  /** Clock of its column command, −1 before. */
  columnAt: number;
}

interface Bank {
  row: number;
  activateAt: number;
  prechargeAt: number;
  columnAt: number;
  idleSincePs: number;
}

interface Candidate {
  readonly kind: 'column' | 'activate' | 'precharge';
  readonly bank: number;
  readonly access: IdleAccess | null;
  /** Lower goes first. */
  readonly rank: number;
}

/**
 * One channel that serves the accesses of a single burst, one decision per clock: a plain statement of the command rules
 * of one direction, with every timer expired at the start and no refresh.
 */
export class IdleDram {
  private readonly banks = new Map<number, Bank>();
  private readonly activates: { clock: number; bank: number }[] = [];
  private readonly columns: { clock: number; bank: number }[] = [];
  private busFreeAt = -Infinity;
  private readonly timing: DramTimingSpec;

  constructor(
    private readonly spec: DdrSpec,
    private readonly clock: Clock,
    private readonly write: boolean,
    private readonly accesses: readonly IdleAccess[],
    private readonly openRow: (bank: number) => number,
  ) {
    this.timing = spec.timing;
  }

  /** The decision at clock `c`. */
  step(c: number): void {
    if (c < this.busFreeAt) return;
    const now = this.clock.at(c);
    const waiting = this.accesses.filter((access) => access.columnAt < 0 && access.enteredAt <= now);
    const all = [...this.candidates(waiting, now), ...this.timeouts(waiting, now)];
    const candidates = all.filter((candidate) => this.legal(candidate, c) && !this.putsOff(candidate, all, c));
    const [first] = candidates.toSorted((a, b) => a.rank - b.rank || this.place(a) - this.place(b));
    if (first !== undefined) this.issue(first, c, waiting);
  }

  /** Order within a class: age, or the bank's number where no access is served. */
  private place({ access, bank }: Candidate): number {
    return access === null ? bank : this.accesses.indexOf(access);
  }

  private candidates(waiting: readonly IdleAccess[], now: number): Candidate[] {
    return this.spec.scheduler === 'in_order' ? this.inOrder(waiting, now) : this.outOfOrder(waiting, now);
  }

  private outOfOrder(queued: readonly IdleAccess[], now: number): Candidate[] {
    const found: Candidate[] = [];
    const waiting = queued.filter((access) => this.hasTurn(access, now));
    const oldest = waiting[0];
    const capped = oldest !== undefined && oldest.enteredAt + this.spec.capPs < now ? oldest : undefined;
    if (capped !== undefined) found.push({ ...this.next(capped), rank: 0 });
    for (const bank of new Set(waiting.map((access) => access.bank))) {
      if (bank === capped?.bank) continue;
      const own = waiting.filter((access) => access.bank === bank);
      const hit = own.find((access) => access.row === this.bank(bank).row);
      found.push(this.next(hit ?? own[0]!));
    }
    return found;
  }

  /** Has the one before it gone out, in whatever channel, at an earlier clock? */
  private hasTurn({ before }: IdleAccess, now: number): boolean {
    return before === null || (before.columnAt >= 0 && this.clock.at(before.columnAt) < now);
  }

  private inOrder(waiting: readonly IdleAccess[], now: number): Candidate[] {
    const seen = new Set<number>();
    const found: Candidate[] = [];
    for (const [place, access] of waiting.slice(0, this.spec.lookahead + 1).entries()) {
      if (seen.has(access.bank)) continue;
      seen.add(access.bank);
      const next = this.next(access);
      if (next.kind === 'column' && (place > 0 || !this.hasTurn(access, now))) continue;
      const capped = place === 0 && access.enteredAt + this.spec.capPs < now;
      found.push(capped ? { ...next, rank: 0 } : next);
    }
    return found;
  }

  /** The next command of an access. */
  private next(access: IdleAccess): Candidate {
    const { row } = this.bank(access.bank);
    const [column, activate] = this.spec.activateFirst ? [2, 1] : [1, 2];
    if (row === access.row) return { kind: 'column', bank: access.bank, access, rank: column };
    if (row === -1) return { kind: 'activate', bank: access.bank, access, rank: activate };
    return { kind: 'precharge', bank: access.bank, access, rank: 3 };
  }

  private timeouts(waiting: readonly IdleAccess[], now: number): Candidate[] {
    if (this.spec.page.policy !== 'timeout') return [];
    const idle = [...this.banks].filter(([number, bank]) => {
      const wanted = waiting.some((access) => access.bank === number && access.row === bank.row);
      return bank.row !== -1 && !wanted && bank.idleSincePs + this.spec.page.idlePs <= now;
    });
    return idle.map(([bank]) => ({ kind: 'precharge', bank, access: null, rank: 4 }));
  }

  private legal({ kind, bank: number }: Candidate, c: number): boolean {
    const bank = this.bank(number);
    if (kind === 'precharge') return c >= bank.prechargeAt;
    return kind === 'activate' ? c >= bank.activateAt && this.mayActivate(number, c) : this.mayAccess(number, c);
  }

  /** Would a command of several clocks keep one of a higher class from going as soon as it is legal? */
  private putsOff(candidate: Candidate, all: readonly Candidate[], c: number): boolean {
    const { activateClocks, columnClocks } = this.timing;
    if (candidate.kind === 'precharge') return false;
    const end = c + (candidate.kind === 'activate' ? activateClocks : columnClocks);
    return all.some((other) => other.rank < candidate.rank && !this.legal(other, c) && this.legal(other, end - 1));
  }

  private mayActivate(bank: number, c: number): boolean {
    const { nRRD_S, nRRD_L, nFAW } = this.timing;
    const own = this.activates.filter((other) => this.rankOf(other.bank) === this.rankOf(bank));
    const spaced = own.every(
      ({ clock, bank: b }) => c >= clock + (this.groupOf(b) === this.groupOf(bank) ? nRRD_L : nRRD_S),
    );
    return spaced && own.filter(({ clock }) => clock + nFAW > c).length < 4;
  }

  private mayAccess(bank: number, c: number): boolean {
    const { nCCD_S, nCCD_L, nRankGap, burstLength } = this.timing;
    const burst = burstLength / 2;
    const spaced = this.columns.every(({ clock, bank: b }) => {
      if (this.rankOf(b) !== this.rankOf(bank)) return c >= clock + burst + nRankGap;
      return c >= clock + Math.max(burst, this.groupOf(b) === this.groupOf(bank) ? nCCD_L : nCCD_S);
    });
    return spaced && c >= this.bank(bank).columnAt;
  }

  private issue({ kind, bank: number, access }: Candidate, c: number, waiting: readonly IdleAccess[]): void {
    const bank = this.bank(number);
    const t = this.timing;
    this.busFreeAt = c + 1;
    if (kind === 'precharge') {
      bank.row = -1;
      bank.activateAt = Math.max(bank.activateAt, c + t.nRP);
    } else if (kind === 'activate') {
      this.busFreeAt = c + t.activateClocks;
      this.activates.push({ clock: c, bank: number });
      bank.row = access!.row;
      bank.columnAt = c + t.nRCD;
      bank.prechargeAt = c + t.nRAS;
      bank.activateAt = c + t.nRC;
      bank.idleSincePs = Infinity;
    } else {
      this.column(bank, access!, c, waiting);
    }
  }

  private column(bank: Bank, access: IdleAccess, c: number, waiting: readonly IdleAccess[]): void {
    const t = this.timing;
    this.busFreeAt = c + t.columnClocks;
    this.columns.push({ clock: c, bank: access.bank });
    access.columnAt = c;
    const more = waiting.some((other) => other !== access && other.bank === access.bank && other.row === access.row);
    const auto = this.spec.page.policy === 'closed' && !more;
    const written = auto ? t.nWriteToAutoPrecharge : t.nWriteToPrecharge;
    bank.prechargeAt = Math.max(bank.prechargeAt, c + (this.write ? written : t.nReadToPrecharge));
    bank.idleSincePs = this.clock.at(c);
    if (!auto) return;
    bank.row = -1;
    bank.activateAt = Math.max(bank.activateAt, bank.prechargeAt + t.nRP);
  }

  private bank(number: number): Bank {
    let bank = this.banks.get(number);
    if (bank === undefined) {
      const row = this.openRow(number);
      bank = { row, activateAt: -Infinity, prechargeAt: -Infinity, columnAt: -Infinity, idleSincePs: Infinity };
      this.banks.set(number, bank);
    }
    return bank;
  }

  private rankOf(bank: number): number {
    return Math.floor(bank / this.timing.banks);
  }

  private groupOf(bank: number): number {
    return Math.floor(bank / (this.timing.banks / this.timing.bankGroups));
  }
}
