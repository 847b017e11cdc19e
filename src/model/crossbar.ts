import { Arbiter } from './arbiter.js';
import type { Context } from './context.js';
import { Element, type ChannelUse, type ElementBase } from './element.js';
import { ForwardLane } from './forward-lane.js';
import type { ForwardQueue } from './forward-queue.js';

/** What a crossbar has beyond every element. */
export interface CrossbarBase extends ElementBase {
  readonly forwardCycles: number;
  readonly queues: 'per_input' | 'per_output';
}

/**
 * Inputs joined to outputs, an arbiter per output and direction. Disjoint pairs of input and output do not disturb each
 * other. Switches and ports are crossbars, and so is the way past the tags of a coherence unit.
 */
export class Crossbar extends Element {
  readonly outputs: string[] = [];
  protected readonly readOut: ForwardLane[] = [];
  protected readonly writeOut: ForwardLane[] = [];

  constructor(
    context: Context,
    override readonly base: CrossbarBase,
  ) {
    super(context, base);
  }

  /** Adds an output for the link to `to`; answers its number. */
  addOutput(to: string): number {
    this.outputs.push(to);
    return this.outputs.length - 1;
  }

  override finish(): void {
    super.finish();
    for (let output = 0; output < this.outputs.length; output++) {
      this.readOut.push(this.makeLaneOut());
      this.writeOut.push(this.makeLaneOut());
    }
  }

  /** The lane that serves an output in one direction. */
  out(output: number, write: boolean): ForwardLane {
    return (write ? this.writeOut : this.readOut)[output]!;
  }

  arrived(queue: ForwardQueue): void {
    this.present(queue);
  }

  override *channels(): Iterable<ChannelUse> {
    for (const [output, name] of this.outputs.entries()) {
      yield outUse(`${name} read address`, this.readOut[output]!);
      yield outUse(`${name} write`, this.writeOut[output]!);
    }
    yield* super.channels();
  }

  /** The head of a queue is not eligible before it can act here; a port waits for whole write bursts. */
  protected awaitHead(queue: ForwardQueue): void {
    const usableAt = this.context.bursts.usableAt[queue.head]!;
    if (usableAt > queue.eligibleAt) queue.eligibleAt = usableAt;
  }

  protected sources(): readonly string[] {
    return this.outputs;
  }

  protected override queuesPerInput(): number {
    return this.base.queues === 'per_output' ? this.outputs.length : 1;
  }

  /** Puts the head of a queue to the output it wants. */
  private readonly present = (queue: ForwardQueue): void => {
    const { bursts } = this.context;
    this.awaitHead(queue);
    const slot = queue.head;
    const { hops } = bursts.routes[slot]!;
    const hop = bursts.hop[slot]!;
    const beyond = hops[hop + 1]!;
    queue.target = queue.write ? beyond.writes : beyond.reads;
    this.out(hops[hop]!.output, queue.write).ask(queue);
  };

  private makeLaneOut(): ForwardLane {
    const { index, clock, forwardCycles, arbitration } = this.base;
    const arbiter = new Arbiter(arbitration, this.inputs, this.context.bursts);
    return new ForwardLane(this.context, index, clock, forwardCycles, arbiter, this.present);
  }
}

function outUse(name: string, lane: ForwardLane): ChannelUse {
  return { name, kind: 'channel', busy: lane.busy, stalled: lane.stalled, grants: lane.grants };
}
