/** What a budget or a metric is about, read out of one replication. */
import type { BudgetSpec, MetricSpec } from '../scenario/scenario.js';
import type { Level, LevelPlain, PathPlain } from './path-record.js';
import type { ReplicationResult } from './results.js';
import type { TaskPlain } from './task-record.js';

type Subject = BudgetSpec | MetricSpec;
type Bandwidth = Extract<Subject, { kind: 'bandwidth' }>;
type Utilisation = Extract<Subject, { kind: 'utilisation' }>;
type Latency = Extract<Subject, { kind: 'latency' }>;
type Task = Extract<Subject, { kind: 'task' }>;

/** Those about a time, of which there are many samples; the others have one value in each replication. */
export type OfTime<S extends Subject> = Extract<S, { kind: 'latency' | 'task' }>;

/** Is it about a time? */
export function isOfTime<S extends Subject>(subject: S): subject is OfTime<S> {
  return subject.kind === 'latency' || subject.kind === 'task';
}

/** The paths of a master, or the one of them that is meant. */
export function pathsOf(
  { paths }: ReplicationResult,
  { master, operation }: Pick<Latency, 'master' | 'operation'>,
): PathPlain[] {
  return paths.filter((path) => path.master === master && (operation === null || path.operation === operation));
}

/** The samples of those paths at one level, or those of a task. */
export function levelsOf(
  replication: ReplicationResult,
  subject: Pick<Latency, 'master' | 'operation' | 'level'> | Pick<Task, 'task' | 'level'>,
): LevelPlain[] {
  if ('task' in subject) return tasksOf(replication, subject).map(({ level }) => level);
  return pathsOf(replication, subject).map((path) => levelOf(path, subject.level));
}

/** The task of that name, where there is one. */
export function tasksOf({ tasks }: ReplicationResult, { task }: Pick<Task, 'task'>): TaskPlain[] {
  return tasks.filter((one) => one.task === task);
}

function levelOf({ levels }: PathPlain, name: Level): LevelPlain {
  return levels.find(({ level }) => level === name)!;
}

/** What is not about a time, by replication: bytes per second, or a share of the window. */
export function valuesOf(subject: Bandwidth | Utilisation, replications: readonly ReplicationResult[]): number[] {
  return replications.map((one) =>
    subject.kind === 'bandwidth' ? bytesPerSecond(one, subject) : utilisationOf(one, subject),
  );
}

/** Bytes per second that moved inside the window: on paths of a master, or on the data buses of a DRAM. */
function bytesPerSecond(replication: ReplicationResult, subject: Bandwidth): number {
  const { master, operation, element } = subject;
  const bytes =
    master === null
      ? replication.channels
          .filter(({ memory }) => memory === element)
          .map(({ readBytes, writeBytes }) => readBytes + writeBytes)
      : pathsOf(replication, { master, operation }).map((path) => path.bytes);
  return (sumOf(bytes) * 1e12) / replication.windowPs;
}

/** Share of the window in which an element was busy. */
function utilisationOf({ elements, windowPs }: ReplicationResult, { element }: Utilisation): number {
  const found = elements.find((one) => one.element === element);
  return found === undefined ? 0 : found.busyPs / (found.servers * windowPs);
}

/** The subject in words: `camera read`, `camera` (both its paths), `ddr`, the name of a task. */
export function subjectName(subject: Subject): string {
  if (subject.kind === 'utilisation') return subject.element;
  if (subject.kind === 'task') return subject.task;
  const { master, operation } = subject;
  if (master === null) return subject.kind === 'bandwidth' ? (subject.element ?? '') : '';
  return operation === null ? master : `${master} ${operation}`;
}

const sumOf = (series: readonly number[]): number => series.reduce((sum, x) => sum + x, 0);
