import FastPriorityQueue from 'fastpriorityqueue';

/** What can come due for a task. Of one instant, ends come before what may find room by them. */
export const Due = { end: 0, trigger: 1, poll: 2 } as const;

/** Something that is due for an instance of a task. */
export interface Item {
  readonly timePs: number;
  readonly kind: number;
  /** Number of the task, and of the instance within it. */
  readonly task: number;
  readonly instance: number;
}

/**
 * What is due for tasks, in an order that depends on nothing else than what it is: by time, then ends before triggers, then
 * task, then instance.
 */
export class Agenda {
  private readonly items = new FastPriorityQueue<Item>(comesBefore);

  add(item: Item): void {
    this.items.add(item);
  }

  /** When the next is due; Infinity for never. */
  get nextPs(): number {
    return this.items.peek()?.timePs ?? Infinity;
  }

  /** Takes out the first that is due at `nowPs`; undefined for none. */
  take(nowPs: number): Item | undefined {
    return this.nextPs <= nowPs ? this.items.poll() : undefined;
  }
}

function comesBefore(a: Item, b: Item): boolean {
  if (a.timePs !== b.timePs) return a.timePs < b.timePs;
  if (a.kind !== b.kind) return a.kind < b.kind;
  return a.task !== b.task ? a.task < b.task : a.instance < b.instance;
}
