// Hot path where many events are pending: sorts in place by merging, allocates nothing.
import { before, type Carrier } from './carrier.js';

/** More carriers in a slot than 2 to this power there are not. */
const MOST_RUNS = 40;

/** Puts the carriers of a slot in order. */
export class SlotSorter {
  /** Sorted runs on their way: the one at place i, if any, is of 2^i carriers. */
  private readonly runs = Array.from<unknown, Carrier | null>({ length: MOST_RUNS }, () => null);

  /** Sorts carriers that are linked by `later`, from `first` on; returns the new first one. */
  sort(first: Carrier): Carrier {
    const { runs } = this;
    let rest: Carrier | null = first;
    while (rest !== null) {
      let run: Carrier = rest;
      rest = rest.later;
      run.later = null;
      let place = 0;
      for (let other = runs[place]!; other !== null; other = runs[++place]!) {
        run = merged(other, run);
        runs[place] = null;
      }
      runs[place] = run;
    }
    return this.mergeAll();
  }

  private mergeAll(): Carrier {
    const { runs } = this;
    let all: Carrier | null = null;
    for (let place = 0; place < MOST_RUNS; place++) {
      const run = runs[place]!;
      if (run === null) continue;
      all = all === null ? run : merged(run, all);
      runs[place] = null;
    }
    return all!;
  }
}

/** Two sorted runs as one. */
function merged(one: Carrier, other: Carrier): Carrier {
  let a: Carrier | null = one;
  let b: Carrier | null = other;
  if (before(b, a)) [a, b] = [b, a];
  const first: Carrier = a;
  let last: Carrier = a;
  a = a.later;
  while (a !== null && b !== null) {
    if (before(b, a)) {
      last.later = b;
      last = b;
      b = b.later;
    } else {
      last.later = a;
      last = a;
      a = a.later;
    }
  }
  last.later = a ?? b;
  return first;
}
