// Hot path: one call per line looked up at the shared tags.
import type { Care, CoherenceSpec } from '../../scenario/scenario.js';
import { type Access, type CacheModel, emptyAccess, type UnitServices, Want } from './cache-model.js';
import { Directory } from './directory.js';
import type { MissEntries } from './miss-entries.js';
import type { VictimDraw } from './replacement.js';
import { LineState, TagStore } from './tag-store.js';
import type { WriteBackBuffer } from './write-back-buffer.js';

/** What a lookup comes to. */
const Plan = {
  blocked: 0,
  /** The line is in flight: join those that wait for it. */
  join: 1,
  /** The shared cache has the line. */
  hit: 2,
  /** The requester has the line and asks for it alone. */
  upgrade: 3,
  /** Only a private cache has the line, as its owner. */
  fromOwner: 4,
  /** The write-back buffer has the whole line. */
  fromBuffer: 5,
  /** A whole line is written: no data is needed. */
  install: 6,
  fetch: 7,
  /** A write goes on to memory. */
  through: 8,
} as const;

const CLEAN = LineState.exclusive;
const DIRTY = LineState.modified;

/**
 * Real tags: a shared cache, duplicate tags of the private ones, and MESI. A lookup decides and changes all state at
 * once; what it costs in time follows from the outcome. A line granted to a core cannot be snooped before it has arrived:
 * who would need to waits, which holds up only that requester.
 */
export class StructuralModel implements CacheModel {
  readonly l2: TagStore;
  readonly directory: Directory;
  private readonly inclusive: boolean;
  private readonly waiter = emptyAccess();
  private readonly served: number[] = [];
  /** Numbers in it that count: shortening it would have it made anew. */
  private servedEnd = 0;

  constructor(
    private readonly spec: CoherenceSpec,
    private readonly unit: UnitServices,
    private readonly misses: MissEntries,
    private readonly buffer: WriteBackBuffer,
    cores: number,
    draw: VictimDraw,
  ) {
    this.l2 = new TagStore(spec.l2, spec.lineBytes, draw);
    this.directory = new Directory(cores);
    this.inclusive = spec.l2.inclusive;
  }

  blocked(a: Access): boolean {
    return this.plan(a) === Plan.blocked;
  }

  lookup(a: Access, again: boolean): void {
    const plan = this.plan(a);
    if (!again) this.unit.looked(a, OUTCOMES[plan]!);
    switch (plan) {
      case Plan.join:
        this.misses.wait(this.misses.find(a.line), a.slot, a.index, this.unit.edge + this.spec.lookupCycles);
        break;
      case Plan.upgrade:
        this.upgrade(a);
        break;
      case Plan.fetch:
        this.fetch(a);
        break;
      case Plan.through:
        this.dropCopies(a);
        this.unit.passThrough(a);
        break;
      default:
        this.serveNow(a, plan);
    }
  }

  fill(entry: number): void {
    const { misses, l2, unit } = this;
    const place = misses.places[entry]!;
    if (place >= 0) {
      l2.states[place] = CLEAN;
      l2.pins[place]!--;
    }
    const copies = this.sortWaiters(entry, place);
    const first = unit.edge + this.spec.fillCycles;
    for (let i = 0; i < this.servedEnd; i += 3) {
      unit.describe(this.served[i]!, this.served[i + 1]!, this.waiter);
      this.serveFill(this.waiter, place, copies, Math.max(first, this.served[i + 2]!));
    }
    misses.release(entry);
  }

  victimBlocked(core: number, line: number): boolean {
    return this.unit.cores[core]!.victimDirty(line) && this.l2.find(line) < 0 && !this.hasRoom(line);
  }

  /** A changed line that a core pushed out: it is dirty in the shared cache from now on. */
  takeVictim(core: number, line: number, a: Access): void {
    const cache = this.unit.cores[core]!;
    if (cache.victimDirty(line)) {
      const place = this.l2.find(line);
      if (place >= 0) this.l2.states[place] = DIRTY;
      else this.allocate(line, DIRTY, a);
      this.unit.bookData(this.unit.edge + this.spec.lookupCycles, this.spec.lineBytes / this.spec.widthBytes);
    }
    this.directory.remove(line, core);
    cache.forget(line);
  }

  upkeepBlocked(line: number, care: Care): boolean {
    return care !== 'invalidate' && this.buffer.full && this.isDirty(line);
  }

  upkeep(line: number, care: Care, a: Access): number {
    const place = this.l2.find(line);
    let dirty = place >= 0 && this.l2.states[place] === DIRTY;
    if (care === 'clean') {
      for (const cache of this.unit.cores) dirty = cache.clean(line) || dirty;
      if (dirty && place >= 0) this.l2.states[place] = CLEAN;
    } else {
      dirty = this.invalidateCopies(line, -1) || dirty;
      if (place >= 0) this.l2.invalidate(place);
    }
    return dirty && care !== 'invalidate' ? this.unit.writeBack(line, a) : -1;
  }

  received(line: number, pinned: boolean): void {
    if (pinned) this.l2.pins[this.l2.find(line)]!--;
  }

  isDirty(line: number): boolean {
    const place = this.l2.find(line);
    if (place >= 0 && this.l2.states[place] === DIRTY) return true;
    return this.buffer.holds(line) || this.unit.cores.some((cache) => cache.isDirty(line));
  }

  isCached(line: number): boolean {
    const place = this.l2.find(line);
    return (place >= 0 && this.l2.states[place] !== LineState.pending) || this.directory.holders(line) > 0;
  }

  private plan(a: Access): number {
    const { line, want } = a;
    if (this.misses.find(line) >= 0) return Plan.join;
    if (this.mustWait(a)) return Plan.blocked;
    if (want === Want.upgrade && this.directory.holds(line, a.core)) return Plan.upgrade;
    if (this.l2.find(line) >= 0) return Plan.hit;
    const plan = this.planAbsent(a);
    return plan !== Plan.blocked && this.takesPlace(a, plan) && !this.hasRoom(line) ? Plan.blocked : plan;
  }

  /** The plan for a line that the shared cache does not have, room in it apart. */
  private planAbsent(a: Access): number {
    const { line, want, allocates } = a;
    const owner = this.otherOwner(a);
    const write = want === Want.write;
    if (write && a.whole) return allocates ? Plan.install : this.planThrough();
    if (owner >= 0 && (!write || this.unit.cores[owner]!.isDirty(line))) return Plan.fromOwner;
    if (write && (!allocates || this.spec.partialWriteMiss === 'through')) return this.planThrough();
    if (this.buffer.holdsPart(line)) return Plan.blocked;
    if (this.buffer.holds(line)) return Plan.fromBuffer;
    return this.misses.available(a.input) ? Plan.fetch : Plan.blocked;
  }

  private planThrough(): number {
    return this.buffer.full ? Plan.blocked : Plan.through;
  }

  /** Does the plan put the line into the shared cache? Changed data that a read takes from its owner always is. */
  private takesPlace(a: Access, plan: number): boolean {
    if (plan === Plan.through) return false;
    if (plan !== Plan.fromOwner) return a.allocates;
    if (a.want === Want.own || a.want === Want.upgrade) return false;
    return a.allocates || this.unit.cores[this.otherOwner(a)]!.isDirty(a.line);
  }

  /** Is a copy that must be snooped still on its way to its core? */
  private mustWait(a: Access): boolean {
    const { directory, unit } = this;
    if (directory.holders(a.line) === 0) return false;
    const all = a.want === Want.write || a.want === Want.own || a.want === Want.upgrade;
    for (let core = 0; core < unit.cores.length; core++) {
      if (core === a.core || !(all ? directory.holds(a.line, core) : directory.owner(a.line) === core)) continue;
      if (unit.cores[core]!.awaits(a.line)) return true;
    }
    return false;
  }

  private otherOwner(a: Access): number {
    const owner = this.directory.owner(a.line);
    return owner === a.core ? -1 : owner;
  }

  /** Can a line come in now: is there a way, and a write-back slot if it would push out changed data? */
  private hasRoom(line: number): boolean {
    const place = this.l2.choose(line);
    if (place < 0) return false;
    return !this.buffer.full || !this.wouldWriteBack(place);
  }

  private wouldWriteBack(place: number): boolean {
    const victim = this.l2.lines[place]!;
    if (victim < 0) return false;
    if (this.l2.states[place] === DIRTY) return true;
    const owner = this.inclusive ? this.directory.owner(victim) : -1;
    return owner >= 0 && this.unit.cores[owner]!.isDirty(victim);
  }

  private upgrade(a: Access): void {
    this.invalidateOthers(a);
    const place = this.l2.find(a.line);
    if (place >= 0) this.l2.touch(place);
    this.grant(a, LineState.modified, place);
    const { lookupCycles, upgradeCycles } = this.spec;
    this.unit.respondEmpty(a.slot, this.unit.edge + lookupCycles + upgradeCycles, upgradeCycles);
  }

  private fetch(a: Access): void {
    this.dropCopies(a);
    const place = a.allocates ? this.allocate(a.line, LineState.pending, a) : -1;
    if (place >= 0) this.l2.pins[place]!++;
    const entry = this.misses.take(a.line, a.input, place);
    this.misses.wait(entry, a.slot, a.index, this.unit.edge + this.spec.lookupCycles);
    this.misses.children[entry] = this.unit.fetch(a.line, a);
  }

  /** A write, or a fetch for one, leaves no other copies; none of them is changed. */
  private dropCopies(a: Access): void {
    if (a.want !== Want.read && a.want !== Want.copy) this.invalidateOthers(a);
  }

  /** The data is here or with an owner. */
  private serveNow(a: Access, plan: number): void {
    const owner = this.otherOwner(a);
    const copies = this.directory.holders(a.line) - (this.directory.holds(a.line, a.core) ? 1 : 0);
    const reads = a.want === Want.read || a.want === Want.copy;
    const takes = plan !== Plan.hit && this.takesPlace(a, plan);
    const dirty = reads ? this.shareOwner(a, owner) : this.invalidateOthers(a);
    let place = this.l2.find(a.line);
    if (takes) place = this.allocate(a.line, CLEAN, a);
    else if (place >= 0 && a.allocates) this.l2.touch(place);
    const kept = a.want === Want.write || (reads && dirty);
    if (kept && place >= 0) this.l2.states[place] = DIRTY;
    const asked = owner >= 0 && !(a.want === Want.write && a.whole);
    if (asked) this.unit.count(a.master, 'interventions');
    if (a.want === Want.write) this.finishWrite(a, asked, copies > 0);
    else this.finishRead(a, place, asked, !reads && copies > 0);
  }

  private finishWrite(a: Access, asked: boolean, snooped: boolean): void {
    const { lookupCycles, interventionCycles, upgradeCycles } = this.spec;
    const snoop = asked ? interventionCycles : snooped ? upgradeCycles : 0;
    const start = this.unit.bookData(this.unit.edge + lookupCycles + snoop, a.beats);
    this.unit.acceptLine(a.slot, a.index, start + a.beats, snoop);
  }

  /** Data comes from the owner, or from the shared data array while the other copies are snooped. */
  private finishRead(a: Access, place: number, asked: boolean, snooped: boolean): void {
    const { lookupCycles, interventionCycles, upgradeCycles, dataCycles } = this.spec;
    const known = this.unit.edge + lookupCycles;
    if (asked) {
      this.unit.respond(a.slot, a.index, known + interventionCycles, interventionCycles);
    } else {
      const data = this.unit.bookData(known, a.beats) + dataCycles;
      const snoop = snooped ? upgradeCycles : 0;
      this.unit.respond(a.slot, a.index, Math.max(data, known + snoop), snoop);
    }
    if (a.want === Want.read) return;
    const alone = a.want === Want.copy && this.directory.holders(a.line) === 0;
    this.grant(a, a.want === Want.copy ? (alone ? LineState.exclusive : LineState.shared) : LineState.modified, place);
  }

  /** Takes those that the fill can serve off the list, in order; the rest are looked up again. Counts the core copies. */
  private sortWaiters(entry: number, place: number): number {
    const { misses, unit, waiter, served } = this;
    let copies = 0;
    let owned = false;
    let end = 0;
    for (let first = true; misses.firstSlot(entry) >= 0; first = false) {
      const slot = misses.firstSlot(entry);
      const index = misses.firstLine(entry);
      const known = misses.firstKnown(entry);
      misses.shift(entry);
      unit.describe(slot, index, waiter);
      const reads = waiter.want === Want.read || waiter.want === Want.copy;
      if (!first && (owned || !reads || (place < 0 && waiter.core >= 0))) {
        owned ||= !reads;
        unit.replay(slot, index);
        continue;
      }
      owned ||= !reads;
      if (waiter.want === Want.copy) copies++;
      served[end++] = slot;
      served[end++] = index;
      served[end++] = known;
    }
    this.servedEnd = end;
    return copies;
  }

  private serveFill(a: Access, place: number, copies: number, edge: number): void {
    if (a.want === Want.write) {
      if (place >= 0) this.l2.states[place] = DIRTY;
      this.unit.acceptLine(a.slot, a.index, edge, 0);
      return;
    }
    this.unit.respond(a.slot, a.index, edge, 0);
    if (a.want === Want.read) return;
    const alone = copies === 1 && this.directory.holders(a.line) === 0;
    this.grant(a, a.want === Want.copy ? (alone ? LineState.exclusive : LineState.shared) : LineState.modified, place);
  }

  private grant(a: Access, state: number, place: number): void {
    this.directory.add(a.line, a.core, state !== LineState.shared);
    if (place >= 0) this.l2.pins[place]!++;
    this.unit.cores[a.core]!.grant(a.slot, state, place >= 0);
  }

  /** A read takes the owner's exclusive right; answers true if that brought changed data. */
  private shareOwner(a: Access, owner: number): boolean {
    if (owner < 0) return false;
    this.directory.share(a.line);
    return this.unit.cores[owner]!.snoop(a.line, false);
  }

  /** All copies but the requester's own go; answers true if one of them was changed. */
  private invalidateOthers(a: Access): boolean {
    return this.directory.holders(a.line) > 0 && this.invalidateCopies(a.line, a.core);
  }

  private invalidateCopies(line: number, except: number): boolean {
    let dirty = false;
    for (let core = 0; core < this.unit.cores.length; core++) {
      if (core === except || !this.directory.holds(line, core)) continue;
      dirty = this.unit.cores[core]!.snoop(line, true) || dirty;
      this.directory.remove(line, core);
    }
    return dirty;
  }

  /** Puts a line in, over a victim that goes to memory if it is changed; from an inclusive cache its copies go too. */
  private allocate(line: number, state: number, a: Access): number {
    const { l2, unit } = this;
    const place = l2.choose(line);
    const victim = l2.lines[place]!;
    if (victim >= 0) {
      const changed = this.inclusive && this.invalidateCopies(victim, -1);
      unit.count(a.master, 'evictions');
      if (changed || l2.states[place] === DIRTY) unit.writeBack(victim, a);
    }
    l2.fill(place, line, state);
    return place;
  }
}

/** How a plan is counted. */
const OUTCOMES = ['misses', 'merged', 'hits', 'hits', 'hits', 'hits', 'misses', 'misses', 'misses'] as const;
