import type { PortSpec } from '../scenario/scenario.js';
import { READ as READ_OP, WRITE as WRITE_OP } from './bursts.js';
import type { Context } from './context.js';
import { Crossbar, type CrossbarBase } from './crossbar.js';
import type { ForwardLane, Gate } from './forward-lane.js';
import type { ForwardQueue } from './forward-queue.js';
import type { Lane } from './lane.js';
import { Ledger } from './ledger.js';
import type { LaneWatcher } from './lane-watcher.js';

const READ = READ_OP;
const WRITE = WRITE_OP;

/** Bytes that a token bucket lets through: `depthBytes` at once, then `bytesPerS`. */
export class TokenBucket {
  /** When the bucket will be full again, if nothing more is taken. */
  private fullAt = 0;

  constructor(
    private readonly bytesPerS: number,
    private readonly depthBytes: number,
  ) {}

  /** First instant at or after `nowPs` at which `bytes` may pass; more than the depth passes from a full bucket. */
  opensAt(bytes: number, nowPs: number): number {
    const spare = Math.max(0, this.depthBytes - bytes);
    return Math.max(nowPs, this.fullAt - Math.floor((spare * 1e12) / this.bytesPerS));
  }

  take(bytes: number, nowPs: number): void {
    this.fullAt = Math.max(this.fullAt, nowPs) + Math.ceil((bytes * 1e12) / this.bytesPerS);
  }
}

/**
 * Where masters enter. It keeps a queue per master and direction, limits what is in flight beyond it, reserves the space
 * for read data before it asks, and hands answers back in ID order.
 */
export class Port extends Crossbar implements Gate, LaneWatcher {
  private readonly reads: Ledger;
  private readonly writes: Ledger;
  private readonly together: Ledger;
  private readonly returnSpace: Ledger;
  private readonly buckets: (TokenBucket | null)[];
  private readonly spaceBytes: number;
  /** Lanes that share a limit: those of one direction, and all where one limit holds for both. */
  private readonly sharing: ForwardLane[] = [];
  /** Place among them of the lane that goes first: the one after the lane granted last. */
  private first = 0;
  opensAt = 0.5;

  constructor(
    context: Context,
    base: CrossbarBase,
    private readonly spec: PortSpec,
  ) {
    super(context, base);
    this.reads = new Ledger(spec.maxReads);
    this.writes = new Ledger(spec.maxWrites);
    this.together = new Ledger(spec.inFlight);
    this.spaceBytes = spec.returnSpaceBytes;
    this.returnSpace = new Ledger(this.spaceBytes);
    const { regulator } = spec;
    // one bucket per direction, as the two address channels are separate
    this.buckets = [READ, WRITE].map(() =>
      regulator === null ? null : new TokenBucket(regulator.bytesPerS, regulator.depthBytes),
    );
  }

  override finish(): void {
    super.finish();
    const { maxReads, maxWrites, inFlight, returnSpaceBytes, regulator, qos } = this.spec;
    // without a limit there is nothing to judge, nor anybody to wake up when a burst leaves
    const limited = Math.min(maxReads, maxWrites, inFlight, returnSpaceBytes) < Infinity;
    if (limited) for (const lane of [...this.readLanes, ...this.writeLanes]) lane.watcher = this;
    if (!limited && regulator === null && qos === null) return;
    for (const lane of [...this.readOut, ...this.writeOut]) lane.gate = this;
    if (this.outputs.length > 1 || this.spec.inFlight < Infinity) this.sharing.push(...this.readOut, ...this.writeOut);
  }

  /** One after the other from `first` on, whatever the order in which they were woken: no two may take the same place. */
  inTurn(lane: ForwardLane): boolean {
    const { sharing, first } = this;
    if (sharing.length === 0) return false;
    for (let k = 0; k < sharing.length; k++) {
      const other = sharing[(first + k) % sharing.length]!;
      if (other === lane || other.due) other.decide();
    }
    return true;
  }

  judge(slot: number): void {
    const { bursts, calendar } = this.context;
    const read = bursts.op[slot] === READ;
    this.opensAt = calendar.now;
    if (this.isAwaited(read)) {
      this.ask(read ? this.reads : this.writes, 1);
      this.ask(this.together, 1);
    }
    if (read) this.ask(this.returnSpace, this.held(slot));
    const bucket = this.buckets[bursts.op[slot]!]!;
    if (bucket !== null) this.opensAt = Math.max(this.opensAt, bucket.opensAt(bursts.bytes[slot]!, calendar.now));
  }

  passed(slot: number): void {
    const { bursts, calendar } = this.context;
    const read = bursts.op[slot] === READ;
    if (this.isAwaited(read)) {
      (read ? this.reads : this.writes).take(1);
      this.together.take(1);
    }
    if (read) this.returnSpace.take(this.held(slot));
    this.buckets[bursts.op[slot]!]?.take(bursts.bytes[slot]!, calendar.now);
    if (this.sharing.length === 0) return;
    const { output } = bursts.routes[slot]!.hops[bursts.hop[slot]!]!;
    this.first = this.sharing.indexOf(this.out(output, !read)) + 1;
  }

  left(slot: number, lane: Pick<Lane, 'freeAt'>): void {
    const { bursts } = this.context;
    const read = bursts.op[slot] === READ;
    if (!this.isAwaited(read)) return;
    const timePs = lane.freeAt;
    (read ? this.reads : this.writes).giveBack(1, timePs);
    this.together.giveBack(1, timePs);
    if (read) this.returnSpace.giveBack(this.held(slot), timePs);
    for (const out of this.readOut) out.kick(timePs);
    for (const out of this.writeOut) out.kick(timePs);
  }

  /** A port asks for a write only when it has the whole burst, unless set to ask at the first beat. */
  protected override awaitHead(queue: ForwardQueue): void {
    if (!queue.write || this.spec.writeStart === 'first_beat') {
      super.awaitHead(queue);
      return;
    }
    const { bursts } = this.context;
    const slot = queue.head;
    // a port may stand behind another, so its place on the route is not always the first
    const hop = bursts.hop[slot]!;
    const lastAt = bursts.beats[bursts.beatBase(slot, hop) + bursts.beatCount(slot, hop) - 1]!;
    if (lastAt > queue.eligibleAt) queue.eligibleAt = lastAt;
  }

  private ask(ledger: Ledger, amount: number): void {
    if (!ledger.has(amount, this.context.calendar) && ledger.opensAt > this.opensAt) this.opensAt = ledger.opensAt;
  }

  /** Is an answer awaited from beyond? Not to writes that the port answers itself, before or after they have gone on. */
  private isAwaited(read: boolean): boolean {
    return read || this.spec.writeResponse === 'final';
  }

  /** Return space that a read needs; a burst larger than all of it may go when the port is empty. */
  private held(slot: number): number {
    return Math.min(this.context.bursts.bytes[slot]!, this.spaceBytes);
  }
}
