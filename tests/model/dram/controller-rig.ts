import { Calendar } from '../../../src/engine/calendar.js';
import type { Carrier } from '../../../src/engine/carrier.js';
import type { Actor } from '../../../src/engine/calendar.js';
import { Clock } from '../../../src/engine/clock.js';
import { Phase } from '../../../src/engine/phase.js';
import { Bursts, Pending, READ, WRITE } from '../../../src/model/bursts.js';
import { Finals } from '../../../src/model/finals.js';
import type { Context } from '../../../src/model/context.js';
import { DdrController } from '../../../src/model/dram/controller.js';
import type { Route } from '../../../src/model/route.js';
import { Window } from '../../../src/model/window.js';
import type { DdrSpec } from '../../../src/scenario/scenario.js';
import { LogProbe } from './rig.js';

/** A burst to send: it is usable at the controller's input at `atPs`; a write's beats follow one a cycle. */
export interface Sent {
  readonly write: boolean;
  readonly address: number;
  readonly bytes: number;
  readonly atPs: number;
  readonly input?: number;
  readonly master?: number;
  readonly qos?: number;
  readonly id?: number;
  /** Cycles between the beats of a write's data. */
  readonly beatCycles?: number;
}

/** What came back: when each beat was usable on the way back, or the response; and when it was delivered. */
export interface Back {
  readonly usableAt: readonly number[];
  readonly deliveredAt: number;
}

/** A controller on its own, its inputs fed with bursts by hand. */
export class ControllerRig implements Actor {
  readonly calendar: Calendar;
  readonly probe = new LogProbe();
  readonly context: Context;
  readonly controller: DdrController;
  readonly back: Back[] = [];
  /** Numbers of the bursts in the order in which they came back whole. */
  readonly order: number[] = [];
  onBack: ((number: number) => void) | null = null;
  private readonly routes: Route[] = [];
  private readonly waiting: { sent: Sent; number: number }[] = [];
  private readonly carrier: Carrier;
  private count = 0;

  constructor(
    readonly spec: DdrSpec,
    readonly clock: Clock,
    options: { inputs?: number; seed?: string; shuffle?: () => number; window?: Window; keepIdOrder?: number[] } = {},
  ) {
    this.calendar = new Calendar(options.shuffle ?? null);
    this.context = {
      calendar: this.calendar,
      bursts: new Bursts(1, 4096 / spec.widthBytes + 1),
      probe: this.probe,
      window: options.window ?? new Window(0, Infinity),
      seed: options.seed ?? 'seed',
      replication: 0,
      warnings: new Map(),
      places: { count: 0, lanes: [] },
      tally: { counted: 0, issuedBursts: 0, completedBursts: 0 },
      stale: null,
      tasks: null,
      finals: new Finals(),
    };
    this.controller = new DdrController(
      this.context,
      {
        index: 0,
        name: spec.name,
        kind: 'ddr',
        clock,
        widthBytes: spec.widthBytes,
        syncCycles: 0,
        pack: true,
        queueDepth: Infinity,
        early: false,
        backwardCycles: 1,
        arbitration: spec.arbitration,
      },
      spec,
    );
    for (const master of options.keepIdOrder ?? []) this.controller.keepIdOrder(master);
    for (let input = 0; input < (options.inputs ?? 1); input++) this.controller.addInput(`in${input}`);
    this.controller.finish();
    for (let input = 0; input < (options.inputs ?? 1); input++) this.routes.push(this.route(input));
    this.carrier = this.calendar.carrier(this, 0, Phase.arrive);
  }

  /** Plans a burst; answers its number. */
  send(sent: Sent): number {
    this.waiting.push({ sent, number: this.count });
    this.waiting.sort((a, b) => a.sent.atPs - b.sent.atPs || a.number - b.number);
    this.calendar.armBy(this.carrier, this.waiting[0]!.sent.atPs);
    return this.count++;
  }

  run(untilPs: number): void {
    this.calendar.run(untilPs);
  }

  wake(): void {
    while (this.waiting.length > 0 && this.waiting[0]!.sent.atPs <= this.calendar.now) {
      const { sent, number } = this.waiting.shift()!;
      this.push(sent, number);
    }
    if (this.waiting.length > 0) this.calendar.armBy(this.carrier, this.waiting[0]!.sent.atPs);
  }

  private push(sent: Sent, number: number): void {
    const { bursts, tally } = this.context;
    const slot = bursts.allocate(this.routes[sent.input ?? 0]!);
    bursts.op[slot] = sent.write ? WRITE : READ;
    bursts.master[slot] = sent.master ?? sent.input ?? 0;
    bursts.number[slot] = number;
    bursts.id[slot] = sent.id ?? 0;
    bursts.qos[slot] = sent.qos ?? 0;
    bursts.address[slot] = sent.address;
    bursts.bytes[slot] = sent.bytes;
    bursts.clearBeats(slot);
    bursts.usableAt[slot] = sent.atPs;
    const edge = this.clock.indexFrom(sent.atPs);
    if (sent.write) {
      const base = bursts.beatBase(slot, 0);
      for (let k = 0; k < bursts.beatCount(slot, 0); k++) {
        bursts.beats[base + k] = this.clock.at(edge + k * (sent.beatCycles ?? 1));
      }
    }
    tally.issuedBursts++;
    this.controller.queue(sent.input ?? 0, sent.write, -1).push(slot);
  }

  private route(input: number): Route {
    const { controller } = this;
    return {
      hops: [
        {
          element: 0,
          clock: this.clock,
          syncIn: 0,
          syncBack: 0,
          beatBytes: this.spec.widthBytes,
          input,
          output: -1,
          reads: controller.queue(input, false, -1),
          writes: controller.queue(input, true, -1),
          readLane: controller.lane(input, false),
          writeLane: controller.lane(input, true),
          early: false,
        },
      ],
      sink: {
        receive: (slot, first, end, last, edge) => this.received(slot, last, this.clock.at(edge + end - first - 1)),
      },
      target: 'ddr',
      refill: -1,
      immediate: false,
      early: false,
      lossy: false,
    };
  }

  private received(slot: number, last: boolean, timePs: number): void {
    if (!last) return;
    const { bursts, tally } = this.context;
    const number = bursts.number[slot]!;
    const base = bursts.beatBase(slot, 0);
    const usableAt =
      bursts.op[slot] === WRITE
        ? [bursts.responseAt[slot]!]
        : [...bursts.beats.subarray(base, base + bursts.beatCount(slot, 0))];
    this.back[number] = { usableAt, deliveredAt: timePs };
    this.order.push(number);
    tally.completedBursts++;
    bursts.settle(slot, Pending.response);
    this.onBack?.(number);
  }
}
