// Hot path where it is switched on: `add` runs for every burst, and makes no object for one that is not kept.
import FastPriorityQueue from 'fastpriorityqueue';
import { WRITE } from '../../model/bursts.js';
import type { Simulation } from '../../model/simulation.js';
import type { SystemSpec } from '../../scenario/scenario.js';
import { BY_REFRESH, ITSELF } from '../journey/blame-tally.js';
import { REFRESH } from '../journey/books.js';
import { MOST_ELEMENTS } from '../journey/chains.js';
import { STAGES, STAGE_OF, WAITS } from '../journey/stage.js';
import type { Tracer } from '../journey/tracer.js';
import { pathFacts } from '../path-facts.js';
import type { PathFacts } from '../path-record.js';
import type { Warning } from '../results.js';
import type { BurstRow } from '../tables/rows.js';

/** Most bursts that are kept of one replication: some 20 MB here, 25 MB as CSV. */
export const BURST_CAP = 100_000;

const FIRST_ROOM = 256;

/** Which bursts are kept. */
export interface BurstChoice {
  /** Masters, or a master and an operation as in `camera write`; empty: all. */
  readonly paths: readonly string[];
  /** In flight (wanted to done) at some instant in [fromPs, toPs) from the start of the run; null: wanted in the measuring window. */
  readonly span: { readonly fromPs: number; readonly toPs: number } | null;
  /** Only so many, those with the largest latency; null: the first ones. */
  readonly slowest: number | null;
}

/** Cells of a burst's row. */
const PATH = 0;
const NUMBER = 1;
const ADDRESS = 2;
const BYTES = 3;
const WANTED = 4;
const OFFERED = 5;
const ACCEPTED = 6;
const DONE = 7;
const WAIT = 8;
const CULPRIT = 9;
const ELEMENT = 10;
const STAGE = 11;
const CELLS = STAGE + STAGES.length;
/** In `CULPRIT`: no one is charged, no stages are kept, or it never waited. */
const NOT_CHARGED = -3;
const NO_STAGES = -4;
const NO_WAIT = -5;

/** The bursts that are kept of one replication. */
class ReplicationLog {
  private missed = 0;
  private cells = new Float64Array(FIRST_ROOM * CELLS);
  /** Numbers of rows; on top the one that is the first to give way. */
  private readonly kept: FastPriorityQueue<number>;
  /** A row that nobody has. */
  private spare = 0;
  private readonly wanted: Uint8Array;
  private readonly facts: (PathFacts | null)[];
  private readonly waits = new Map<number, number>();

  constructor(
    private readonly simulation: Simulation,
    private readonly system: SystemSpec,
    private readonly tracer: Tracer,
    private readonly choice: BurstChoice,
    private readonly cap: number,
  ) {
    this.kept = new FastPriorityQueue<number>((a, b) => this.givesWay(a, b));
    this.facts = system.masters.flatMap((master) => pathFacts(system, master, new Set()));
    this.wanted = Uint8Array.from(this.facts, (facts) => {
      if (facts === null) return 0;
      const { paths } = choice;
      const named = paths.includes(facts.master) || paths.includes(`${facts.master} ${facts.operation}`);
      return paths.length === 0 || named ? 1 : 0;
    });
  }

  add(slot: number): void {
    const { bursts } = this.simulation.context;
    // fills and write-backs are numbered below zero: they are part of the access that they are for
    if (bursts.number[slot]! < 0) return;
    const path = 2 * bursts.master[slot]! + (bursts.op[slot] === WRITE ? 1 : 0);
    if (this.wanted[path] === 0 || !this.isInside(slot)) return;
    const row = this.spare;
    const { cells } = this;
    const at = row * CELLS;
    cells[at + PATH] = path;
    cells[at + NUMBER] = bursts.number[slot]!;
    cells[at + WANTED] = bursts.wantedAt[slot]!;
    cells[at + DONE] = bursts.doneAt[slot]!;
    const full = this.kept.size === this.cap;
    if (full) {
      this.missed++;
      if (this.givesWay(row, this.kept.peek()!)) return;
    }
    cells[at + ADDRESS] = bursts.address[slot]!;
    cells[at + BYTES] = bursts.bytes[slot]!;
    // a hit in a core's own cache was never presented
    cells[at + OFFERED] = bursts.acceptedAt[slot]! < 0 ? -1 : bursts.offeredAt[slot]!;
    cells[at + ACCEPTED] = bursts.acceptedAt[slot]!;
    this.fillJourney(at, slot);
    if (full) {
      this.spare = this.kept.peek()!;
      this.kept.replaceTop(row);
    } else {
      this.kept.add(row);
      this.spare = this.kept.size;
      if ((this.spare + 1) * CELLS > cells.length) this.grow();
    }
  }

  /** By the instant at which they were wanted. */
  *rows(scenario: string): Generator<BurstRow> {
    const rows: number[] = [];
    this.kept.forEach((row) => rows.push(row));
    rows.sort((a, b) => this.inOrder(a, b));
    for (const row of rows) yield this.rowOf(scenario, row);
  }

  warnings(): Warning[] {
    const place = `placement ${this.system.placement}`;
    const warnings: Warning[] = [];
    const { slowest } = this.choice;
    if (this.missed > 0 && (slowest === null || slowest > this.cap)) {
      const which = slowest === null ? 'first' : 'slowest';
      const text = `${place}: bursts.csv holds the ${which} ${this.cap} of ${this.cap + this.missed} bursts; choose fewer with --bursts-of, --bursts-between or --bursts-slowest`;
      warnings.push({ text, count: 1 });
    }
    if (this.kept.isEmpty()) warnings.push({ text: `${place}: no burst is what bursts.csv asks for`, count: 1 });
    else if (this.tracer.chains === null) {
      warnings.push({ text: `bursts.csv has no stages, as run.journeys is off`, count: 1 });
    }
    return warnings;
  }

  private isInside(slot: number): boolean {
    const { bursts } = this.simulation.context;
    const { span } = this.choice;
    if (span === null) return bursts.counted[slot] === 1;
    return bursts.wantedAt[slot]! < span.toPs && bursts.doneAt[slot]! >= span.fromPs;
  }

  /** Is row `a` the first of the two to give way when there is no room? No two rows are equal. */
  private givesWay(a: number, b: number): boolean {
    if (this.choice.slowest !== null) {
      const difference = this.latencyOf(a) - this.latencyOf(b);
      if (difference !== 0) return difference < 0;
    }
    return this.inOrder(a, b) > 0;
  }

  private latencyOf(row: number): number {
    return this.cells[row * CELLS + DONE]! - this.cells[row * CELLS + WANTED]!;
  }

  private inOrder(a: number, b: number): number {
    const { cells } = this;
    const x = a * CELLS;
    const y = b * CELLS;
    return (
      cells[x + WANTED]! - cells[y + WANTED]! ||
      cells[x + PATH]! - cells[y + PATH]! ||
      cells[x + NUMBER]! - cells[y + NUMBER]!
    );
  }

  /** Time in each stage, and whom it waited for longest (the first of equals), and where. */
  private fillJourney(at: number, slot: number): void {
    const { cells, waits, tracer } = this;
    const { chains } = tracer;
    cells[at + WAIT] = 0;
    cells[at + CULPRIT] = NO_STAGES;
    cells.fill(0, at + STAGE, at + CELLS);
    if (chains === null) return;
    const charged = tracer.charges(slot);
    cells[at + CULPRIT] = charged ? NO_WAIT : NOT_CHARGED;
    waits.clear();
    const chain = chains.of(slot);
    let { from } = chain;
    for (let link = 0; link < chain.count; link++) {
      const part = chain.partOf(link);
      const span = chain.untilOf(link) - from;
      from += span;
      cells[at + STAGE + STAGE_OF[part]!]! += span;
      if (!charged || WAITS[part] === 0) continue;
      // culprits are numbered from −2 on
      const key = (chain.culpritOf(link) + 2) * MOST_ELEMENTS + chain.elementOf(link);
      waits.set(key, (waits.get(key) ?? 0) + span);
    }
    for (const [key, span] of waits) {
      if (span <= cells[at + WAIT]!) continue;
      cells[at + WAIT] = span;
      cells[at + CULPRIT] = Math.floor(key / MOST_ELEMENTS) - 2;
      cells[at + ELEMENT] = key % MOST_ELEMENTS;
    }
  }

  private rowOf(scenario: string, row: number): BurstRow {
    const { system, simulation } = this;
    const cells = this.cells.subarray(row * CELLS, (row + 1) * CELLS);
    const { master, port, target, operation } = this.facts[cells[PATH]!]!;
    const culprit = cells[CULPRIT]!;
    const charged = culprit > NOT_CHARGED || culprit === NO_WAIT;
    const waited = culprit > NOT_CHARGED;
    const present = (value: number): number | null => (value < 0 ? null : value);
    return {
      scenario,
      placement: system.placement,
      replication: simulation.context.replication,
      master,
      port,
      target,
      operation,
      number: cells[NUMBER]!,
      address: cells[ADDRESS]!,
      bytes: cells[BYTES]!,
      wantedPs: cells[WANTED]!,
      offeredPs: present(cells[OFFERED]!),
      acceptedPs: present(cells[ACCEPTED]!),
      donePs: cells[DONE]!,
      stagesPs: culprit === NO_STAGES ? null : [...cells.subarray(STAGE)],
      longestWaitPs: charged ? cells[WAIT]! : null,
      waitsFor: waited ? this.nameOf(culprit, master) : null,
      waitsAt: waited ? simulation.model.elements[cells[ELEMENT]!]!.base.name : null,
    };
  }

  private nameOf(culprit: number, master: string): string {
    if (culprit === REFRESH) return BY_REFRESH;
    const name = this.system.masters[culprit]!.name;
    return name === master ? ITSELF : name;
  }

  private grow(): void {
    const cells = new Float64Array(this.cells.length * 2);
    cells.set(this.cells);
    this.cells = cells;
  }
}

/**
 * Single bursts of one replication or several, each with where its time went. What is kept depends on the bursts alone, not
 * on the order in which they are done: the first wanted, or the slowest, of those that are asked for.
 */
export class BurstLog {
  private readonly all: ReplicationLog[] = [];

  constructor(
    private readonly choice: BurstChoice,
    private readonly most = BURST_CAP,
  ) {}

  /** Begins a replication, which `tracer` follows. */
  begin(simulation: Simulation, system: SystemSpec, tracer: Tracer): void {
    const cap = Math.min(this.choice.slowest ?? Infinity, this.most);
    this.all.push(new ReplicationLog(simulation, system, tracer, this.choice, cap));
  }

  /** Takes a burst of the replication begun last that is done, and of which the chain is whole. */
  add(slot: number): void {
    this.all.at(-1)!.add(slot);
  }

  /** The rows of bursts.csv: by placement, each in the order in which they were wanted. */
  *rows(scenario: string): Generator<BurstRow> {
    for (const log of this.all) yield* log.rows(scenario);
  }

  /** What was not kept, and why. */
  warnings(): Warning[] {
    return this.all.flatMap((log) => log.warnings());
  }
}
