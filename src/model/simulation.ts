import { Calendar } from '../engine/calendar.js';
import type { SystemSpec } from '../scenario/scenario.js';
import { build, recordSize, type Model } from './build.js';
import { Bursts } from './bursts.js';
import type { Context } from './context.js';
import { Finals } from './finals.js';
import { Probe } from './probe.js';
import { Window } from './window.js';

/** How one replication of a system is run. */
export interface SimulationOptions {
  readonly seed: string;
  readonly replication: number;
  /** Start and length of the measuring window. */
  readonly warmupPs: number;
  readonly durationPs: number;
  /** Longest wait after the window for what was wanted inside it. */
  readonly drainPs: number;
  readonly probe?: Probe;
  /** Draws that shuffle the order of events within a phase, to prove that no result depends on it. */
  readonly shuffle?: () => number;
  /** Told from time to time how much of the window and the warm-up before it is done, 0 to 1. */
  readonly onProgress?: (share: number) => void;
}

/** A drain is looked at so often in the length of a window: where it ends depends on it. */
const SLICES = 50;
const SHORTEST_PS = 1_000_000;
/** A run is interrupted for its caller so often in the length of a window, and at least after so long a time; results do not depend on it. */
const STEPS = 1000;
const LONGEST_STEP_PS = 50_000_000;

/** A run that cannot go on: bursts are in flight and nothing will ever happen. A fault of the model, not of the user. */
export class StuckError extends Error {
  override name = 'StuckError';
}

/** One replication of one system: its whole state, from the first instant to the last. */
export class Simulation {
  readonly context: Context;
  readonly model: Model;
  /** Up to where it was run, in ps: at least the end of the window. */
  endPs = 0;

  constructor(
    system: SystemSpec,
    private readonly options: SimulationOptions,
  ) {
    const { hops, beats } = recordSize(system);
    this.context = {
      calendar: new Calendar(options.shuffle ?? null),
      bursts: new Bursts(hops, beats),
      probe: options.probe ?? new Probe(),
      window: new Window(options.warmupPs, options.warmupPs + options.durationPs),
      seed: options.seed,
      replication: options.replication,
      warnings: new Map(),
      stale: null,
      tasks: null,
      finals: new Finals(),
      places: { count: 0, lanes: [] },
      tally: { counted: 0, issuedBursts: 0, completedBursts: 0 },
    };
    this.model = build(system, this.context);
  }

  /** Runs to the end of the window, then until all that was wanted inside it is back or the drain limit is reached. */
  run(): void {
    for (const share of this.steps()) this.options.onProgress?.(share);
  }

  /** The same for who has to look up in between: after each step, how much of the window and the warm-up is done. */
  *steps(): Generator<number, void> {
    const { calendar, tally, window } = this.context;
    const stepPs = Math.min(LONGEST_STEP_PS, Math.max(SHORTEST_PS, Math.ceil(window.toPs / STEPS)));
    for (const master of this.model.masters) master.start();
    this.model.tasks?.start();
    for (let until = 0; until < window.toPs;) {
      until = Math.min(until + stepPs, window.toPs);
      calendar.run(until - 1);
      yield until / window.toPs;
    }
    const slicePs = Math.max(SHORTEST_PS, Math.ceil(window.toPs / SLICES));
    const limit = window.toPs + this.options.drainPs;
    this.endPs = window.toPs;
    while (tally.counted > 0 && this.endPs < limit && !calendar.empty) {
      const from = this.endPs;
      this.endPs = Math.min(from + slicePs, limit);
      for (let until = from; until < this.endPs;) {
        until = Math.min(until + stepPs, this.endPs);
        calendar.run(until);
        yield 1;
      }
    }
    this.settle();
  }

  /** Brings every meter up to the end of the window, and checks that nothing was lost. */
  private settle(): void {
    const { calendar, window, tally, bursts } = this.context;
    const end = Math.max(calendar.now, window.toPs);
    for (const element of this.model.elements) {
      element.settle(end);
      for (const channel of element.channels()) channel.stalled?.end(end);
    }
    for (const { reads, writes } of this.model.masters) {
      reads.backlogMeter.settle(end);
      writes.backlogMeter.settle(end);
    }
    const flying = tally.issuedBursts - tally.completedBursts;
    if (flying < 0 || flying > bursts.inFlight) {
      throw new Error(
        `${tally.issuedBursts} bursts issued, ${tally.completedBursts} completed, ${bursts.inFlight} held`,
      );
    }
    if (calendar.empty && flying > 0) throw new StuckError(this.diagnosis(flying));
  }

  /** Who waits where, for a run that is stuck. */
  private diagnosis(flying: number): string {
    const { bursts } = this.context;
    const lines = [`nothing can happen any more, and ${flying} bursts are in flight:`];
    for (const [slot, route] of bursts.routes.entries()) {
      if (route === null || lines.length > 20) continue;
      const element = this.model.elements[route.hops[bursts.hop[slot]!]!.element]!;
      const kind = bursts.op[slot] === 0 ? 'read' : 'write';
      lines.push(`  ${kind} ${bursts.number[slot]} of master ${bursts.master[slot]} stands at ${element.base.name}`);
    }
    return lines.join('\n');
  }
}
