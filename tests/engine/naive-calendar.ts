import type { Actor } from '../../src/engine/calendar.js';

interface Pending {
  readonly at: number;
  readonly order: number;
}

/** What `Calendar` means, without its speed: a list that is searched for the first of it. */
export class NaiveCalendar {
  now = 0;
  handled = 0;
  private readonly carriers: { actor: Actor; tag: number; phase: number }[] = [];
  private readonly pending = new Map<number, Pending>();
  private sequence = 0;
  private stopped = false;

  constructor(private readonly shuffle: (() => number) | null = null) {}

  carrier(actor: Actor, tag: number, phase: number): number {
    return this.carriers.push({ actor, tag, phase }) - 1;
  }

  arm(carrier: number, at: number): void {
    this.pending.set(carrier, { at, order: this.shuffle === null ? this.sequence++ : this.shuffle() });
  }

  armBy(carrier: number, at: number): void {
    if (at < this.due(carrier)) this.arm(carrier, at);
  }

  disarm(carrier: number): void {
    this.pending.delete(carrier);
  }

  /** When `carrier` is due; Infinity when it is not. */
  due(carrier: number): number {
    return this.pending.get(carrier)?.at ?? Infinity;
  }

  stop(): void {
    this.stopped = true;
  }

  run(until: number): boolean {
    this.stopped = false;
    for (;;) {
      const first = this.first();
      if (first < 0 || this.due(first) > until) return false;
      this.now = this.due(first);
      this.pending.delete(first);
      this.handled++;
      const { actor, tag } = this.carriers[first]!;
      actor.wake(tag);
      if (this.stopped) return true;
    }
  }

  next(): number | null {
    return this.empty ? null : this.first();
  }

  get empty(): boolean {
    return this.pending.size === 0;
  }

  private first(): number {
    let first = -1;
    for (const carrier of this.pending.keys()) if (first < 0 || this.compare(carrier, first) < 0) first = carrier;
    return first;
  }

  private compare(a: number, b: number): number {
    const [one, other] = [this.pending.get(a)!, this.pending.get(b)!];
    return one.at - other.at || this.carriers[a]!.phase - this.carriers[b]!.phase || one.order - other.order;
  }
}
