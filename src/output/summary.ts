/** What `run` says at the end: a text that a person can read at 100 columns. */
import { bindingElement } from '../measure/binding.js';
import type { StudyTables } from '../measure/tables/pool.js';
import { type PlacementResult, type StudyResult, type Warning, studyWarnings } from '../measure/results.js';
import type { BlameRow, CacheRow, LatencyRow, MemoryRow, ResourceRow } from '../measure/tables/rows.js';
import { taskTable } from './tasks.js';
import { budgetText } from './budgets.js';
import { CAUTION } from './caution.js';
import { grouped, percent, readableNs, readableRate, readableSpan, fixed } from './format.js';
import { list } from './items.js';
import { type Look, PLAIN, type Tone } from './look.js';
import { noteSentences } from './notes.js';
import { left, right, type TextCell, textTable } from './text-table.js';
import { waitingSentences } from './waiting.js';
import { wrap } from './wrap.js';

/** Elements that are listed as the busiest. */
const BUSIEST = 5;
/** Shown where there is no value. */
const NONE = '-';

/** The whole summary, ending with a newline. */
export function summary(study: StudyResult, tables: StudyTables, options: Look = PLAIN): string {
  const sections = study.placements.map((placement) => placementText(study, placement, tables, options));
  const notes = noteSentences([...tables.latency, ...tables.tasks].filter(isPooled));
  const parts = [
    budgetText(tables.budgets, options),
    ...sections,
    list('Empty cells', notes, options),
    list('Warnings', studyWarnings(study).map(warningText), options),
    wrap(CAUTION, options.width, '').join('\n'),
  ];
  return `${parts.filter((part) => part !== '').join('\n\n')}\n`;
}

function placementText(study: StudyResult, placement: PlacementResult, tables: StudyTables, options: Look): string {
  const mine = <Row extends { placement: string; replication: number | 'all' }>(rows: readonly Row[]): Row[] =>
    rows.filter((row) => row.placement === placement.placement && isPooled(row));
  const latency = mine(tables.latency).filter(({ level }) => level === 'burst');
  return [
    headingText(study, placement, options),
    pathTable(latency, options),
    taskTable(mine(tables.tasks), options),
    list('Waiting', waitingSentences(mine(tables.blame)), options),
    list('Bound by', boundBy(latency, placement, mine(tables.blame), mine(tables.resources)), options),
    elementTable(mine(tables.resources), options),
    memoryTable(mine(tables.memory), options),
    cacheTable(mine(tables.cache), options),
  ]
    .filter((part) => part !== '')
    .join('\n\n');
}

function headingText(study: StudyResult, placement: PlacementResult, { paint, width }: Look): string {
  const count = placement.replications.length;
  const window = placement.replications[0]?.windowPs ?? 0;
  const warmup = study.warmupPs === null ? 'warm-up not settled' : `warm-up ${readableSpan(study.warmupPs)}`;
  const run = `seed ${study.seed}, ${count} ${count === 1 ? 'replication' : 'replications'} of ${readableSpan(window)}, ${warmup}`;
  return [
    paint('heading', `${study.scenario}, placement ${placement.placement}`),
    ...wrap(study.title, width, ''),
    ...wrap(run, width, '').map((line) => paint('faint', line)),
  ]
    .filter((line) => line !== '')
    .join('\n');
}

/** A line for each element that binds paths, with these: in the order of the paths. */
function boundBy(
  rows: readonly LatencyRow[],
  { replications }: PlacementResult,
  blame: readonly BlameRow[],
  resources: readonly ResourceRow[],
): string[] {
  const paths = new Map<string, string[]>();
  for (const row of rows.filter(({ count }) => count > 0)) {
    const element = bindingElement(row, { blame, resources }, replications[0]!);
    if (element === null) continue;
    paths.set(element, [...(paths.get(element) ?? []), `${row.master} ${row.operation}`]);
  }
  return [...paths].map(([element, bound]) => `${element} binds ${bound.join(', ')}`);
}

function pathTable(rows: readonly LatencyRow[], { width, paint }: Look): string {
  if (rows.length === 0) return '';
  const columns = [
    left('path'),
    left('through'),
    right('bursts'),
    right('offered'),
    right('carried'),
    right('p50'),
    right('p99'),
    right('max'),
    { ...left('state'), breaks: false },
  ];
  const cells = rows.map((row) => [
    `${row.master} ${row.operation}`,
    `${row.port} > ${row.target}`,
    grouped(row.count),
    or(row.offeredBytesPerS, readableRate),
    or(row.bytesPerS, readableRate),
    or(row.percentilesPs.p50, readableNs),
    or(row.percentilesPs.p99, readableNs),
    or(row.maxPs, readableNs),
    toned(row.state.replace('_', ' '), row.state === 'steady' ? 'good' : 'bad', paint),
  ]);
  const title = 'Paths (MB/s of 10^6 bytes; latency in ns, from wanted to done)';
  return section(
    title,
    textTable(columns, cells, width, (text) => paint('faint', text)),
    paint,
  );
}

function elementTable(rows: readonly ResourceRow[], { width, paint }: Look): string {
  const busiest = rows
    .filter(({ grants }) => grants > 0)
    .toSorted((a, b) => (b.utilisation ?? 0) - (a.utilisation ?? 0))
    .slice(0, BUSIEST);
  if (busiest.length === 0) return '';
  const columns = [left('element'), left('kind'), ...['busy', 'mean queue', 'largest', 'stalled'].map(right)];
  const cells = busiest.map((row) => [
    row.element,
    row.kind,
    or(row.utilisation, percent),
    or(row.meanQueue, (mean) => fixed(mean, 2)),
    grouped(row.maxQueue),
    or(row.stallShare, percent),
  ]);
  return section(
    'Busiest elements',
    textTable(columns, cells, width, (text) => paint('faint', text)),
    paint,
  );
}

function memoryTable(rows: readonly MemoryRow[], { width, paint }: Look): string {
  if (rows.length === 0) return '';
  const heads = ['read', 'write', 'peak', 'row hits', 'conflicts', 'refresh', 'turnaround', 'wasted'];
  const cells = rows.map((row) => [
    `${row.memory} ${grouped(row.channel)}`,
    or(row.readBytesPerS, readableRate),
    or(row.writeBytesPerS, readableRate),
    readableRate(row.peakBytesPerS),
    or(row.rowHitShare, percent),
    or(row.rowConflictShare, percent),
    or(row.refreshShare, percent),
    or(row.turnaroundShare, percent),
    or(row.wastedShare, percent),
  ]);
  const columns = [left('channel'), ...heads.map(right)];
  return section(
    'Memory (MB/s)',
    textTable(columns, cells, width, (text) => paint('faint', text)),
    paint,
  );
}

function cacheTable(rows: readonly CacheRow[], { width, paint }: Look): string {
  const used = rows.filter((row) => row.lookups > 0 || row.staleReads > 0);
  if (used.length === 0) return '';
  const heads = ['lookups', 'hits', 'merged', 'evictions', 'write-backs', 'interventions', 'stale'];
  const cells = used.map((row) => [
    row.cache,
    row.master,
    grouped(row.lookups),
    or(row.hitShare, percent),
    grouped(row.merged),
    grouped(row.evictions),
    grouped(row.writebacks),
    grouped(row.interventions),
    row.staleReads > 0 ? toned(grouped(row.staleReads), 'bad', paint) : '0',
  ]);
  const columns = [left('cache'), left('master'), ...heads.map(right)];
  return section(
    'Caches',
    textTable(columns, cells, width, (text) => paint('faint', text)),
    paint,
  );
}

const section = (title: string, body: string, paint: Look['paint']): string => `${paint('heading', title)}\n${body}`;

const warningText = ({ text, count }: Warning): string => (count === 1 ? text : `${text} (${grouped(count)} times)`);

const toned = (text: string, tone: Tone, paint: Look['paint']): TextCell => ({
  text,
  paint: (line) => paint(tone, line),
});

const isPooled = (row: { replication: number | 'all' }): boolean => row.replication === 'all';

const or = (value: number | null, text: (value: number) => string): string => (value === null ? NONE : text(value));
