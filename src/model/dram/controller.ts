// Hot path: a few calls per column access. Nothing is allocated per access.
import { Clock } from '../../engine/clock.js';
import type { DdrSpec } from '../../scenario/scenario.js';
import type { Context } from '../context.js';
import type { ElementBase } from '../element.js';
import { EndPoint } from '../end-point.js';
import type { ForwardQueue } from '../forward-queue.js';
import type { Access } from './access.js';
import { Channel } from './channel.js';
import type { ChannelOwner } from './channel-params.js';
import type { DramUse } from './dram-use.js';
import { Entries } from './entries.js';
import { EntryAges } from './entry-ages.js';
import { EntryWatch } from './entry-watch.js';
import { FrontEnd, type FrontEndOwner } from './front-end.js';
import { IdOrder } from './id-order.js';
import { Mapping } from './mapping.js';
import { ReadPieces } from './read-pieces.js';
import { refreshPhases } from './refresh-phase.js';

/**
 * The DRAM controller: bursts from several inputs are cut into column accesses, which reach the queues of their channel
 * `frontCycles` after they were cut (at least one). A write is final when its last access is in the queue. The data of a
 * read's access are usable on the way back `returnCycles` after the controller's first edge at which they are through
 * the PHY; a beat is, when all accesses that it spans are.
 */
export class DdrController extends EndPoint implements FrontEndOwner, ChannelOwner {
  readonly mapping: Mapping;
  /** By direction and input, since each goes on from the place that it looked up last. */
  private mappings: readonly (readonly Mapping[])[] = [];
  readonly dram: Channel[];
  private readonly dramClock: Clock;
  private readonly entries: readonly [Entries[], Entries[]];
  private readonly fronts: FrontEnd[] = [];
  private readonly pieces: ReadPieces;
  private readonly order: IdOrder;
  private readonly ages = new EntryAges();
  private readonly watched: EntryWatch;
  private readonly frontCycles: number;
  private readonly returnCycles: number;
  /** From a read's command to its last data at the controller's side of the PHY, in DRAM clocks. */
  private readonly dataClocks: number;

  constructor(
    context: Context,
    base: ElementBase,
    private readonly spec: DdrSpec,
  ) {
    super(context, base);
    const { timing, channels, ranks } = spec;
    this.mapping = new Mapping(spec);
    this.dramClock = new Clock(`${spec.name} dram`, timing.tckNumerator, timing.tckDenominator);
    const phases = refreshPhases(context.seed, context.replication, spec.name, channels * ranks, timing.tREFIps);
    this.dram = Array.from({ length: channels }, (_, number) => this.makeChannel(number, phases));
    const make = (total: number): Entries[] => this.dram.map(() => new Entries(total));
    this.entries = [make(spec.readEntries), make(spec.writeEntries)];
    this.frontCycles = Math.max(1, spec.frontCycles);
    this.returnCycles = spec.returnCycles;
    this.pieces = new ReadPieces(context.bursts, this.mapping.accessBytes);
    this.order = new IdOrder(context, this.dram, this.dramClock);
    this.watched = new EntryWatch(context, base.name);
    const { state } = this.dram[0]!;
    this.dataClocks = spec.phyCommandClocks + state.readDelay + state.burst + spec.phyDataClocks;
  }

  /** Timing in DRAM clocks. */
  get timing(): DdrSpec['timing'] {
    return this.spec.timing;
  }

  override finish(): void {
    super.finish();
    this.mappings = [0, 1].map(() => this.inputs.map(() => new Mapping(this.spec)));
    for (const [direction, queues] of [this.readQueues, this.writeQueues].entries()) {
      const { context, base, spec, inputs } = this;
      const mappings = this.mappings[direction]!;
      const heads = queues.map((queue) => queue[0]!);
      const entries = this.entries[direction]!;
      this.fronts.push(new FrontEnd(context, base, spec, heads, inputs, direction === 1, mappings, entries, this));
    }
  }

  /** Bursts of this master are served in the order in which they came, per direction and ID. */
  keepIdOrder(master: number): void {
    this.order.add(master);
  }

  /** What each channel did within the window; complete once the run is past its end. */
  uses(): DramUse[] {
    return this.dram.map((channel) => {
      channel.settle(this.context.window.toPs);
      return channel.use;
    });
  }

  /** What an idle channel does by itself, such as refresh, is made up for. */
  override settle(endPs: number): void {
    super.settle(endPs);
    for (const channel of this.dram) channel.settle(endPs);
  }

  /** Bytes per second that all channels together can move. */
  get peakBytesPerS(): number {
    const { tckNumerator, tckDenominator, busBytes } = this.spec.timing;
    return (2 * busBytes * this.spec.channels * 1e12 * tckDenominator) / tckNumerator;
  }

  arrived(queue: ForwardQueue): void {
    this.fronts[queue.write ? 1 : 0]!.headed(queue.input);
  }

  override *channels(): ReturnType<EndPoint['channels']> {
    for (const { number, use } of this.dram) {
      yield {
        name: `channel ${number}`,
        kind: 'server' as const,
        busy: use.busy,
        stalled: null,
        grants: use.columnAccesses,
      };
    }
    yield* super.channels();
  }

  cut(queue: ForwardQueue, slot: number, piece: number, low: number, high: number, edge: number): void {
    const { bursts } = this.context;
    const mapping = this.mappings[queue.write ? 1 : 0]![queue.input]!;
    const channel = this.dram[mapping.channel]!;
    const access = channel.queue.reserve();
    access.direction = queue.write ? 1 : 0;
    access.bank = channel.state.banks[mapping.rank * channel.state.banksPerRank + mapping.bank]!;
    access.row = mapping.row;
    access.column = mapping.column;
    access.low = low;
    access.high = high;
    access.qos = bursts.qos[slot]!;
    access.burst = slot;
    access.master = bursts.master[slot]!;
    access.piece = piece;
    if (!queue.write && piece === 0 && !this.pieces.beatsAreNarrow(slot)) this.pieces.start(slot);
    access.enteredAt = this.base.clock.at(edge + this.frontCycles);
    this.ages.stamp(access, edge, queue.input);
    this.context.probe.cut(slot, this.base.index, channel, access, piece === this.pieces.last(slot));
    this.sendIn(channel, access, slot);
  }

  /** All that follows from an entry is told now, ahead of time, so that it needs no event of its own. */
  private sendIn(channel: Channel, access: Access, slot: number): void {
    const { enteredAt, age, piece, direction } = access;
    if (piece === 0) {
      this.context.bursts.enteredAt[slot] = enteredAt;
      this.noteEntry(slot);
      this.watched.add(slot, age);
    }
    this.order.entering(channel, access);
    channel.enter(access);
    if (direction === 0 || piece < this.pieces.last(slot)) return;
    this.context.bursts.finalAt[slot] = enteredAt;
    this.acceptWrite(slot);
  }

  served(channel: Channel, access: Access, clock: number): void {
    this.order.passed(channel, access, clock);
    if (access.direction === 0)
      this.answer(channel, access, clock, this.edgeOf(this.dramClock.at(clock + this.dataClocks)));
    else this.context.probe.served(this.base.index, channel, access, clock, 0);
    this.giveBack(channel, access.direction, clock);
  }

  covered(channel: Channel, access: Access, clock: number): void {
    this.order.passed(channel, access, clock);
    // not before the next edge: the way back may have decided for this one already
    this.answer(channel, access, clock, this.edgeOf(this.dramClock.at(clock) + 1));
    this.giveBack(channel, 0, clock);
  }

  private giveBack(channel: Channel, direction: number, clock: number): void {
    const { calendar } = this.context;
    const freePs = this.dramClock.at(clock);
    // a channel that slept too long would tell wrong times, and nobody would see
    if (freePs < calendar.now)
      throw new Error(`${this.base.name}: a command of ${freePs} ps told at ${calendar.now} ps`);
    const entries = this.entries[direction]![channel.number]!;
    entries.freesAt = freePs;
    entries.free();
    this.fronts[direction]!.freed();
  }

  private edgeOf(timePs: number): number {
    return this.base.clock.indexFrom(timePs);
  }

  /** The data of an access are through the PHY by edge `edge` of the controller's clock. */
  private answer(channel: Channel, access: Access, command: number, edge: number): void {
    const { pieces } = this;
    const { clock, index } = this.base;
    const { burst: slot, piece } = access;
    const backPs = clock.at(edge + this.returnCycles);
    this.context.probe.served(index, channel, access, command, backPs);
    const first = pieces.firstBeat(slot, piece);
    const last = pieces.lastBeat(slot, piece);
    if (pieces.beatsAreNarrow(slot)) {
      for (let beat = first; beat <= last; beat++) this.setBeat(slot, beat, backPs);
      this.returned(slot, first, last);
      return;
    }
    pieces.set(slot, piece, backPs);
    for (let beat = first; beat <= last; beat++) {
      const at = pieces.beatAt(slot, beat);
      if (at === Infinity) continue;
      this.setBeat(slot, beat, at);
      this.returned(slot, beat, beat);
    }
  }

  private makeChannel(number: number, phases: readonly number[]): Channel {
    const { context, spec } = this;
    return new Channel({
      calendar: context.calendar,
      probe: context.probe,
      window: context.window,
      spec,
      clock: this.dramClock,
      element: this.base.index,
      number,
      phasesPs: phases.slice(number * spec.ranks, (number + 1) * spec.ranks),
      owner: this,
    });
  }
}
