// Hot path: read at every step of a burst. State in typed arrays by slot; growth is by doubling in one place.
import type { Clock } from '../../engine/clock.js';
import { READ, widen } from '../../model/bursts.js';
import type { Context } from '../../model/context.js';
import { Core } from '../../model/core.js';
import type { Element } from '../../model/element.js';
import type { ForwardQueue } from '../../model/forward-queue.js';
import type { Lane } from '../../model/lane.js';
import type { Route } from '../../model/route.js';
import type { Simulation } from '../../model/simulation.js';
import type { SystemSpec } from '../../scenario/scenario.js';
import { clockOf } from '../clock-of.js';
import { type Chain, Chains, MOST_ELEMENTS } from './chains.js';
import { Charges } from './charges.js';
import type { MemoryBooks } from './memory-books.js';
import { Sample } from './sample.js';
import { Part } from './stage.js';
import { UseLog } from './use-log.js';

/** Culprit number of refresh; masters have theirs from 0. */
export const REFRESH = -1;

/** What the recorder knows of the bursts in flight and of the places where they meet: shared by its parts. */
export class Books {
  readonly context: Context;
  readonly elements: readonly Element[];
  /** By slot of a burst. */
  readonly chains = new Chains();
  /** By slot: its way so far through the door of a memory or the tags of a cache, which its pieces pass one after the other. */
  readonly wayIn = new Chains();
  readonly charges = new Charges();
  /** Of all DRAM channels, which add themselves. */
  readonly memories: MemoryBooks[] = [];
  /** By slot: when the piece of it that was in last was ready, and the piece's number. */
  readyAt = new Float64Array(0);
  piece = new Int32Array(0);
  /** By slot: the way, in the books of the memories, of the access that was back last; −1 where there is none. */
  lastWay = new Int32Array(0);
  /** By slot: how many of its lines were looked up. */
  begun = new Int32Array(0);
  /** By slot: since when it finds no room beyond; Infinity where it does. */
  stalledAt = new Float64Array(0);
  /** By slot and hop: when its last beat left on the way back. */
  leftAt = new Float64Array(0);
  /** By element: is it a port; does it wait for all of a write? */
  readonly ports: Uint8Array;
  readonly collects: Uint8Array;
  /** By master: cycles of a lookup in its private cache, 0 where it has none. */
  readonly hitCycles: Int32Array;
  readonly masterClocks: readonly Clock[];
  readonly sample: Sample;
  private readonly allLogs: UseLog[] = [];
  /** By place; by element and part of it. */
  private readonly logs: UseLog[] = [];
  private readonly unitLogs: UseLog[][] = [];

  constructor(
    simulation: Simulation,
    system: SystemSpec,
    /** Is blame kept as well? Else all waiting is its own. */
    readonly blames: boolean,
    followsAll: boolean,
  ) {
    this.context = simulation.context;
    const { length } = simulation.model.elements;
    if (length > MOST_ELEMENTS) throw new RangeError(`journeys: ${length} elements are more than ${MOST_ELEMENTS}`);
    this.elements = simulation.model.elements;
    const specs = new Map(system.elements.map((spec) => [spec.name, spec]));
    this.ports = Uint8Array.from(this.elements, ({ base }) => (base.kind === 'port' ? 1 : 0));
    this.collects = Uint8Array.from(this.elements, ({ base }) => {
      const spec = specs.get(base.name);
      return spec?.kind === 'port' && spec.writeStart === 'whole_burst' ? 1 : 0;
    });
    this.hitCycles = Int32Array.from(simulation.model.masters, (master) =>
      master instanceof Core && master.counts !== null ? master.spec.core!.hitCycles : 0,
    );
    const contending = system.masters.filter(({ issue }) => issue.process !== 'silent').length;
    this.sample = new Sample(this.context, { contending, paths: 2 * system.masters.length, blames, followsAll });
    this.masterClocks = system.masters.map(({ clock }) => clockOf(system, clock));
  }

  /**
   * A burst begins its journey at `fromPs`; one that waits for what burst `flight` was sent for has a part of its time from
   * that, and is followed if that is. Answers whether it is followed: of others nothing is known but where they wait.
   */
  start(slot: number, fromPs: number, flight = -1): boolean {
    if (slot >= this.readyAt.length) this.grow(slot + 1);
    this.sample.draw(slot, flight);
    this.stalledAt[slot] = Infinity;
    this.begun[slot] = 0;
    if (!this.sample.followed(slot)) return false;
    this.chains.start(slot, fromPs);
    this.readyAt[slot] = -1;
    this.lastWay[slot] = -1;
    return true;
  }

  /** A burst that has started sets out: from now on places take notes, if it is watched. */
  setsOut(slot: number): void {
    if (!this.sample.setsOut(slot)) return;
    const { calendar, places } = this.context;
    for (const log of this.allLogs) log.open();
    for (const memory of this.memories) memory.open();
    for (const lane of places.lanes) if (lane.freeAt > calendar.now) this.notice(lane);
  }

  /** Notes who has a lane, and heads a queue, that was had before notes were taken. */
  private notice({ place, element, user, since, freeAt, emptied }: Lane): void {
    this.log(place).resume(since, freeAt, since, user, element);
    if (emptied !== null) this.log(emptied.place).resume(since, freeAt, since, user, element);
  }

  /** A log that others may refer to. */
  newLog(): UseLog {
    return new UseLog(this.context.calendar, this.allLogs);
  }

  /** The log of a place: a queue, or a way out. */
  log(place: number): UseLog {
    return (this.logs[place] ??= this.newLog());
  }

  /** The queue in which a burst stands at an element of its route; and the log of the one at the element that serves it. */
  queueOf(slot: number, hop: number): ForwardQueue {
    const { bursts } = this.context;
    const { reads, writes } = bursts.routes[slot]!.hops[hop]!;
    return bursts.op[slot] === READ ? reads : writes;
  }

  lastQueue(slot: number): UseLog {
    return this.log(this.queueOf(slot, this.context.bursts.routes[slot]!.hops.length - 1).place);
  }

  /**
   * Adds to a chain the time until `untilPs` as time in `part`, for which whoever a log names is to blame; where it names
   * nobody, `culprit` at `element`. The log of a queue knows of its head too, once what that waited for is noted there.
   */
  charge(chain: Chain, log: UseLog, untilPs: number, part: number, culprit: number, element: number): void {
    const { charges } = this;
    charges.start(chain.end);
    log.tell(charges, untilPs, culprit, element);
    charges.addTo(chain, part);
  }

  /** The log of a part of an element: a server, a bank, its tags, its door. */
  unitLog(element: number, unit: number): UseLog {
    const logs = (this.unitLogs[element] ??= []);
    return (logs[unit] ??= this.newLog());
  }

  /**
   * The burst is at the element that serves it from `arrivedPs` on. Answers true the first time, after which each of its
   * pieces goes on from there.
   */
  arrive(slot: number, element: number, arrivedPs: number): boolean {
    if (this.chains.isMarked(slot)) return false;
    this.chains.reach(slot, Part.transfer, this.context.bursts.master[slot]!, element, arrivedPs);
    return this.chains.mark(slot);
  }

  /**
   * A piece of a burst, which was all there from `arrivedPs` on, has its turn at the door; the pieces before it have passed. It
   * has waited for that since its way in ends: what its own burst holds up is no waiting.
   */
  comesIn(slot: number, element: number, first: boolean, arrivedPs: number): void {
    const { wayIn, context } = this;
    if (first) wayIn.start(slot, context.bursts.usableAt[slot]!);
    wayIn.reach(slot, Part.transfer, context.bursts.master[slot]!, element, arrivedPs);
  }

  /**
   * A piece of a burst is ready at `readyPs`. Answers true where it is the last so far, the later address where two tie:
   * the chain is back where the burst arrived, to go on as this piece did.
   */
  isLast(slot: number, piece: number, readyPs: number): boolean {
    const known = this.readyAt[slot]!;
    if (readyPs < known || (readyPs === known && piece < this.piece[slot]!)) return false;
    this.readyAt[slot] = readyPs;
    this.piece[slot] = piece;
    this.chains.cutBack(slot);
    return true;
  }

  /** The hop whose element answers the burst before it has gone all the way, or −1. */
  earlyHop(slot: number): number {
    return this.context.bursts.op[slot] === READ ? -1 : earlyHop(this.context.bursts.routes[slot]!);
  }

  /** Does the burst travel as a read? What a core's cache misses does, stores too. */
  travelsAsRead(slot: number): boolean {
    const { bursts } = this.context;
    if (bursts.op[slot] === READ) return true;
    return bursts.number[slot]! >= 0 && this.hitCycles[bursts.master[slot]!]! > 0;
  }

  private grow(least: number): void {
    let size = Math.max(64, this.readyAt.length);
    while (size < least) size *= 2;
    this.readyAt = widen(this.readyAt, new Float64Array(size));
    this.begun = widen(this.begun, new Int32Array(size));
    this.piece = widen(this.piece, new Int32Array(size));
    this.lastWay = widen(this.lastWay, new Int32Array(size));
    this.stalledAt = widen(this.stalledAt, new Float64Array(size));
    this.leftAt = widen(this.leftAt, new Float64Array(size * this.context.bursts.hops));
  }
}

function earlyHop({ hops }: Route): number {
  for (let hop = 0; hop < hops.length; hop++) if (hops[hop]!.early) return hop;
  return -1;
}
