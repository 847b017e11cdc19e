import { Probe } from '../../model/probe.js';
import type { Access } from '../../model/dram/access.js';
import type { Channel } from '../../model/dram/channel.js';

/** A probe that passes on to another, `journey`, what concerns the way of single bursts. */
export class Traced extends Probe {
  protected journey: Probe = new Probe();

  override offered(slot: number): void {
    this.journey.offered(slot);
  }

  override accepted(slot: number): void {
    this.journey.accepted(slot);
  }

  override waits(slot: number, element: number, fromPs: number): void {
    this.journey.waits(slot, element, fromPs);
  }

  override findsRoom(slot: number): void {
    this.journey.findsRoom(slot);
  }

  override granted(slot: number, element: number, hop: number, place: number): void {
    this.journey.granted(slot, element, hop, place);
  }

  override taken(slot: number, element: number, unit: number, untilPs: number): void {
    this.journey.taken(slot, element, unit, untilPs);
  }

  override cut(slot: number, element: number, channel: Channel, access: Access, last: boolean): void {
    this.journey.cut(slot, element, channel, access, last);
  }

  override chosen(element: number, channel: Channel, access: Access, found: number, clock: number): void {
    this.journey.chosen(element, channel, access, found, clock);
  }

  override served(element: number, channel: Channel, access: Access, clock: number, readyPs: number): void {
    this.journey.served(element, channel, access, clock, readyPs);
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
    this.journey.refreshed(element, channel, rank, bank, from, to, at);
  }

  override lookedUp(slot: number, element: number, index: number, master: number): void {
    this.journey.lookedUp(slot, element, index, master);
  }

  override lineAnswered(
    slot: number,
    element: number,
    index: number,
    edge: number,
    snoop: number,
    child: number,
  ): void {
    this.journey.lineAnswered(slot, element, index, edge, snoop, child);
  }

  override lineReturned(slot: number, index: number, child: number): void {
    this.journey.lineReturned(slot, index, child);
  }

  override injected(slot: number, parent: number, index: number): void {
    this.journey.injected(slot, parent, index);
  }

  override lineJoined(slot: number, flight: number): void {
    this.journey.lineJoined(slot, flight);
  }

  override sent(slot: number, hop: number, edge: number, cycles: number, last: boolean): void {
    this.journey.sent(slot, hop, edge, cycles, last);
  }

  override completed(slot: number): void {
    this.journey.completed(slot);
  }
}
