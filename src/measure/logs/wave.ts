/** What signals did over a span of time: recorded in any order, read in the order of time. */

/** What a signal shows. */
export interface WaveSignal {
  /** Where it belongs, from the outermost: element, output, bank. */
  readonly scope: readonly string[];
  readonly name: string;
  /** 1: a wire; more: a whole number of so many bits. */
  readonly bits: number;
}

/** A signal takes a value. */
export interface WaveChange {
  readonly timePs: number;
  /** Number of the signal. */
  readonly signal: number;
  readonly value: number;
}

const FIRST_ROOM = 1024;

/** At one instant what ends comes before what begins. */
const END = 0;
const BEGIN = 1;

/**
 * The signals of one system over [fromPs, toPs). Levels are told by their changes, from the start of the run on; states by the
 * intervals for which they hold. Nothing depends on the order in which they are told.
 */
export class Wave {
  readonly signals: WaveSignal[] = [];
  /** By signal: its value at `fromPs`, as far as levels and lasting states have told it. */
  private readonly levels: number[] = [];
  private readonly isLevel: boolean[] = [];
  private times = new Float64Array(FIRST_ROOM);
  /** Signal, value and END or BEGIN of each record, side by side. */
  private records = new Int32Array(3 * FIRST_ROOM);
  private count = 0;

  constructor(
    readonly fromPs: number,
    readonly toPs: number,
  ) {}

  /** A new signal that counts something; 0 at the start of the run. */
  level(scope: readonly string[], name: string): number {
    return this.signal({ scope, name, bits: 32 }, true);
  }

  /** A new signal that holds values for a time, and is 0 otherwise. */
  state(scope: readonly string[], name: string, bits: number): number {
    return this.signal({ scope, name, bits }, false);
  }

  /** A level changes. */
  add(signal: number, timePs: number, by: number): void {
    if (timePs <= this.fromPs) this.levels[signal]! += by;
    else if (timePs < this.toPs) this.record(timePs, signal, by, BEGIN);
  }

  /** A state has a value from one instant to another. */
  hold(signal: number, startPs: number, endPs: number, value: number): void {
    if (endPs <= this.fromPs || startPs >= this.toPs || endPs <= startPs) return;
    this.record(startPs, signal, value, BEGIN);
    if (endPs < this.toPs) this.record(endPs, signal, 0, END);
  }

  /** A state has a value from now on, until the next one; told in the order of time. */
  put(signal: number, timePs: number, value: number): void {
    if (timePs <= this.fromPs) this.levels[signal] = value;
    else if (timePs < this.toPs) this.record(timePs, signal, value, BEGIN);
  }

  /** Values of all signals at `fromPs`, by signal, then each change after it, in the order of time and of signals. */
  read(): { initial: number[]; changes: WaveChange[] } {
    const values = [...this.levels];
    const order = Array.from({ length: this.count }, (_, i) => i).sort((a, b) => this.compare(a, b));
    const changes: WaveChange[] = [];
    let next = 0;
    for (; next < order.length && this.times[order[next]!]! <= this.fromPs; next++) this.apply(values, order[next]!);
    const initial = [...values];
    const shown = [...values];
    while (next < order.length) {
      const timePs = this.times[order[next]!]!;
      const signal = this.records[3 * order[next]!]!;
      const isSame = (record: number): boolean => this.times[record] === timePs && this.records[3 * record] === signal;
      while (next < order.length && isSame(order[next]!)) this.apply(values, order[next++]!);
      if (values[signal] === shown[signal]) continue;
      shown[signal] = values[signal]!;
      changes.push({ timePs, signal, value: values[signal]! });
    }
    return { initial, changes };
  }

  private signal(signal: WaveSignal, level: boolean): number {
    this.levels.push(0);
    this.isLevel.push(level);
    return this.signals.push(signal) - 1;
  }

  private apply(values: number[], record: number): void {
    const signal = this.records[3 * record]!;
    const value = this.records[3 * record + 1]!;
    values[signal] = this.isLevel[signal] ? values[signal]! + value : value;
  }

  private compare(a: number, b: number): number {
    return (
      this.times[a]! - this.times[b]! ||
      this.records[3 * a]! - this.records[3 * b]! ||
      this.records[3 * a + 2]! - this.records[3 * b + 2]!
    );
  }

  private record(timePs: number, signal: number, value: number, kind: number): void {
    if (this.count === this.times.length) {
      const times = new Float64Array(2 * this.count);
      times.set(this.times);
      this.times = times;
      const records = new Int32Array(6 * this.count);
      records.set(this.records);
      this.records = records;
    }
    const at = this.count++;
    this.times[at] = timePs;
    this.records[3 * at] = signal;
    this.records[3 * at + 1] = value;
    this.records[3 * at + 2] = kind;
  }
}
