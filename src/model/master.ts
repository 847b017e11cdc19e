import type { Actor } from '../engine/calendar.js';
import type { Carrier } from '../engine/carrier.js';
import type { Clock } from '../engine/clock.js';
import { Phase } from '../engine/phase.js';
import type { MasterSpec } from '../scenario/scenario.js';
import { RequestSource } from '../traffic/request-source.js';
import type { Context } from './context.js';
import { IssueSide } from './issue-side.js';
import type { SideOwner, SideParams } from './side-params.js';

/** What a master needs to know of where it stands. */
export interface MasterPlace {
  readonly index: number;
  readonly clock: Clock;
  readonly baseAddress: number;
  readonly bufferBytes: number;
  /** Is the buffer in a device? */
  readonly atDevice: boolean;
  /** Synchroniser cycles from the first element back into the master's clock. */
  readonly syncBack: number;
}

/**
 * Creates requests by its issue process and hands them to its read and its write side. Open sources want when their time
 * has come, whatever the state of the system; a greedy one whenever a place is free; a dependent one after its last
 * request came back.
 */
export class Master implements Actor, SideOwner {
  readonly reads: IssueSide;
  readonly writes: IssueSide;
  private readonly source: RequestSource;
  private readonly wantCarrier: Carrier;
  private started = false;
  // asked several times a burst, where comparing texts would tell
  private readonly greedy: boolean;
  private readonly dependent: boolean;
  private readonly clocked: boolean;

  constructor(
    private readonly context: Context,
    readonly spec: MasterSpec,
    private readonly place: MasterPlace,
  ) {
    this.greedy = spec.issue.process === 'greedy';
    this.dependent = spec.issue.process === 'dependent';
    this.clocked = place.clock.name !== 'none';
    this.source = new RequestSource(spec, place.bufferBytes, context.seed, context.replication, place.atDevice);
    this.wantCarrier = context.calendar.carrier(this, 0, Phase.arrive);
    this.reads = new IssueSide(context, this.sideParams(false), this);
    this.writes = new IssueSide(context, this.sideParams(true), this);
  }

  /** Draws the first request; call once, when routes are connected. */
  start(): void {
    const { source, context, spec } = this;
    source.advance();
    if (spec.issue.process === 'silent') return;
    if (source.isOpen) this.armNext();
    else if (spec.startPs < spec.stopPs) context.calendar.arm(this.wantCarrier, spec.startPs);
  }

  wake(): void {
    this.started = true;
    if (!this.source.isOpen) {
      this.wantNext();
      return;
    }
    const now = this.context.calendar.now;
    while (this.source.wantedPs <= now) this.wantOrDrop();
    this.armNext();
  }

  roomToIssue(): void {
    if (!this.started || !this.greedy) return;
    if (this.clocked) {
      // what is wanted now goes out at the edge in any case, so it needs no event of its own
      this.wantNext();
      return;
    }
    const side = this.source.write ? this.writes : this.reads;
    if (!side.idle || !side.hasRoom) return;
    const { calendar } = this.context;
    if (this.wantCarrier.due !== calendar.now) calendar.arm(this.wantCarrier, calendar.now);
  }

  /**
   * A task wants a request now, at an address within the memory; `ask` comes back when it is done, `drawKey` (below zero) is
   * what its draws at a cache go by.
   */
  ask(write: boolean, address: number, bytes: number, serviceDraw: number, ask: number, drawKey: number): void {
    const side = write ? this.writes : this.reads;
    const offset = address - this.place.baseAddress;
    const wantedPs = this.context.calendar.now;
    side.want(side.requests.add({ wantedPs, offset, bytes, thinkPs: 0, serviceDraw }, ask, drawKey));
  }

  requestDone(_write: boolean, thinkPs: number, ask: number): void {
    if (ask >= 0) this.context.tasks!.done(ask, this.context.calendar.now);
    if (ask >= 0 || !this.dependent) return;
    const at = this.context.calendar.now + thinkPs;
    if (at < this.spec.stopPs) this.context.calendar.arm(this.wantCarrier, at);
  }

  /** A closed source wants its next request now, if there is a place for it. */
  private wantNext(): void {
    const { source, context } = this;
    const side = source.write ? this.writes : this.reads;
    const now = context.calendar.now;
    if (now >= this.spec.stopPs) return;
    if (this.greedy && (!side.idle || !side.hasRoom)) return;
    const request = side.requests.add(source);
    side.requests.wantedAt[request] = now;
    side.want(request);
    source.advance();
    this.roomToIssue();
  }

  private wantOrDrop(): void {
    const { source, spec, place, context } = this;
    const side = source.write ? this.writes : this.reads;
    if (spec.whenFull === 'drop' && !side.hasSlot) {
      context.probe.requestDropped(place.index, source.write, source.bytes, source.wantedPs);
    } else {
      side.want(side.requests.add(source));
    }
    source.advance();
  }

  private armNext(): void {
    const { wantedPs } = this.source;
    if (wantedPs < Infinity) this.context.calendar.arm(this.wantCarrier, wantedPs);
  }

  private sideParams(write: boolean): SideParams {
    const { spec, place } = this;
    return {
      master: place.index,
      write,
      clock: place.clock,
      widthBytes: spec.widthBytes,
      burstBeats: spec.burstBeats,
      outstanding: write ? spec.maxWrites : spec.maxReads,
      ids: spec.ids,
      qos: spec.qos,
      baseAddress: place.baseAddress,
      syncBack: place.syncBack,
    };
  }
}
