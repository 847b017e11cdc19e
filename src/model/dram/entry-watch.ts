import type { Actor } from '../../engine/calendar.js';
import type { Carrier } from '../../engine/carrier.js';
import { Phase } from '../../engine/phase.js';
import type { Context } from '../context.js';
import { WRITE } from '../bursts.js';

interface Entry {
  readonly timePs: number;
  readonly age: number;
  readonly master: number;
  readonly write: boolean;
  readonly address: number;
  readonly bytes: number;
}

/**
 * Tells whoever looks for stale accesses of each burst when it enters. Only needed where caches hold lines of this memory:
 * nothing else depends on the instant. A burst is copied, since its slot may be free by then.
 */
export class EntryWatch implements Actor {
  private readonly entries: Entry[] = [];
  private readonly carrier: Carrier;
  /** Can anything be found in this memory? Asked once, at the first burst. */
  private needed: boolean | null = null;

  constructor(
    private readonly context: Context,
    private readonly memory: string,
  ) {
    this.carrier = context.calendar.carrier(this, 0, Phase.arrive);
  }

  /** A burst enters at its `enteredAt`; `age` decides between those of one instant. */
  add(slot: number, age: number): void {
    const { bursts, stale } = this.context;
    if (stale === null) return;
    this.needed ??= stale.watches(this.memory);
    if (!this.needed) return;
    const { number, master, op, address, bytes, enteredAt } = bursts;
    // fills and write-backs, numbered below zero, are the caches' own
    if (number[slot]! < 0) return;
    const write = op[slot] === WRITE;
    const timePs = enteredAt[slot]!;
    this.entries.push({ timePs, age, master: master[slot]!, write, address: address[slot]!, bytes: bytes[slot]! });
    this.entries.sort((a, b) => a.timePs - b.timePs || a.age - b.age);
    this.context.calendar.armBy(this.carrier, timePs);
  }

  wake(): void {
    const { entries, context } = this;
    while (entries.length > 0 && entries[0]!.timePs <= context.calendar.now) {
      const { master, write, address, bytes } = entries.shift()!;
      context.stale?.observe(master, write, this.memory, address, bytes);
    }
    if (entries.length > 0) context.calendar.armBy(this.carrier, entries[0]!.timePs);
  }
}
