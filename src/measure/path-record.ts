import { Backlog } from './backlog.js';
import { BATCHES } from './statistics/clusters.js';
import type { BlamePlain, BlameTally } from './journey/blame-tally.js';
import type { Strata } from './journey/strata.js';
import type { StagesPlain, StageTally } from './journey/stage-tally.js';
import { Histogram, type HistogramPlain, mergeAll } from './statistics/histogram.js';

export type Operation = 'read' | 'write';

/** Levels of latency: wanted to done; first offered at the port to done; request wanted to its last burst done. */
export const LEVELS = ['burst', 'port', 'transfer'] as const;
export type Level = (typeof LEVELS)[number];
/** What a histogram may be of: a level of a path, or a task from its trigger to its end. */
export type SampleLevel = Level | 'task';

/** Open sources want at their own times; dependent ones after an answer; greedy ones whenever a slot is free. */
export type SourceKind = 'open' | 'dependent' | 'greedy';

/** What a path is. */
export interface PathKey {
  master: string;
  port: string;
  /** The memory or device at its end. */
  target: string;
  operation: Operation;
}

/** What is known of a path before the run. */
export interface PathFacts extends PathKey {
  source: SourceKind;
  /** Names of the elements it passes, as in the element counters. */
  route: string[];
  /** Open source only: is the load offered to an element of its route above that element's capacity? */
  overCapacity: boolean;
}

/** One level of a path in one replication, as plain data. */
export interface LevelPlain {
  level: SampleLevel;
  histogram: HistogramPlain;
  /** The same samples in equal spans of wanted time; empty unless the study has a single replication. */
  batches: HistogramPlain[];
  /** Wanted inside the window and not back when the run stopped. */
  unfinished: number;
  unfinishedByBatch: number[];
  /** Age of the youngest unfinished at that moment, in ps; null when there is none. */
  youngestUnfinishedPs: number | null;
}

/** A path in one replication, as plain data. */
export interface PathPlain extends PathFacts {
  levels: LevelPlain[];
  /** Bytes that moved inside the window. */
  bytes: number;
  /** Bytes wanted inside the window; null for a greedy source, which wants all it can get. */
  offeredBytes: number | null;
  maxBacklogBytes: number;
  /** Mean backlog of each quarter of the window, in bytes. */
  backlogQuarters: number[];
  /** Where the time of its bursts went, and what they waited for; null where that is not kept. */
  stages: StagesPlain | null;
  blame: BlamePlain | null;
}

export interface RecordSettings {
  fromPs: number;
  toPs: number;
  /** Cut each level into batches: for a study of one replication. */
  batched: boolean;
  /** Keep every latency, up to so many per histogram; 0 keeps bins only. */
  keepAtMost: number;
  /** Limits in ps to be counted exactly, by level. */
  limits: ReadonlyMap<SampleLevel, readonly number[]>;
}

/** The samples of one level. */
export class LevelRecord {
  private readonly parts: Histogram[];
  /** By part. */
  private readonly unfinished: number[];
  private youngestPs = Infinity;

  constructor(
    private readonly name: string,
    readonly level: SampleLevel,
    private readonly settings: RecordSettings,
  ) {
    this.parts = Array.from({ length: settings.batched ? BATCHES : 1 }, () => this.makePart());
    this.unfinished = this.parts.map(() => 0);
  }

  /** Where a sample is recorded that was wanted at `wantedPs`, inside the window. */
  of(wantedPs: number): Histogram {
    return this.parts[this.partOf(wantedPs)]!;
  }

  /** Counts a sample that was wanted inside the window and is `agePs` old, by this level's clock, when the run stops. */
  leaveOpen(agePs: number, wantedPs: number): void {
    this.unfinished[this.partOf(wantedPs)]!++;
    this.youngestPs = Math.min(this.youngestPs, agePs);
  }

  toPlain(): LevelPlain {
    return {
      level: this.level,
      histogram: mergeAll(this.name, this.parts, this.settings.keepAtMost).toPlain(),
      batches: this.settings.batched ? this.parts.map((part) => part.toPlain()) : [],
      unfinished: this.unfinished.reduce((sum, x) => sum + x, 0),
      unfinishedByBatch: this.settings.batched ? [...this.unfinished] : [],
      youngestUnfinishedPs: this.youngestPs === Infinity ? null : this.youngestPs,
    };
  }

  private makePart(): Histogram {
    const part = new Histogram(this.name, this.settings.keepAtMost);
    for (const limit of this.settings.limits.get(this.level) ?? []) part.watch(limit);
    return part;
  }

  private partOf(wantedPs: number): number {
    return this.parts.length === 1 ? 0 : this.batchOf(wantedPs);
  }

  private batchOf(wantedPs: number): number {
    const { fromPs, toPs } = this.settings;
    return Math.min(BATCHES - 1, Math.floor(((wantedPs - fromPs) * BATCHES) / (toPs - fromPs)));
  }
}

/** What one replication keeps of one path. */
export class PathRecord {
  readonly burst: LevelRecord;
  readonly port: LevelRecord;
  readonly transfer: LevelRecord;
  readonly backlog: Backlog;
  /** Bytes that moved inside the window; add as beats move. */
  bytes = 0;
  /** Bytes wanted inside the window. */
  offeredBytes = 0;
  /** Set where they are kept. */
  strata: Strata | null = null;
  stages: StageTally | null = null;
  blame: BlameTally | null = null;

  constructor(
    readonly facts: PathFacts,
    settings: RecordSettings,
  ) {
    const level = (name: Level): LevelRecord => new LevelRecord(pathName(facts, name), name, settings);
    this.burst = level('burst');
    this.port = level('port');
    this.transfer = level('transfer');
    this.backlog = new Backlog(settings.fromPs, settings.toPs);
  }

  /** Call once, after the run. */
  toPlain(): PathPlain {
    this.backlog.finish();
    return {
      ...this.facts,
      levels: [this.burst, this.port, this.transfer].map((level) => level.toPlain()),
      bytes: this.bytes,
      offeredBytes: this.facts.source === 'greedy' ? null : this.offeredBytes,
      maxBacklogBytes: this.backlog.maxBytes,
      backlogQuarters: this.backlog.quarterMeans(),
      stages: this.stages?.toPlain() ?? null,
      blame: this.blame?.toPlain() ?? null,
    };
  }
}

/** How errors name a path's histogram: `camera write at fabric0 to ddr, burst`. */
export function pathName(path: PathKey, level: Level): string {
  return `${path.master} ${path.operation} at ${path.port} to ${path.target}, ${level}`;
}
