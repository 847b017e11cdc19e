// Hot path: hands each step of a burst to the part of the recorder that knows the place.
import { Probe } from '../../model/probe.js';
import type { Access } from '../../model/dram/access.js';
import type { Channel } from '../../model/dram/channel.js';
import type { Simulation } from '../../model/simulation.js';
import type { SystemSpec } from '../../scenario/scenario.js';
import { Books } from './books.js';
import { CacheVisits } from './cache-visits.js';
import type { Chains } from './chains.js';
import { MemoryVisits } from './memory-visits.js';
import type { Sample } from './sample.js';
import { Servers } from './servers.js';
import { WayBack } from './way-back.js';
import { WayOut } from './way-out.js';

/** The parts of the recorder of journeys, each of which knows a place. */
class Parts {
  readonly books: Books;
  readonly wayOut: WayOut;
  readonly wayBack: WayBack;
  readonly servers: Servers;
  readonly memory: MemoryVisits;
  readonly caches: CacheVisits;

  constructor(simulation: Simulation, system: SystemSpec, blames: boolean, followsAll: boolean) {
    this.books = new Books(simulation, system, blames, followsAll);
    this.wayOut = new WayOut(this.books);
    this.wayBack = new WayBack(this.books);
    this.servers = new Servers(this.books);
    this.memory = new MemoryVisits(this.books);
    this.caches = new CacheVisits(this.books);
  }
}

/**
 * A probe that, once it is told to, follows every burst from its wish to its end and keeps the chain of where its time went,
 * and of whom it waited for. The chain of a burst is whole when `completed` returns, and stands until its slot is used again.
 */
export class Tracer extends Probe {
  private parts: Parts | null = null;
  private sample: Sample | null = null;
  private blames = false;
  /** The access of a core that waited for another's line and is about to be done, or −1. */
  private waiter = -1;

  /**
   * From now on follows bursts of a simulation that has not begun, a sample of those that count, or with `followsAll` all there
   * are; with `blames` also whom they wait for.
   */
  follow(simulation: Simulation, system: SystemSpec, blames: boolean, followsAll: boolean): void {
    this.parts = new Parts(simulation, system, blames, followsAll);
    this.sample = this.parts.books.sample;
    this.blames = blames;
  }

  /** Is nobody followed who is in flight? Nearly all the time, so that this is asked before anything else. */
  private get isQuiet(): boolean {
    return this.sample === null || this.sample.inFlight === 0;
  }

  /** By slot of a burst: where its time went; null where none is followed. */
  get chains(): Chains | null {
    return this.parts === null ? null : this.parts.books.chains;
  }

  /** Is the waiting of the burst charged to whoever caused it? */
  charges(slot: number): boolean {
    return this.sample!.charged(slot);
  }

  /** For how many bursts it stands among those that are watched; 0 where it is not. */
  weight(slot: number): number {
    return this.sample!.weight(slot);
  }

  /** The same among those of them that are charged. */
  chargedWeight(slot: number): number {
    return this.sample!.chargedWeight(slot);
  }

  override offered(slot: number): void {
    this.parts?.wayOut.offered(slot);
  }

  override accepted(slot: number): void {
    if (!this.isQuiet) this.parts!.wayOut.accepted(slot);
  }

  override lost(slot: number): void {
    this.sample?.ends(slot);
  }

  override waits(slot: number, _element: number, fromPs: number): void {
    this.parts?.wayOut.waits(slot, fromPs);
  }

  override findsRoom(slot: number): void {
    this.parts?.wayOut.findsRoom(slot);
  }

  override granted(slot: number, element: number, hop: number, place: number): void {
    // for blame it is noted whenever a head is no longer held up
    if (!this.isQuiet || this.blames) this.parts!.wayOut.granted(slot, element, hop, place);
  }

  override taken(slot: number, element: number, unit: number, untilPs: number): void {
    this.parts?.servers.taken(slot, element, unit, untilPs);
  }

  override cut(slot: number, element: number, channel: Channel, access: Access, last: boolean): void {
    if (!this.isQuiet) this.parts!.memory.cut(slot, element, channel, access, last);
  }

  override chosen(_element: number, channel: Channel, access: Access, found: number, clock: number): void {
    if (!this.isQuiet) this.parts!.memory.chosen(channel, access, found, clock);
  }

  override served(element: number, channel: Channel, access: Access, clock: number, readyPs: number): void {
    if (!this.isQuiet) this.parts!.memory.served(element, channel, access, clock, readyPs);
  }

  override refreshed(
    element: number,
    channel: Channel,
    rank: number,
    bank: number,
    from: number,
    to: number,
    at: number,
  ): void {
    this.parts?.memory.refreshed(element, channel, rank, bank, from, to, at);
  }

  override lookedUp(slot: number, element: number, index: number, master: number): void {
    this.parts?.caches.lookedUp(slot, element, index, master);
  }

  override lineAnswered(
    slot: number,
    element: number,
    index: number,
    edge: number,
    snoop: number,
    child: number,
  ): void {
    this.parts?.caches.answered(slot, element, index, edge, snoop, child);
  }

  override lineReturned(slot: number, index: number, child: number): void {
    this.parts?.caches.returned(slot, index, child);
  }

  override injected(slot: number, index: number): void {
    this.parts?.caches.injected(slot, index);
  }

  override lineJoined(slot: number, flight: number): void {
    const { parts } = this;
    if (parts === null) return;
    this.waiter = slot;
    parts.wayOut.inPrivateCache(slot, flight);
    const { books } = parts;
    if (books.sample.followed(slot)) books.chains.follow(slot, books.chains, flight);
  }

  override sent(slot: number, hop: number, edge: number, cycles: number, last: boolean): void {
    if (!this.isQuiet) this.parts!.wayBack.sent(slot, hop, edge, cycles, last);
  }

  override completed(slot: number): void {
    const { parts } = this;
    if (parts === null) return;
    if (parts.books.context.bursts.acceptedAt[slot]! >= 0) {
      parts.memory.completed(slot);
      parts.wayBack.completed(slot);
      if (parts.books.context.bursts.number[slot]! >= 0) parts.books.sample.ends(slot);
    } else if (slot !== this.waiter) parts.wayOut.inPrivateCache(slot);
    parts.books.sample.lands(slot);
    this.waiter = -1;
  }
}
