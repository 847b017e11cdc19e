// Hot path: a few calls per burst. Records are found by number; nothing is allocated per burst.
import { READ } from '../model/bursts.js';
import type { Unfinished } from '../model/open-requests.js';
import type { RequestTable } from '../model/request-table.js';
import type { Simulation } from '../model/simulation.js';
import type { SystemSpec } from '../scenario/scenario.js';
import { collectCounters } from './collect.js';
import { BlameTally } from './journey/blame-tally.js';
import { StageTally } from './journey/stage-tally.js';
import { Strata } from './journey/strata.js';
import { Tracer } from './journey/tracer.js';
import { pathFacts } from './path-facts.js';
import { pathName, PathRecord, type RecordSettings } from './path-record.js';
import type { ReplicationResult } from './results.js';
import { Timeline } from './timeline.js';
import { TaskRecord } from './task-record.js';

/** What a recorder needs to know beyond the window. */
export interface RecorderSettings extends RecordSettings {
  /** Keys `master read` and `master write` of the paths whose offered load is above a capacity on their way. */
  readonly overCapacity: ReadonlySet<string>;
  /** Where the time of each burst goes: not kept, by stage, or by stage and by who is to blame. */
  readonly journeys: 'off' | 'stages' | 'blame';
  /** Width of the windows of its timeline; null where none is kept. */
  readonly timelinePs: number | null;
}

/** Records the latencies, bytes and backlog of every path of one replication. */
export class Recorder extends Tracer {
  /** By 2 × master + direction; null for a direction that the master does not use. */
  protected readonly paths: (PathRecord | null)[] = [];
  private readonly tasks: readonly TaskRecord[];
  private simulation: Simulation | null = null;
  private timeline: Timeline | null = null;
  /** When the burst completed last was done: its request is done then too. */
  private doneAt = 0;
  private dropped = 0;

  constructor(
    private readonly platform: SystemSpec,
    private readonly settings: RecorderSettings,
  ) {
    super();
    this.tasks = platform.tasks.map((task) => new TaskRecord(task, settings, platform.budgets));
    for (const master of platform.masters) {
      for (const facts of pathFacts(platform, master, settings.overCapacity)) {
        this.paths.push(facts === null ? null : new PathRecord(facts, settings));
      }
    }
  }

  /** Must each single burst be followed, whether or not it stands for others in the tables? */
  protected get followsAll(): boolean {
    return false;
  }

  /** Joins the recorder to the simulation that it watches; call before `run`. */
  watch(simulation: Simulation): void {
    this.simulation = simulation;
    const { journeys, timelinePs } = this.settings;
    if (timelinePs !== null) this.timeline = new Timeline(simulation, this.platform, timelinePs);
    if (journeys === 'off') return;
    this.follow(simulation, this.platform, journeys === 'blame', this.followsAll);
    const masters = this.platform.masters.map(({ name }) => name);
    const elements = simulation.model.elements.map(({ base }) => base.name);
    for (const [place, path] of this.paths.entries()) {
      if (path === null) continue;
      path.strata = new Strata();
      path.stages = new StageTally(pathName(path.facts, 'burst'), path.strata);
      if (journeys !== 'blame') continue;
      path.blame = new BlameTally(Math.floor(place / 2), masters, elements, path.strata);
    }
  }

  override requestWanted(master: number, write: boolean, requests: RequestTable, request: number): void {
    const path = this.paths[2 * master + (write ? 1 : 0)]!;
    const bytes = requests.bytes[request]!;
    path.backlog.change(requests.wantedAt[request]!, bytes);
    if (this.simulation!.context.window.holds(requests.wantedAt[request]!)) path.offeredBytes += bytes;
  }

  override keptBack(master: number, write: boolean, bytes: number, wantedPs: number): void {
    this.wait(master, write, bytes, wantedPs, wantedPs);
  }

  override letGo(master: number, write: boolean, bytes: number, wantedPs: number): void {
    this.wait(master, write, -bytes, wantedPs, this.simulation!.context.calendar.now);
  }

  override requestDropped(_master: number, _write: boolean, _bytes: number, wantedPs: number): void {
    if (this.simulation!.context.window.holds(wantedPs)) this.dropped++;
  }

  override lost(slot: number): void {
    super.lost(slot);
    const { context } = this.simulation!;
    this.gone(slot, context.bursts.op[slot] === READ ? 0 : 1, context.calendar.now);
    if (context.bursts.counted[slot] === 1) this.dropped++;
  }

  override accepted(slot: number): void {
    super.accepted(slot);
    const { bursts } = this.simulation!.context;
    this.gone(slot, bursts.op[slot] === READ ? 0 : 1, bursts.acceptedAt[slot]!);
  }

  override completed(slot: number): void {
    super.completed(slot);
    const { bursts } = this.simulation!.context;
    // fills and write-backs are numbered below zero: they belong to no path of a master
    if (bursts.number[slot]! < 0) return;
    const direction = bursts.op[slot] === READ ? 0 : 1;
    this.doneAt = bursts.doneAt[slot]!;
    // a hit in a core's own cache was never presented at a port
    if (bursts.acceptedAt[slot]! < 0) this.gone(slot, direction, this.doneAt);
    if (bursts.counted[slot] === 0) return;
    const path = this.paths[2 * bursts.master[slot]! + direction]!;
    const wantedAt = bursts.wantedAt[slot]!;
    path.burst.of(wantedAt).record(this.doneAt - wantedAt);
    this.timeline?.done(bursts.master[slot]!, this.doneAt - wantedAt, wantedAt);
    if (this.chains !== null) this.split(path, slot);
    const offeredAt = bursts.offeredAt[slot]!;
    if (offeredAt >= 0) path.port.of(wantedAt).record(this.doneAt - offeredAt);
  }

  /** Where the time of a burst went that is done, if it was followed. */
  private split(path: PathRecord, slot: number): void {
    const { wantedAt } = this.simulation!.context.bursts;
    path.strata!.count(this.doneAt - wantedAt[slot]!);
    const weight = this.weight(slot);
    if (weight === 0) return;
    const chain = this.chains!.of(slot);
    path.stages!.record(chain, weight);
    const charged = this.chargedWeight(slot);
    if (charged > 0) path.blame!.record(chain, charged);
  }

  override requestCompleted(master: number, write: boolean, requests: RequestTable, request: number): void {
    const wantedPs = requests.wantedAt[request]!;
    if (!this.simulation!.context.window.holds(wantedPs)) return;
    this.paths[2 * master + (write ? 1 : 0)]!.transfer.of(wantedPs).record(this.doneAt - wantedPs);
  }

  override moved(master: number, write: boolean, bytes: number, timePs: number, first: number): void {
    if (!this.simulation!.context.window.holds(timePs)) return;
    this.paths[2 * master + (write ? 1 : 0)]!.bytes += bytes;
    this.timeline?.moved(master, write, bytes, timePs, first);
  }

  override taskDropped(task: number, triggeredPs: number): void {
    if (this.simulation!.context.window.holds(triggeredPs)) this.tasks[task]!.dropped++;
  }

  override taskQueued(task: number, triggeredPs: number): void {
    if (this.simulation!.context.window.holds(triggeredPs)) this.tasks[task]!.queued++;
  }

  override taskEnded(task: number, triggeredPs: number, upkeepPs: number): void {
    const { window, calendar } = this.simulation!.context;
    if (window.holds(triggeredPs)) this.tasks[task]!.ended(calendar.now, triggeredPs, upkeepPs);
  }

  /** What this replication brought; call once, after the run. */
  result(replication: number): ReplicationResult {
    const { context, model, endPs } = this.simulation!;
    const { window, calendar } = context;
    for (const [index, master] of model.masters.entries()) {
      this.leaveOpen(this.paths[2 * index]!, master.reads.unfinished());
      this.leaveOpen(this.paths[2 * index + 1]!, master.writes.unfinished());
    }
    for (const { task, triggeredAt } of model.tasks?.open() ?? []) {
      if (window.holds(triggeredAt)) this.tasks[task]!.leaveOpen(endPs - triggeredAt, triggeredAt);
    }
    const warnings = [...context.warnings].map(([text, count]) => ({ text, count }));
    if (this.dropped > 0) warnings.push({ text: 'requests were lost because no place was free', count: this.dropped });
    return {
      replication,
      windowPs: window.lengthPs,
      simulatedPs: endPs,
      events: calendar.handled,
      tasks: this.tasks.map((task) => task.toPlain()),
      paths: this.paths.filter((path) => path !== null).map((path) => path.toPlain()),
      ...collectCounters(this.simulation!),
      timeline: this.timeline?.toPlain() ?? null,
      warnings,
    };
  }

  /** At the port they may have been presented only now. */
  private leaveOpen(path: PathRecord | null, { bursts, requests }: Unfinished): void {
    if (path === null) return;
    const { endPs } = this.simulation!;
    for (const wantedPs of bursts) {
      path.burst.leaveOpen(endPs - wantedPs, wantedPs);
      path.port.leaveOpen(0, wantedPs);
    }
    for (const wantedPs of requests) path.transfer.leaveOpen(endPs - wantedPs, wantedPs);
  }

  /** So many bytes more wait at `timePs`, wanted at `wantedPs`. */
  private wait(master: number, write: boolean, bytes: number, wantedPs: number, timePs: number): void {
    const path = this.paths[2 * master + (write ? 1 : 0)]!;
    path.backlog.change(timePs, bytes);
    if (this.simulation!.context.window.holds(wantedPs)) path.offeredBytes += bytes;
  }

  private gone(slot: number, direction: number, timePs: number): void {
    const { bursts } = this.simulation!.context;
    this.paths[2 * bursts.master[slot]! + direction]!.backlog.change(timePs, -bursts.bytes[slot]!);
  }
}
