// Hot path: one entry per request, from its wanted instant until its last burst is back. Columns, grown by doubling.

/** A request as somebody wants it. */
export interface WantedRequest {
  readonly wantedPs: number;
  readonly offset: number;
  readonly bytes: number;
  readonly thinkPs: number;
  readonly serviceDraw: number;
}

/** Requests of one master and direction: a first-in first-out backlog of those not yet cut, and those in flight. */
export class RequestTable {
  wantedAt = new Float64Array(0);
  /** Offset within the master's buffer. */
  offset = new Float64Array(0);
  bytes = new Float64Array(0);
  thinkPs = new Float64Array(0);
  serviceDraw = new Float64Array(0);
  /** The number under which a task asked for it; −1: the master wants it itself. */
  ask = new Int32Array(0);
  /** By what the draws of a task's request go. */
  drawKey = new Float64Array(0);
  /** Bursts not back yet; −1 while more may still be cut from it. */
  open = new Int32Array(0);
  /** Bursts of it that are in flight. */
  flying = new Int32Array(0);
  /** 1: one of its bursts was lost, so that it never completes. */
  lost = new Uint8Array(0);

  /** Requests that wait to be cut. */
  backlog = 0;
  private queue = new Int32Array(0);
  private first = 0;
  private free = new Int32Array(0);
  private freeCount = 0;
  private capacity = 0;

  constructor() {
    this.grow(16);
  }

  /** A new request at the end of the backlog; the caller fills its columns. */
  append(): number {
    if (this.freeCount === 0) this.grow(this.capacity * 2);
    const request = this.free[--this.freeCount]!;
    this.open[request] = 1;
    this.flying[request] = 0;
    this.lost[request] = 0;
    this.ask[request] = -1;
    this.queue[(this.first + this.backlog++) & (this.capacity - 1)] = request;
    return request;
  }

  /**
   * The same, its columns filled; `ask` is the number under which a task wants it, −1 where the master does, `drawKey` what
   * the draws of a task's request go by.
   */
  add(wanted: WantedRequest, ask = -1, drawKey = 0): number {
    const request = this.append();
    this.wantedAt[request] = wanted.wantedPs;
    this.offset[request] = wanted.offset;
    this.bytes[request] = wanted.bytes;
    this.thinkPs[request] = wanted.thinkPs;
    this.serviceDraw[request] = wanted.serviceDraw;
    this.ask[request] = ask;
    this.drawKey[request] = drawKey;
    return request;
  }

  /** The request at the head of the backlog, or −1. */
  get head(): number {
    return this.backlog === 0 ? -1 : this.queue[this.first]!;
  }

  /** Takes the head out of the backlog: it is being cut. */
  shift(): number {
    const request = this.queue[this.first]!;
    this.first = (this.first + 1) & (this.capacity - 1);
    this.backlog--;
    return request;
  }

  /** The waiting requests, oldest first. */
  *waiting(): Iterable<number> {
    for (let i = 0; i < this.backlog; i++) yield this.queue[(this.first + i) & (this.capacity - 1)]!;
  }

  /** No further burst will be cut from it. Answers true if it is finished. */
  close(request: number): boolean {
    this.open[request] = 0;
    return this.flying[request] === 0;
  }

  /** One of its bursts is back. Answers true if it is finished. */
  landed(request: number): boolean {
    return --this.flying[request]! === 0 && this.open[request] === 0;
  }

  /** The record may be used again. */
  release(request: number): void {
    this.free[this.freeCount++] = request;
  }

  private grow(capacity: number): void {
    const queue = new Int32Array(capacity);
    for (let i = 0; i < this.backlog; i++) queue[i] = this.queue[(this.first + i) & (this.capacity - 1)]!;
    this.queue = queue;
    this.first = 0;
    this.wantedAt = copied(this.wantedAt, new Float64Array(capacity));
    this.offset = copied(this.offset, new Float64Array(capacity));
    this.bytes = copied(this.bytes, new Float64Array(capacity));
    this.thinkPs = copied(this.thinkPs, new Float64Array(capacity));
    this.serviceDraw = copied(this.serviceDraw, new Float64Array(capacity));
    this.drawKey = copied(this.drawKey, new Float64Array(capacity));
    this.ask = copied(this.ask, new Int32Array(capacity));
    this.open = copied(this.open, new Int32Array(capacity));
    this.flying = copied(this.flying, new Int32Array(capacity));
    this.lost = copied(this.lost, new Uint8Array(capacity));
    this.free = copied(this.free, new Int32Array(capacity));
    for (let request = capacity - 1; request >= this.capacity; request--) this.free[this.freeCount++] = request;
    this.capacity = capacity;
  }
}

function copied<T extends Uint8Array | Int32Array | Float64Array>(old: T, next: T): T {
  next.set(old);
  return next;
}
