import type { Clock } from '../engine/clock.js';
import type { ArbitrationSpec } from '../scenario/scenario.js';
import { Arbiter } from './arbiter.js';
import type { Context } from './context.js';
import { ForwardQueue, type QueueOwner, type QueueSender } from './forward-queue.js';
import { ReturnLane } from './return-lane.js';
import { QueueMeter, type TimeMeter } from './window.js';

/** What a channel of an element did within the window, for resources.csv. */
export interface ChannelUse {
  /** Name within the element, such as `ddr write`. */
  readonly name: string;
  /** Servers, banks and DRAM channels work side by side; the element is busy by their mean, else by its busiest channel. */
  readonly kind: 'channel' | 'server';
  readonly busy: TimeMeter;
  readonly stalled: TimeMeter | null;
  readonly grants: number;
}

/** What an element is made from, whatever its kind. */
export interface ElementBase {
  readonly index: number;
  readonly name: string;
  readonly kind: string;
  readonly clock: Clock;
  readonly widthBytes: number;
  readonly syncCycles: number;
  /** May narrow beats be packed into this element's wider ones? */
  readonly pack: boolean;
  readonly queueDepth: number;
  /** Does a write count as answered once this element has it whole? */
  readonly early: boolean;
  readonly backwardCycles: number;
  readonly arbitration: ArbitrationSpec;
}

/**
 * A place that bursts go through or end at. An element is made in steps: constructed, its inputs added one by one, then
 * `finish`ed, after which routes may ask for its queues and lanes.
 */
export abstract class Element implements QueueOwner {
  readonly inputs: string[] = [];
  private readonly depths: number[] = [];
  protected readonly readQueues: ForwardQueue[][] = [];
  protected readonly writeQueues: ForwardQueue[][] = [];
  protected readonly readLanes: ReturnLane[] = [];
  protected readonly writeLanes: ReturnLane[] = [];

  /** Bursts in all input queues together, from the sender's send until their place is given back. */
  readonly queued: QueueMeter;

  constructor(
    protected readonly context: Context,
    readonly base: ElementBase,
  ) {
    this.queued = new QueueMeter(context.window);
  }

  /** Adds an input for the link from `from`, its queues as deep as the element's unless stated; answers its number. */
  addInput(from: string, depth = this.base.queueDepth): number {
    this.inputs.push(from);
    this.depths.push(depth);
    return this.inputs.length - 1;
  }

  /** Names of what the answers come back from, in order: the outputs of a crossbar, itself for an end point. */
  protected abstract sources(): readonly string[];

  /** How many queues an input keeps per direction: one, or one per output. */
  protected queuesPerInput(): number {
    return 1;
  }

  /** Makes queues and lanes; call once, after the last input. */
  finish(): void {
    const perInput = this.queuesPerInput();
    for (let input = 0; input < this.inputs.length; input++) {
      this.readQueues.push(this.makeQueues(input, false, perInput));
      this.writeQueues.push(this.makeQueues(input, true, perInput));
      this.readLanes.push(this.makeLane());
      this.writeLanes.push(this.makeLane());
    }
  }

  /** The queue of an input for what goes on to `output` (−1: ends here). */
  queue(input: number, write: boolean, output: number): ForwardQueue {
    const queues = (write ? this.writeQueues : this.readQueues)[input]!;
    return queues.length === 1 ? queues[0]! : queues[output]!;
  }

  /** The way back to an input. */
  lane(input: number, write: boolean): ReturnLane {
    return (write ? this.writeLanes : this.readLanes)[input]!;
  }

  /** Declares who sends into an input's queues. */
  setSender(input: number, write: boolean, sender: QueueSender): void {
    for (const queue of (write ? this.writeQueues : this.readQueues)[input]!) queue.sender = sender;
  }

  abstract arrived(queue: ForwardQueue): void;

  /** All queues. */
  *queues(): Iterable<ForwardQueue> {
    for (const input of [...this.readQueues, ...this.writeQueues]) yield* input;
  }

  /** The channels of this element: its ways back, and whatever else a kind adds. */
  *channels(): Iterable<ChannelUse> {
    for (const [input, name] of this.inputs.entries()) {
      yield laneUse(`${name} read data`, this.readLanes[input]!);
      yield laneUse(`${name} write response`, this.writeLanes[input]!);
    }
  }

  /** Brings its counters up to `endPs`, the end of the run. */
  settle(endPs: number): void {
    this.queued.settle(endPs);
  }

  private makeQueues(input: number, write: boolean, count: number): ForwardQueue[] {
    const depth = this.depths[input]!;
    return Array.from({ length: count }, () => new ForwardQueue(this.context, this, input, write, depth, this.queued));
  }

  private makeLane(): ReturnLane {
    const { index, clock, backwardCycles, arbitration } = this.base;
    const arbiter = new Arbiter(returnPolicy(arbitration), this.sources(), this.context.bursts);
    return new ReturnLane(this.context, index, clock, backwardCycles, arbiter);
  }
}

function laneUse(name: string, lane: ReturnLane): ChannelUse {
  return { name, kind: 'channel', busy: lane.busy, stalled: null, grants: lane.grants };
}

/** Time slots divide the way forward only: an answer belongs to a request that had its slot. */
function returnPolicy(spec: ArbitrationSpec): ArbitrationSpec {
  return spec.policy === 'time_slots' ? { ...spec, policy: 'round_robin', slots: [] } : spec;
}
