import type { Access } from './access.js';
import type { BankList } from './bank.js';

/** What is queued of one direction: counts, the order of entry, and the banks that have something to serve. */
export class Side {
  queued = 0;
  /** Those of them that may be served. */
  visible = 0;
  /** By age; `newer` of an access leads on. */
  oldest: Access | null = null;
  newest: Access | null = null;
  /** The lists of banks with an access that may be served: the first `activeCount`, in no order. */
  readonly active: BankList[];
  activeCount = 0;

  /** @param lists this direction's list of each bank */
  constructor(lists: readonly BankList[]) {
    this.active = [...lists];
  }

  /** The oldest access that may be served. */
  oldestVisible(): Access | null {
    let access = this.oldest;
    while (access !== null && access.waits > 0) access = access.newer;
    return access;
  }

  /** Counts an access in, and lists it by age. */
  add(access: Access): void {
    this.queued++;
    if (access.waits === 0) this.visible++;
    let before = this.newest;
    while (before !== null && before.age > access.age) before = before.older;
    const after = before === null ? this.oldest : before.newer;
    access.older = before;
    access.newer = after;
    if (before === null) this.oldest = access;
    else before.newer = access;
    if (after === null) this.newest = access;
    else after.older = access;
  }

  /** Takes an access out again. */
  drop(access: Access): void {
    this.queued--;
    if (access.waits === 0) this.visible--;
    const { older, newer } = access;
    if (older === null) this.oldest = newer;
    else older.newer = newer;
    if (newer === null) this.newest = older;
    else newer.older = older;
  }

  /** Notes whether a list has something to serve. */
  setActive(list: BankList, active: boolean): void {
    const { place } = list;
    if (active === place >= 0) return;
    if (active) {
      list.place = this.activeCount;
      this.active[this.activeCount++] = list;
      return;
    }
    const last = this.active[--this.activeCount]!;
    this.active[place] = last;
    last.place = place;
    list.place = -1;
  }
}
