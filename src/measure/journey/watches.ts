// Hot path: once per burst. Numbers only.
import { halvings, mixed } from './mixed.js';

/** Bursts of all paths together until the share of time that is watched begins to halve, and the slots of the time they took. */
const WHOLE = 2048;
const SLOTS = 16;
/** Bursts of each path that are watched whenever they come. */
const OF_EACH_PATH = 128;

/**
 * Which bursts are watched: followed step by step to tell where their time went, and charged to whoever caused their waiting.
 * The steps of one cost half as much as all else about it; to charge it is a walk through the logs of all places that it came
 * by, and all others must leave notes there while it is under way. So bursts are watched in spells, all paths at once: the
 * first ones whole, and then of equal slots of time a share that halves after one, three, seven ... times as long; each burst
 * stands for as many as the share says. Which slot of so many is watched is drawn, so that it falls in step with no pattern.
 * A path's first bursts are watched whenever they come, so that one of few bursts is told whole.
 */
export class Watches {
  /** When the first burst that counts was offered, and until when all are watched; then slots of so many ps follow. */
  private beganPs = -0.5;
  private wholeUntilPs = Infinity;
  private slotPs = 0.5;
  private offered = 0;
  /** The spell from `fromPs` up to `untilPs`, in which each burst stands for so many, 0 where it is not watched. */
  private fromPs = -0.5;
  private untilPs = -0.5;
  private standsFor = 0;

  /** @param replication whose slots are to be its own */
  constructor(private readonly replication: number) {}

  /** A burst that counts is offered at `nowPs`; instants never fall. */
  offer(nowPs: number): void {
    if (this.wholeUntilPs < Infinity) return;
    if (this.offered === 0) this.beganPs = nowPs;
    if (++this.offered < WHOLE) return;
    this.wholeUntilPs = nowPs;
    this.slotPs = Math.max(1, Math.ceil((nowPs - this.beganPs) / SLOTS));
  }

  /** For how many bursts one stands that counts, has so many of its path before it, and is under way from `nowPs` on; 0 for none. */
  weightOf(before: number, nowPs: number): number {
    if (before < OF_EACH_PATH || nowPs <= this.wholeUntilPs) return 1;
    if (nowPs < this.fromPs || nowPs >= this.untilPs) this.look(nowPs);
    return this.standsFor;
  }

  /** Finds the slot of an instant at which not all is watched any more. */
  private look(nowPs: number): void {
    const { wholeUntilPs, slotPs } = this;
    const slot = Math.floor((nowPs - wholeUntilPs - 1) / slotPs);
    const halved = halvings(1 + Math.floor(slot / SLOTS));
    // of the slots with this share, which are as many times 16 as there are in a group, one of each group is watched
    const since = slot - SLOTS * ((1 << halved) - 2);
    const drawn = mixed(this.replication, (slot - since) * SLOTS + (since >> halved)) >>> (32 - halved);
    this.fromPs = wholeUntilPs + 1 + slot * slotPs;
    this.untilPs = this.fromPs + slotPs;
    this.standsFor = (since & ((1 << halved) - 1)) === drawn ? 1 << halved : 0;
  }
}
