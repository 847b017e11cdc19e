/** What a queue of accesses must answer, found anew by a search at every question. */
import type { Access } from '../../../src/model/dram/access.js';
import type { Bank } from '../../../src/model/dram/bank.js';
import { Shared } from '../../../src/model/dram/bank-state.js';

/** A write that is needed goes before one of any QoS value. */
const BEFORE_ALL_QOS = 16;

/** The accesses in a queue, in no order, with what was done to each. */
export class SearchedQueue {
  readonly inside = new Set<Access>();
  readonly hidden = new Map<Access, number>();
  readonly needed = new Set<Access>();

  visible(access: Access): boolean {
    return (this.hidden.get(access) ?? 0) === 0;
  }

  /** Most urgent first, then oldest. */
  list(bank: Bank, direction: number): Access[] {
    const urgency = (access: Access): number => access.qos + (this.needed.has(access) ? BEFORE_ALL_QOS : 0);
    return this.of(direction)
      .filter((access) => access.bank === bank)
      .sort((a, b) => urgency(b) - urgency(a) || a.age - b.age);
  }

  /** Oldest first. */
  of(direction: number): Access[] {
    return [...this.inside].filter((access) => access.direction === direction).sort((a, b) => a.age - b.age);
  }

  inRank(rank: number): number {
    return [...this.inside].filter((access) => access.bank.rank === rank).length;
  }

  /** The command that a list wants next, from when on its bank allows it, and for which access; null: none. */
  wanted(bank: Bank, direction: number): { kind: number; from: number; access: number } | null {
    const served = this.list(bank, direction).filter((access) => this.visible(access));
    const [best] = served;
    if (best === undefined) return null;
    if (bank.openRow < 0) return { kind: Shared.activate, from: bank.activateAt, access: best.number };
    const hit = served.find((access) => access.row === bank.openRow);
    if (hit !== undefined) return { kind: direction, from: bank.columnAt, access: hit.number };
    return { kind: Shared.precharge, from: bank.prechargeAt, access: best.number };
  }
}
