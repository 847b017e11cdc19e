// Hot path: once per burst, and once per run of beats that moves. Cells lie in one typed array; nothing is allocated.
import type { Clock } from '../engine/clock.js';
import { QueueSeries } from '../model/queue-series.js';
import type { Simulation } from '../model/simulation.js';
import type { MasterSpec, SystemSpec } from '../scenario/scenario.js';
import { clockOf } from './clock-of.js';
import { uses } from './path-facts.js';

/** Most windows where none is stated; a table of them is still read by eye, and a chart draws each. */
const MOST_WINDOWS = 1024;
/** Width that windows have where none is stated, and that is doubled until there are no more than that. */
const FIRST_WIDTH_PS = 1_000_000;

/** Cells of a window and master. Sums of latencies are kept in two parts: units of 2^52, and the rest. */
const READ = 0;
const WRITE = 1;
const COUNT = 2;
const LOW = 3;
const HIGH = 4;
const MAX = 5;
const CELLS = 6;
const UNIT = 2 ** 52;

/** The course of one replication over equal windows, as plain data. */
export interface TimelinePlain {
  /** Start of the first window, from the start of the run. */
  fromPs: number;
  toPs: number;
  /** Of each window; the last may be shorter, since it ends with the measuring window. */
  widthPs: number;
  /** By master, but for those that never issue: bytes that moved, and bursts wanted in that window that are done, with the sum of their latencies and the largest. */
  masters: { master: string; windows: MasterWindow[] }[];
  /** By element: bursts in its queues. Elements that never held one are left out. */
  queues: { element: string; windows: { areaPs: number; peak: number }[] }[];
}

export interface MasterWindow {
  readBytes: number;
  writeBytes: number;
  bursts: number;
  sumPs: number;
  maxPs: number;
}

/** A master that has no path: it stands in no table. */
function isSilent(spec: MasterSpec): boolean {
  const { reads, writes } = uses(spec);
  return !reads && !writes;
}

/** Width of a timeline's windows, in ps: as stated, else doubled until they are few; null where none is wanted. */
export function timelineWidth(stated: number | 'automatic' | 'off', durationPs: number): number | null {
  if (stated === 'off') return null;
  if (stated !== 'automatic') return stated;
  let widthPs = FIRST_WIDTH_PS;
  while (durationPs > MOST_WINDOWS * widthPs) widthPs *= 2;
  return widthPs;
}

/**
 * What moved, how long bursts took and how many waited, over windows of equal width from the start of the measuring window
 * on. A byte counts in the window in which its beat moves, a burst in that in which it was wanted.
 */
export class Timeline {
  private readonly fromPs: number;
  private readonly toPs: number;
  private readonly windows: number;
  /** By master, window and kind. */
  private readonly cells: Float64Array;
  /** By master: its clock, at which its beats move, the longest time between two of them, and how wide they are. */
  private readonly clocks: readonly Clock[];
  private readonly beatPs: Float64Array;
  private readonly beatBytes: Int32Array;
  private readonly queues: readonly QueueSeries[];

  /** Joins itself to a simulation that has not begun. */
  constructor(
    private readonly simulation: Simulation,
    system: SystemSpec,
    private readonly widthPs: number,
  ) {
    const { masters } = system;
    const { fromPs, toPs } = simulation.context.window;
    this.fromPs = fromPs;
    this.toPs = toPs;
    this.windows = Math.ceil((toPs - fromPs) / widthPs);
    this.cells = new Float64Array(masters.length * this.windows * CELLS);
    this.clocks = masters.map(({ clock }) => clockOf(system, clock));
    this.beatPs = Float64Array.from(
      this.clocks,
      ({ numerator, denominator }) => Math.ceil(numerator / denominator) + 1,
    );
    this.beatBytes = Int32Array.from(masters, ({ widthBytes }) => widthBytes);
    this.queues = simulation.model.elements.map(({ queued }) => {
      const series = new QueueSeries(fromPs, toPs, widthPs);
      queued.keep(series);
      return series;
    });
  }

  /** Bytes move inside the measuring window, a beat a cycle: `first` of them at `timePs`, then whole beats. */
  moved(master: number, write: boolean, bytes: number, timePs: number, first: number): void {
    const kind = write ? WRITE : READ;
    const window = Math.floor((timePs - this.fromPs) / this.widthPs);
    const at = (master * this.windows + window) * CELLS + kind;
    if (bytes === first) {
      this.cells[at]! += bytes;
      return;
    }
    // a bound on when the last beat moves: nearly all bursts lie within one window
    const beats = Math.ceil((bytes - first) / this.beatBytes[master]!);
    const endsPs = this.fromPs + (window + 1) * this.widthPs;
    if (timePs + beats * this.beatPs[master]! < endsPs) this.cells[at]! += bytes;
    else this.beatByBeat(master, kind, bytes, timePs, first);
  }

  /** A burst that was wanted inside the measuring window is done. */
  done(master: number, latencyPs: number, wantedPs: number): void {
    const { cells } = this;
    const at = (master * this.windows + Math.floor((wantedPs - this.fromPs) / this.widthPs)) * CELLS;
    cells[at + COUNT]!++;
    const sum = cells[at + LOW]! + latencyPs;
    if (sum < UNIT) cells[at + LOW] = sum;
    else {
      cells[at + LOW] = sum - UNIT;
      cells[at + HIGH]!++;
    }
    if (latencyPs > cells[at + MAX]!) cells[at + MAX] = latencyPs;
  }

  /** Call once, after the run. */
  toPlain(): TimelinePlain {
    const { masters, elements } = this.simulation.model;
    const windows = Array.from({ length: this.windows }, (_, window) => window);
    return {
      fromPs: this.fromPs,
      toPs: this.toPs,
      widthPs: this.widthPs,
      masters: masters
        .map(({ spec }, master) => ({
          master: spec.name,
          windows: isSilent(spec) ? [] : windows.map((window) => this.windowOf(master, window)),
        }))
        .filter(({ windows: of }) => of.length > 0),
      queues: elements
        .map(({ base, queued }, index) => ({
          element: base.name,
          windows: queued.areaPs === 0 ? [] : this.queues[index]!.windows(queued.areaPs, queued.peak),
        }))
        .filter(({ windows: of }) => of.length > 0),
    };
  }

  private beatByBeat(master: number, kind: number, bytes: number, timePs: number, first: number): void {
    const clock = this.clocks[master]!;
    const width = this.beatBytes[master]!;
    const edge = clock.indexFrom(timePs);
    let moved = 0;
    for (let beat = 0; moved < bytes; beat++) {
      const size = beat === 0 ? first : Math.min(width, bytes - moved);
      const window = Math.floor((clock.at(edge + beat) - this.fromPs) / this.widthPs);
      this.cells[(master * this.windows + window) * CELLS + kind]! += size;
      moved += size;
    }
  }

  private windowOf(master: number, window: number): MasterWindow {
    const at = (master * this.windows + window) * CELLS;
    const { cells } = this;
    return {
      readBytes: cells[at + READ]!,
      writeBytes: cells[at + WRITE]!,
      bursts: cells[at + COUNT]!,
      sumPs: cells[at + HIGH]! * UNIT + cells[at + LOW]!,
      maxPs: cells[at + MAX]!,
    };
  }
}
