import type { Access } from './access.js';
import type { Bank } from './bank.js';
import { Command } from './command.js';

/**
 * Candidates of one plan where commands take several clocks (LPDDR4). The order of classes then means: a command does not
 * start if one of a higher class becomes legal before it would end.
 */
export class SlowCommands {
  count = 0;
  readonly at: Float64Array;
  readonly rank: Int32Array;
  readonly kind: Int32Array;
  readonly bank: Bank[] = [];
  readonly access: (Access | null)[] = [];

  constructor(
    capacity: number,
    private readonly activateClocks: number,
    private readonly columnClocks: number,
  ) {
    this.at = new Float64Array(capacity);
    this.rank = new Int32Array(capacity);
    this.kind = new Int32Array(capacity);
  }

  add(at: number, rank: number, kind: number, bank: Bank, access: Access | null): void {
    const i = this.count++;
    this.at[i] = at;
    this.rank[i] = rank;
    this.kind[i] = kind;
    this.bank[i] = bank;
    this.access[i] = access;
  }

  /** The next clock after `clock` at which a candidate becomes legal, or Infinity. */
  next(clock: number): number {
    let next = Infinity;
    for (let i = 0; i < this.count; i++) if (this.at[i]! > clock && this.at[i]! < next) next = this.at[i]!;
    return next;
  }

  /** Is the candidate legal at `clock`, and would it put off none of a higher class? */
  mayStart(candidate: number, clock: number): boolean {
    if (this.at[candidate]! > clock) return false;
    const end = clock + this.clocksOf(this.kind[candidate]!);
    for (let i = 0; i < this.count; i++) {
      if (this.rank[i]! < this.rank[candidate]! && this.at[i]! > clock && this.at[i]! < end) return false;
    }
    return true;
  }

  private clocksOf(kind: number): number {
    if (kind === Command.activate) return this.activateClocks;
    return kind === Command.read || kind === Command.write ? this.columnClocks : 1;
  }
}
