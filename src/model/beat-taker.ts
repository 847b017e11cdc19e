// Hot path: once per run of beats that reaches a master. Nothing is allocated.
import { bytesOfBeat, wholeBeats } from '../traffic/beats.js';
import { shiftOf } from './bursts.js';
import type { Context } from './context.js';
import type { Hop } from './route.js';
import type { SideParams } from './side-params.js';

/** Takes what comes back to one direction of a master, a beat a cycle, and keeps account of the bytes that moved. */
export class BeatTaker {
  /** Bytes that moved inside the window. */
  movedBytes = 0;
  /** Edge of the master's clock at which the last beat was taken. */
  private takenAt = -1;

  constructor(
    private readonly context: Context,
    private readonly params: SideParams,
  ) {}

  /** Beats `first` to `end` − 1 of a read arrive from element `hop`, the first at edge `edge` of it, one a cycle. */
  takeBeats(hop: Hop, slot: number, first: number, end: number, edge: number): void {
    const { clock, widthBytes } = this.params;
    if (hop.clock !== clock || hop.beatBytes !== widthBytes) {
      for (let beat = first; beat < end; beat++) this.takeBeat(hop, slot, beat, hop.clock.at(edge + beat - first));
      return;
    }
    // a beat comes and goes each cycle: when the first is taken says when the last is
    const { bursts, window } = this.context;
    const taken = edge > this.takenAt ? edge : this.takenAt + 1;
    this.takenAt = taken + end - first - 1;
    bursts.doneAt[slot] = clock.at(this.takenAt);
    if (window.holds(clock.at(taken)) && window.holds(clock.at(this.takenAt))) {
      const from = this.beatStart(hop, slot, first);
      const bytes = this.beatStart(hop, slot, end) - from;
      this.moved(bytes, clock.at(taken), this.beatStart(hop, slot, first + 1) - from);
      return;
    }
    for (let beat = first; beat < end; beat++) {
      const bytes = this.beatStart(hop, slot, beat + 1) - this.beatStart(hop, slot, beat);
      this.moved(bytes, clock.at(taken + beat - first), bytes);
    }
  }

  /** A write's response arrives from element `hop` at edge `edge` of it. */
  takeResponse(hop: Hop, slot: number, edge: number): void {
    const { clock, syncBack } = this.params;
    const usable = clock.indexFrom(hop.clock.at(edge)) + syncBack;
    this.takenAt = Math.max(this.takenAt + 1, usable);
    this.context.bursts.doneAt[slot] = clock.at(this.takenAt);
  }

  /** Bytes cross between master and port, a beat a cycle: `first` of them at `timePs`, then whole beats. */
  moved(bytes: number, timePs: number, first: number): void {
    if (!this.context.window.holds(timePs)) return;
    this.movedBytes += bytes;
    this.context.probe.moved(this.params.master, this.params.write, bytes, timePs, first);
  }

  /** One beat arrives: the master's beats that are whole with it are taken, one a cycle. */
  private takeBeat(hop: Hop, slot: number, beat: number, timePs: number): void {
    const { bursts } = this.context;
    const { clock, widthBytes, syncBack } = this.params;
    const low = this.beatStart(hop, slot, beat);
    const high = this.beatStart(hop, slot, beat + 1);
    const usable = clock.indexFrom(timePs) + syncBack;
    const end = bursts.start[slot]! + bursts.bytes[slot]!;
    const taken = hop.beatBytes === widthBytes ? 1 : wholeBeats(low, high, end, widthBytes);
    // a beat that is not whole yet has not moved
    if (taken === 0) return;
    const edge = usable > this.takenAt ? usable : this.takenAt + 1;
    this.takenAt = edge + taken - 1;
    bursts.doneAt[slot] = clock.at(this.takenAt);
    const start = Math.floor(low / widthBytes);
    for (let k = 0; k < taken; k++) {
      const bytes = bytesOfBeat(bursts.start[slot]!, end, start + k, widthBytes);
      this.moved(bytes, clock.at(edge + k), bytes);
    }
  }

  /** Where a beat begins within the burst's block of 4 KiB, within the burst; for the beat after the last, the burst's end. */
  private beatStart(hop: Hop, slot: number, beat: number): number {
    const { start, bytes } = this.context.bursts;
    const from = start[slot]!;
    const at = ((from >> shiftOf(hop.beatBytes)) + beat) * hop.beatBytes;
    const end = from + bytes[slot]!;
    return at < from ? from : at > end ? end : at;
  }
}
