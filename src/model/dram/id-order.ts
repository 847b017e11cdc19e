import type { Actor } from '../../engine/calendar.js';
import type { Carrier } from '../../engine/carrier.js';
import type { Clock } from '../../engine/clock.js';
import { Phase } from '../../engine/phase.js';
import type { Context } from '../context.js';
import type { Access } from './access.js';
import type { Channel } from './channel.js';

const PER_CHANNEL = 2 ** 20;
const PER_ID = 2 ** 31;

/**
 * Serves the accesses of one master, direction and ID in the order in which they entered (`same_id_order: memory`): one
 * is hidden from its channel's scheduler until the one before it has gone, and may go from the next DRAM clock on.
 */
export class IdOrder implements Actor {
  private readonly masters = new Set<number>();
  /** By master, direction and ID: the access that entered last, while it waits, as channel × PER_CHANNEL + access. */
  private readonly tails = new Map<number, number>();
  private readonly waking: number[] = [];
  private readonly carrier: Carrier;

  constructor(
    private readonly context: Context,
    private readonly channels: readonly Channel[],
    private readonly clock: Clock,
  ) {
    this.carrier = context.calendar.carrier(this, 0, Phase.arrive);
  }

  add(master: number): void {
    this.masters.add(master);
  }

  /** An access is about to enter its channel. */
  entering(channel: Channel, access: Access): void {
    if (this.masters.size === 0) return;
    const { bursts } = this.context;
    const slot = access.burst;
    access.stream = -1;
    // fills and write-backs, numbered below zero, are the caches' own and have no AXI ID
    if (!this.masters.has(bursts.master[slot]!) || bursts.number[slot]! < 0) return;
    const stream = (bursts.master[slot]! * 2 + access.direction) * PER_ID + bursts.id[slot]!;
    const code = channel.number * PER_CHANNEL + access.number;
    const before = this.tails.get(stream);
    if (before !== undefined) {
      this.channels[Math.floor(before / PER_CHANNEL)]!.queue.all[before % PER_CHANNEL]!.after = code;
      access.waits++;
    }
    access.stream = stream;
    this.tails.set(stream, code);
  }

  /** An access has gone, at `clock` of the DRAM. */
  passed(channel: Channel, access: Access, clock: number): void {
    if (this.masters.size === 0) return;
    const { stream } = access;
    if (stream < 0) return;
    if (this.tails.get(stream) === channel.number * PER_CHANNEL + access.number) this.tails.delete(stream);
    if (access.after < 0) return;
    this.waking.push(access.after, this.clock.at(clock + 1));
    this.context.calendar.armBy(this.carrier, this.clock.at(clock + 1));
  }

  wake(): void {
    const { waking } = this;
    const { calendar } = this.context;
    let kept = 0;
    let next = Infinity;
    for (let i = 0; i < waking.length; i += 2) {
      const [code, at] = [waking[i]!, waking[i + 1]!];
      if (at <= calendar.now) {
        const channel = this.channels[Math.floor(code / PER_CHANNEL)]!;
        channel.unhide(channel.queue.all[code % PER_CHANNEL]!);
        continue;
      }
      waking[kept++] = code;
      waking[kept++] = at;
      next = Math.min(next, at);
    }
    waking.length = kept;
    if (next < Infinity) calendar.armBy(this.carrier, next);
  }
}
