// Hot path: `advance` runs once a request and fills fields; add no objects and no closures there.
import { randomStream, type RandomStream } from '../engine/random.js';
import type { MasterSpec, TraceEntry } from '../scenario/scenario.js';
import type { Arrivals } from './arrivals.js';
import { roundedDraw } from './distribution.js';
import { makeArrivals } from './issue-process.js';
import { makePattern, type AddressSource } from './pattern.js';

/**
 * The requests of one master, one at a time: `advance` puts the next one into the public fields.
 *
 * Everything random about a request is drawn here, by its number, each purpose from a stream of its own that is named
 * after the master alone. What it is attached to, who else there is and how the run goes change nothing. (A purpose that
 * the specification leaves nothing to chance has no draws; the others are none the wiser.)
 */
export class RequestSource {
  /** When it is wanted, in ps from the start of the run; Infinity: there are no more. Not used by closed sources. */
  wantedPs = Infinity;
  write = false;
  /** First byte within the buffer. */
  offset = 0;
  bytes = 0;
  /** How long a dependent source thinks between the end of this request and the next, in ps. */
  thinkPs = 0;
  /** Uniform in [0, 1), for the service time at a device. */
  serviceDraw = 0;
  /** Number of the request, from 0; −1 before the first. */
  index = -1;
  /** Does it want by the clock, whatever becomes of its requests? If not, the model says when each is wanted. */
  readonly isOpen: boolean;

  private readonly arrivals: Arrivals | null;
  private readonly trace: readonly TraceEntry[] | null;
  private readonly size: () => number;
  private readonly think: () => number;
  private readonly operation: RandomStream;
  private readonly service: RandomStream | null;
  private readonly addresses: AddressSource;
  private readonly readShare: number;
  private readonly startPs: number;
  private readonly stopPs: number;
  private ended: boolean;

  /**
   * Throws a RangeError on a specification that cannot be carried out, naming the master.
   *
   * @param atDevice is the buffer in a device? Nothing else asks for `serviceDraw`, which is else 0
   */
  constructor(spec: MasterSpec, bufferBytes: number, seed: string, replication: number, atDevice = true) {
    const stream = (purpose: string): RandomStream => randomStream(seed, replication, spec.name, purpose);
    const { issue } = spec;
    try {
      this.size = roundedDraw(spec.size, stream('size'), 1, bufferBytes);
      this.think = issue.process === 'dependent' ? roundedDraw(issue.think, stream('think')) : () => 0;
      this.addresses = makePattern(spec.pattern, bufferBytes, stream('address'), stream('layout'));
      this.arrivals = makeArrivals(spec, bufferBytes, stream);
      this.trace = issue.process === 'trace' ? checkedTrace(issue.entries, bufferBytes) : null;
    } catch (error) {
      throw error instanceof RangeError ? new RangeError(`master ${spec.name}: ${error.message}`) : error;
    }
    this.operation = spec.readShare === 1 ? () => 0 : spec.readShare === 0 ? () => 1 : stream('operation');
    this.service = atDevice ? stream('service') : null;
    this.isOpen = issue.process !== 'greedy' && issue.process !== 'dependent';
    this.readShare = spec.readShare;
    this.startPs = spec.startPs;
    this.stopPs = spec.stopPs;
    this.ended = issue.process === 'silent';
  }

  /** Goes on to the next request; once `wantedPs` is Infinity, to nothing. */
  advance(): void {
    if (this.ended) return;
    this.index++;
    if (this.service !== null) this.serviceDraw = this.service();
    this.thinkPs = this.think();
    if (this.trace !== null) {
      this.replay(this.trace);
      return;
    }
    this.bytes = this.size();
    if (this.arrivals !== null) {
      this.arrivals.next(this.bytes);
      this.bytes = this.arrivals.bytes;
      this.wantedPs = this.arrivals.atPs;
      if (this.wantedPs >= this.stopPs) this.end();
    }
    this.write = this.operation() >= this.readShare;
    this.offset = this.addresses.next(this.bytes);
  }

  private replay(trace: readonly TraceEntry[]): void {
    const entry = trace[this.index];
    if (entry === undefined || this.startPs + entry.timePs >= this.stopPs) {
      this.end();
      return;
    }
    this.wantedPs = this.startPs + entry.timePs;
    this.write = entry.write;
    this.offset = entry.address;
    this.bytes = entry.bytes;
  }

  private end(): void {
    this.wantedPs = Infinity;
    this.ended = true;
  }
}

function checkedTrace(entries: readonly TraceEntry[], bufferBytes: number): readonly TraceEntry[] {
  let before = 0;
  for (const [index, { timePs, address, bytes }] of entries.entries()) {
    const where = `trace entry ${index + 1}`;
    if (!(timePs >= before)) throw new RangeError(`${where}: time must be at least ${before} ps, got ${timePs}`);
    if (!(bytes >= 1)) throw new RangeError(`${where}: bytes must be 1 or more, got ${bytes}`);
    if (!(address >= 0 && address + bytes <= bufferBytes)) {
      throw new RangeError(`${where}: must lie within the buffer of ${bufferBytes} bytes, got ${bytes} at ${address}`);
    }
    before = timePs;
  }
  return entries;
}
