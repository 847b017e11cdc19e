/**
 * What the package offers to programs that use it as a library: all that the commands do, without files and terminal.
 * A study is `readScenario` → `runStudy` → `poolStudy` → `toCsv` or `summary`.
 */

// errors: every mistake of a user, with its place
export { PROBLEM_CODES, ScenarioError, UsageError, formatProblems } from './errors.js';
export type { Problem, ProblemCode } from './errors.js';

// engine: exact clocks, the calendar of events, named random streams
export { Calendar } from './engine/calendar.js';
export type { Actor } from './engine/calendar.js';
export { Clock, crossing, unclocked } from './engine/clock.js';
export { Phase } from './engine/phase.js';
export { keyedDraw, randomStream } from './engine/random.js';
export type { KeyedDraw, RandomStream } from './engine/random.js';

// scenario: the language, and what a file means with every default filled
export { assignmentReader, readScenario } from './scenario/read.js';
export type { Assigned, ScenarioIo } from './scenario/read.js';
export { starterScenario } from './scenario/starter.js';
export { parseAxis } from './scenario/axis.js';
export type { Axis, RangeAxis } from './scenario/axis.js';
export type { Setting } from './scenario/settings.js';
export { platformPresetNames } from './scenario/presets.js';
export { explainKey, jsonSchema, keyReference } from './scenario/explain.js';
export { pathOf } from './scenario/paths.js';
export type { PathStep } from './scenario/paths.js';
export type {
  ArbitrationSpec,
  BudgetSpec,
  BufferSpec,
  CacheSpec,
  ClockSpec,
  CoherenceSpec,
  CoreSpec,
  DdrSpec,
  DeviceSpec,
  DistributionSpec,
  DramTimingSpec,
  ElementSpec,
  IssueSpec,
  LinkSpec,
  MasterSpec,
  MetricSpec,
  OnChipSpec,
  PaceSpec,
  PatternSpec,
  PlaceSpec,
  PortSpec,
  RunSpec,
  Scenario,
  SwitchSpec,
  SystemSpec,
  TraceEntry,
} from './scenario/scenario.js';

// traffic: nothing of its own; the model makes the masters that a scenario asks for

// model: one replication of one system, and the probe that watches it
export { Simulation, StuckError } from './model/simulation.js';
export type { SimulationOptions } from './model/simulation.js';
export { Probe } from './model/probe.js';

// measure: plain results, and the rows and columns of every table
export { Recorder } from './measure/recorder.js';
export type { RecorderSettings } from './measure/recorder.js';
export { COMMAND_CAP, CommandLog } from './measure/logs/command-log.js';
export { BURST_CAP, BurstLog } from './measure/logs/burst-log.js';
export type { BurstChoice } from './measure/logs/burst-log.js';
export { WaveLog } from './measure/logs/wave-log.js';
export type { SystemWave } from './measure/logs/wave-log.js';
export type { Logs } from './measure/logs/logging-recorder.js';
export { TooManyValuesError } from './measure/statistics/kept-values.js';
export { crossingTable, sweepTable } from './measure/tables/sweep-columns.js';
export { poolStudy } from './measure/tables/pool.js';
export type { PoolOptions, StudyTables } from './measure/tables/pool.js';
export { TABLES } from './measure/tables/columns.js';
export { placeTable } from './measure/tables/place-columns.js';
export type { Cell, Column, Quantity, Table } from './measure/tables/columns.js';
export type {
  BudgetRow,
  BudgetVerdict,
  BurstRow,
  CacheRow,
  CommandRow,
  ComparisonRow,
  ComparisonVerdict,
  DistributionRow,
  LatencyRow,
  MemoryRow,
  QueueRow,
  PlaceFailure,
  PlaceRow,
  PlaceStatus,
  ResourceRow,
  SensitivityRow,
  SensitivityVerdict,
  TimelineRow,
} from './measure/tables/rows.js';
export { studyWarnings } from './measure/results.js';
export type {
  CacheCounters,
  ChannelCounters,
  ElementCounters,
  PlacementResult,
  ReplicationResult,
  StudyResult,
  Warning,
} from './measure/results.js';

// study: replications of every placement, or what can be said without simulating
export { Alone } from './study/crew.js';
export { Stopped } from './study/crew.js';
export type { Crew, Job } from './study/crew.js';
export { runStudy } from './study/run-study.js';
export type { StudyOptions } from './study/run-study.js';
export { replicate } from './study/replicate.js';
export type { ReplicationOptions } from './study/replicate.js';
export { compareSystems, ERROR, LOOKS, NARROW } from './study/compare.js';
export type { CompareOptions, Comparison, Side } from './study/compare.js';
export { findPlacement } from './study/place/place.js';
export type { PlaceOptions, PlaceResult, Spending } from './study/place/place.js';
export { sweepPoints } from './study/sweep.js';
export type { Sweep, SweepOptions, SweepPoint } from './study/sweep.js';
export { gridOf, sampleOf } from './study/points.js';
export { findCrossings } from './study/crossing.js';
export type { Crossing, CrossingOptions, CrossingQuestion } from './study/crossing.js';
export { FORGETFUL } from './study/identity.js';
export type { Store } from './study/identity.js';
export { sensitivityOf } from './study/sensitivity.js';
export type { Sensitivity, SensitivityOptions } from './study/sensitivity.js';
export { checkSystem, checkSystems } from './study/check.js';
export type { CheckReport, PathCheck } from './study/check.js';
export type { IdleCase } from './study/idle-cases.js';

// output: tables, summary and manifest as text
export { csvParts, toCsv } from './output/csv.js';
export { valueChangeDump } from './output/wave.js';
export { PLAIN } from './output/look.js';
export type { Look, Tone } from './output/look.js';
export { summary } from './output/summary.js';
export { crossingText, sweepText } from './output/sweep.js';
export { sensitivityText } from './output/sensitivity.js';
export { comparisonText } from './output/comparison.js';
export { placeText } from './output/place.js';
export { checkText } from './output/check-text.js';
export { manifestText } from './output/manifest.js';
export type { ManifestInput } from './output/manifest.js';
export { noteSentences } from './output/notes.js';
export { CAUTION } from './output/caution.js';
