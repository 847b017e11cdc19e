// Hot path: one event per line looked up, one per fill. Nothing is allocated per lookup.
import type { Actor } from '../../engine/calendar.js';
import type { Carrier } from '../../engine/carrier.js';
import { Phase } from '../../engine/phase.js';
import type { Care, CoherenceSpec, SystemSpec } from '../../scenario/scenario.js';
import { Arbiter } from '../arbiter.js';
import { READ, WRITE } from '../bursts.js';
import type { Context } from '../context.js';
import type { ChannelUse, ElementBase } from '../element.js';
import { EndPoint } from '../end-point.js';
import type { ForwardQueue } from '../forward-queue.js';
import type { Injector, InjectorOwner } from '../injector.js';
import { TimeMeter } from '../window.js';
import { BurstLines } from './burst-lines.js';
import { CacheCounts } from './cache-counts.js';
import { type Access, type CacheModel, emptyAccess, type UnitServices, Want } from './cache-model.js';
import { DataArray } from './data-array.js';
import { EarlyWrites } from './early-writes.js';
import { type LineMap, linesBehind } from './line-map.js';
import { MissEntries } from './miss-entries.js';
import { modelOf } from './model-of.js';
import type { PrivateCache } from './private-cache.js';
import { PendingUpkeep } from './pending-upkeep.js';
import { type Head, PendingVictims, ReplayList } from './tag-pipeline.js';
import type { Upkeep } from './upkeep.js';
import { WriteBackBuffer } from './write-back-buffer.js';
import { WrittenLines } from './written-lines.js';

/**
 * Where cores and coherent ports meet: a tag pipeline that looks up one line a cycle, the shared cache behind it, miss
 * entries and a write-back buffer. A burst is cut into lines; its beats go back in address order.
 *
 * Who is next: a changed line that a core pushed out (it is always accepted), then a line that waited for a fill, then one
 * that a core cleans or invalidates (at most one a core at a time), then whom the arbiter chooses among the heads of the
 * inputs. A head that cannot be looked up now (no miss entry, no write-back slot, a copy on its way) holds up only its own
 * requester.
 */
export class CoherenceUnit extends EndPoint implements Actor, InjectorOwner, UnitServices {
  readonly lines: LineMap;
  readonly burstLines: BurstLines;
  readonly counts: CacheCounts;
  readonly buffer: WriteBackBuffer;
  readonly cores: PrivateCache[] = [];
  edge = 0;
  misses!: MissEntries;
  model!: CacheModel;

  private readonly heads: Head[] = [];
  private readonly coreOf: number[] = [];
  private readonly masterOf: number[] = [];
  private arbiter!: Arbiter;
  private victims!: PendingVictims;
  private readonly replays = new ReplayList();
  private readonly upkeeps = new PendingUpkeep();
  private readonly early = new EarlyWrites();
  private readonly carrier: Carrier;
  private readonly access = emptyAccess();
  private readonly lookupBusy: TimeMeter;
  private readonly data: DataArray;
  private lookups = 0;
  /** Edge of the last lookup. */
  private lastEdge = -1;
  /** The burst of its own that brings what is being answered, or −1. */
  private servedBy = -1;
  private readonly written: WrittenLines;

  constructor(
    context: Context,
    base: ElementBase,
    readonly spec: CoherenceSpec,
    private readonly injector: Injector,
    private readonly system: SystemSpec,
  ) {
    super(context, base);
    if (spec.lineBytes % base.widthBytes !== 0) {
      throw new RangeError(`${spec.name}: a line of ${spec.lineBytes} bytes must be whole beats of ${base.widthBytes}`);
    }
    injector.setOwner(this);
    this.lines = linesBehind(spec, system);
    this.burstLines = new BurstLines(context.bursts, spec.lineBytes);
    this.written = new WrittenLines(context.bursts);
    this.counts = new CacheCounts(`${spec.name} L2`, context.window, system.masters.length);
    this.buffer = new WriteBackBuffer(spec.writebackSlots, context.window);
    this.lookupBusy = new TimeMeter(context.window);
    this.data = new DataArray(base.clock, context.window);
    this.carrier = context.calendar.carrier(this, 0, Phase.decide);
  }

  override finish(): void {
    super.finish();
    const { spec, system, inputs, context } = this;
    for (const queue of this.queues()) this.heads.push({ queue, line: 0 });
    for (const _ of inputs) this.coreOf.push(-1);
    this.arbiter = new Arbiter(this.base.arbitration, inputs, context.bursts);
    this.victims = new PendingVictims(inputs.length);
    this.misses = new MissEntries(spec.missEntries, spec.minMissEntries, inputs.length);
    this.model = modelOf(this, context, system, this.counts.cache);
  }

  /** Joins the private cache of a core; answers its number. */
  addCore(name: string, cache: PrivateCache): number {
    this.coreOf[this.inputs.indexOf(name)] = this.cores.length;
    return this.cores.push(cache) - 1;
  }

  /** Joins who is told of the lines that a core cleans or invalidates. */
  addUpkeep(core: number, master: number, keeper: Upkeep): void {
    this.masterOf[core] = master;
    this.upkeeps.join(core, keeper);
  }

  /** A core wants a line cleaned or invalidated, from `usableAt` on; it takes a lookup, and goes before what it finds. */
  upkeep(core: number, line: number, care: Care, usableAt: number, draw: number): void {
    this.upkeeps.add({ core, line, care, usableAt, draw });
    this.armAt(usableAt);
  }

  arrived(queue: ForwardQueue): void {
    const { calendar } = this.context;
    this.armAt(Math.max(calendar.now, queue.headUsableAt, queue.eligibleAt));
  }

  override *channels(): Iterable<ChannelUse> {
    yield { name: 'tags', kind: 'channel', busy: this.lookupBusy, stalled: null, grants: this.lookups };
    yield this.data.use();
    yield* super.channels();
  }

  /** One cycle of the tag pipeline. */
  wake(): void {
    const { calendar } = this.context;
    const { clock } = this.base;
    this.edge = clock.indexFrom(calendar.now);
    if (this.edge === this.lastEdge) {
      calendar.arm(this.carrier, clock.at(this.edge + 1));
      return;
    }
    if (this.takeVictim() || this.replayNext() || this.upkeepNext() || this.lookupNext()) {
      this.lastEdge = this.edge;
      if (this.context.window.holds(calendar.now)) this.lookups++;
      this.lookupBusy.add(calendar.now, clock.at(this.edge + 1));
      if (this.hasWork()) calendar.armBy(this.carrier, clock.at(this.edge + 1));
    }
    if (this.upkeeps.count === 0) return;
    const next = Math.min(this.upkeeps.nextAfter(calendar.now), this.early.nextAfter(calendar.now));
    if (next < Infinity) this.armAt(next);
  }

  /** A fill is in, or memory has accepted a write-back. */
  childDone(slot: number): void {
    const { bursts, calendar } = this.context;
    this.edge = this.base.clock.indexFrom(calendar.now);
    this.servedBy = slot;
    if (bursts.op[slot] === READ) {
      this.model.fill(this.misses.children.indexOf(slot));
    } else {
      const waiting = this.buffer.accepted(slot, calendar.now);
      if (!this.early.carries(slot)) this.upkeeps.written(slot, calendar.now);
      if (waiting >= 0) this.acceptLine(waiting, -1, this.edge, 0);
    }
    this.servedBy = -1;
    this.armAt(calendar.now);
  }

  /** A write that was answered early is final: only now may a barrier take it for done, and upkeep find the line in memory. */
  childFinal(slot: number, timePs: number): void {
    this.early.accepted(slot, timePs, this.context.calendar.now);
    this.upkeeps.written(slot, timePs);
    if (this.upkeeps.count > 0) this.armAt(timePs);
  }

  /** A core has taken in what it was granted. */
  received(line: number, pinned: boolean): void {
    this.model.received(line, pinned);
    this.armAt(this.context.calendar.now);
  }

  bookData(edge: number, beats: number): number {
    return this.data.book(edge, beats);
  }

  respond(slot: number, index: number, edge: number, snoop: number): void {
    const { burstLines, context, base } = this;
    const first = burstLines.beatOf(slot, burstLines.low(slot, index), base.widthBytes);
    const last = burstLines.beatOf(slot, burstLines.high(slot, index) - 1, base.widthBytes);
    context.probe.lineAnswered(slot, base.index, index, edge + last - first, snoop, this.servedBy);
    for (let beat = first; beat <= last; beat++) this.setBeat(slot, beat, base.clock.at(edge + beat - first));
    this.returned(slot, first, last);
  }

  respondEmpty(slot: number, edge: number, snoop: number): void {
    this.context.probe.lineAnswered(slot, this.base.index, 0, edge, snoop, this.servedBy);
    this.context.bursts.resize(slot, this.spec.widthBytes);
    this.setBeat(slot, 0, this.base.clock.at(edge));
    this.returned(slot, 0, 0);
  }

  acceptLine(slot: number, index: number, edge: number, snoop: number): void {
    this.context.probe.lineAnswered(slot, this.base.index, index, edge, snoop, this.servedBy);
    const acceptedPs = this.written.accept(slot, this.base.clock.at(edge));
    if (acceptedPs === Infinity) return;
    this.context.bursts.finalAt[slot] = acceptedPs;
    this.acceptWrite(slot);
  }

  fetch(line: number, a: Access): number {
    return this.send(READ, line, this.lines.addressOf(line), this.spec.lineBytes, a);
  }

  writeBack(line: number, a: Access): number {
    this.counts.add(a.master, 'writebacks', this.context.calendar.now);
    const child = this.send(WRITE, line, this.lines.addressOf(line), this.spec.lineBytes, a);
    this.buffer.take(line, true, child, -1, this.context.calendar.now);
    return child;
  }

  passThrough(a: Access): void {
    const { burstLines } = this;
    const low = burstLines.low(a.slot, a.index);
    const bytes = burstLines.high(a.slot, a.index) - low;
    const child = this.send(WRITE, a.line, burstLines.addressOf(a.slot, low), bytes, a);
    this.buffer.take(a.line, a.whole, child, a.slot, this.context.calendar.now);
  }

  count(master: number, event: 'evictions' | 'interventions'): void {
    this.counts.add(master, event, this.context.calendar.now);
  }

  looked(a: Access, outcome: 'hits' | 'misses' | 'merged'): void {
    const { calendar, probe } = this.context;
    this.counts.looked(a.master, outcome, calendar.now);
    probe.lookup(this.base.index, 0, a.master, a.line, outcome === 'hits');
  }

  replay(slot: number, index: number): void {
    this.context.probe.lineReturned(slot, index, this.servedBy);
    this.replays.push(slot, index);
  }

  describe(slot: number, index: number, a: Access): void {
    const { bursts } = this.context;
    const { lineBytes, widthBytes, portReadAllocate, portWriteAllocate } = this.spec;
    const { burstLines } = this;
    const route = bursts.routes[slot]!;
    const low = burstLines.low(slot, index);
    const high = burstLines.high(slot, index);
    const write = bursts.op[slot] === WRITE;
    a.slot = slot;
    a.index = index;
    a.input = route.hops.at(-1)!.input;
    a.core = this.coreOf[a.input]!;
    a.master = bursts.master[slot]!;
    a.line = this.lines.lineOf(route.refill, burstLines.addressOf(slot, burstLines.lineStart(slot, index)));
    a.beats = Math.floor((high - 1) / widthBytes) - Math.floor(low / widthBytes) + 1;
    a.want = a.core >= 0 ? bursts.scratch[slot]! : write ? Want.write : Want.read;
    a.whole = write && high - low === lineBytes;
    a.allocates = a.core >= 0 || (write ? portWriteAllocate : portReadAllocate);
  }

  private hasWork(): boolean {
    if (this.victims.count > 0 || this.replays.length > 0 || this.upkeeps.count > 0) return true;
    for (const { queue } of this.heads) if (queue.length > 0) return true;
    return false;
  }

  private takeVictim(): boolean {
    const { victims, coreOf, model, access } = this;
    if (victims.count === 0) return false;
    for (let input = 0; input < coreOf.length; input++) {
      const line = victims.line(input);
      if (line < 0 || model.victimBlocked(coreOf[input]!, line)) continue;
      access.slot = -1;
      access.master = victims.master(input);
      this.context.probe.lookedUp(-1, this.base.index, -1, access.master);
      victims.clear(input);
      model.takeVictim(coreOf[input]!, line, access);
      return true;
    }
    return false;
  }

  private replayNext(): boolean {
    const { replays, model, access } = this;
    for (let i = 0; i < replays.length; i++) {
      this.describe(replays.slots[i]!, replays.lines[i]!, access);
      if (model.blocked(access)) continue;
      replays.remove(i);
      this.context.probe.lookedUp(access.slot, this.base.index, access.index, access.master);
      model.lookup(access, true);
      return true;
    }
    return false;
  }

  private upkeepNext(): boolean {
    const { upkeeps, model, access, context } = this;
    if (upkeeps.count === 0) return false;
    for (const line of upkeeps.ready(context.calendar.now)) {
      if (this.early.holds(line.line, context.calendar.now) || this.isUnderway(line.line)) continue;
      if (model.upkeepBlocked(line.line, line.care, line.draw)) continue;
      access.slot = -1;
      access.index = 0;
      access.master = this.masterOf[line.core]!;
      context.probe.lookedUp(-1, this.base.index, -1, access.master);
      upkeeps.lookedUp(line, this.edge, model.upkeep(line.line, line.care, access, line.draw));
      return true;
    }
    return false;
  }

  /** Is the line on its way to the shared cache, to memory or to a core? Whoever cleans it then would miss that copy. */
  private isUnderway(line: number): boolean {
    if (this.misses.find(line) >= 0 || this.buffer.holds(line)) return true;
    return this.cores.some((cache) => cache.awaits(line));
  }

  private lookupNext(): boolean {
    const { calendar, bursts } = this.context;
    const { arbiter, heads, access, model } = this;
    const now = calendar.now;
    let next = Infinity;
    arbiter.begin(calendar, this.edge);
    for (let i = 0; i < heads.length; i++) {
      const head = heads[i]!;
      if (head.queue.length === 0 || this.victims.line(head.queue.input) >= 0) continue;
      const ready = Math.max(head.queue.eligibleAt, this.burstLines.arrivedAt(head.queue.head, head.line));
      if (ready > now) {
        if (ready < next) next = ready;
        continue;
      }
      this.describe(head.queue.head, head.line, access);
      const opens = arbiter.opensIn(access.input, 1);
      if (opens > 0 && opens < Infinity) next = Math.min(next, this.base.clock.at(this.edge + opens));
      if (!model.blocked(access)) arbiter.consider(access.input, access.slot, bursts.usableAt, access.slot, 1);
    }
    const slot = arbiter.pick();
    if (slot >= 0) this.look(heads.find(({ queue }) => queue.head === slot)!);
    else if (next < Infinity) this.armAt(next);
    return slot >= 0;
  }

  /** Looks up the next line at the head of a queue; the burst leaves the queue with its last one. */
  private look(head: Head): void {
    const { bursts, calendar, probe } = this.context;
    const { queue } = head;
    const slot = queue.head;
    const lines = this.burstLines.count(slot);
    if (head.line === 0) {
      bursts.enteredAt[slot] = calendar.now;
      if (queue.write) this.written.expect(slot, lines);
    }
    this.describe(slot, head.line, this.access);
    probe.lookedUp(slot, this.base.index, head.line, this.access.master);
    if (++head.line === lines) this.leave(head);
    this.model.lookup(this.access, false);
    if (this.access.core >= 0) this.learnVictim();
    if (queue.length > 0 && head.line === 0) this.arrived(queue);
  }

  private leave(head: Head): void {
    const { queue } = head;
    const next = this.base.clock.at(this.edge + 1);
    head.line = 0;
    queue.pop();
    queue.eligibleAt = next;
    queue.release(next);
  }

  /** With the fetch comes word of the line that it pushed out: a changed one takes the next free cycle. */
  private learnVictim(): void {
    const { core, slot, input, master } = this.access;
    const cache = this.cores[core]!;
    const line = cache.takeVictim(slot);
    if (line < 0) return;
    if (cache.victimDirty(line)) this.victims.set(input, line, master);
    else this.model.takeVictim(core, line, this.access);
  }

  private send(op: number, line: number, address: number, bytes: number, a: Access): number {
    const { bursts } = this.context;
    const qos = a.slot < 0 ? 0 : bursts.qos[a.slot]!;
    const memory = this.lines.memoryOf(line);
    const from = this.base.clock.at(this.edge + this.spec.lookupCycles);
    const slot = this.injector.send(memory, op, address, bytes, a.master, qos, a.index, from);
    if (op === WRITE && bursts.routes[slot]!.early) this.early.sent(slot, line);
    return slot;
  }

  private armAt(timePs: number): void {
    this.context.calendar.armBy(this.carrier, this.base.clock.edgeFrom(timePs));
  }
}
