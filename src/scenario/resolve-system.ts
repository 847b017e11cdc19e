import type { Problem } from '../errors.js';
import { checkBudgets } from './check-budgets.js';
import { checkElements } from './check-elements.js';
import { checkMaster } from './check-masters.js';
import { checkReferences } from './check-references.js';
import { checkRoutes } from './check-routes.js';
import { checkTimeline } from './check-timeline.js';
import type { DdrKeys, MasterKeys, Parsed, ParsedSystem } from './parse-system.js';
import { problemAt } from './problem.js';
import { resolveBuffers } from './resolve-buffers.js';
import { resolveDdr } from './resolve-ddr.js';
import { checkTriggers, resolveTask } from './resolve-tasks.js';
import type { BudgetSpec, BufferSpec, ElementSpec, IssueSpec, MasterSpec, SystemSpec } from './scenario.js';
import { readTrace } from './trace-file.js';
import { child } from './tree.js';
import type { Findings } from './layers.js';

/** Reads a file that a scenario names; throws where it cannot. */
export type ReadFile = (path: string) => string | Uint8Array;

/** Bytes of a core's access where the master does not say. */
const CORE_ACCESS_BYTES = 8;

/** Joins what the entries say into a system and checks it as a whole; undefined where there was a problem. */
export function resolveSystem(
  placement: string,
  parsed: ParsedSystem,
  readFile: ReadFile,
  findings: Findings,
): SystemSpec | undefined {
  const { problems } = findings;
  checkReferences(parsed, problems);
  const elements = resolveElements(parsed, problems);
  const byName = new Map(elements.map((element) => [element.name, element]));
  const buffers = resolveBuffers(parsed.buffers, byName, problems);
  const buffersByName = new Map(buffers.map((buffer) => [buffer.name, buffer]));
  const masters = parsed.masters.flatMap((entry) => {
    const at = byName.get(entry.keys?.attach ?? '');
    const buffer = buffersByName.get(entry.keys?.buffer ?? '');
    if (entry.keys === undefined || at === undefined || buffer === undefined) return [];
    const master = resolveMaster(entry.name, entry.keys, at);
    master.issue = withTrace(entry, master.issue, buffer, readFile, findings);
    checkMaster(entry, master, at, buffer, problems);
    return [master];
  });
  if (parsed.run === undefined) return undefined;
  const clocks = new Map(parsed.clocks.flatMap(({ name, keys }) => (keys === undefined ? [] : [[name, keys]])));
  const system: SystemSpec = {
    placement,
    clocks,
    elements,
    buffers,
    masters,
    tasks: [],
    budgets: parsed.budgets.flatMap(({ name, keys }) => {
      return keys === undefined ? [] : [withDeadline({ name, ...keys }, parsed)];
    }),
    metrics: parsed.metrics.flatMap(({ name, keys }) => (keys === undefined ? [] : [{ name, ...keys }])),
    run: parsed.run,
  };
  system.tasks = parsed.tasks.flatMap((entry) => resolveTask(entry, parsed, system, problems) ?? []);
  checkTriggers(parsed, problems);
  checkBudgets(parsed, system, problems);
  checkElements(parsed, system, problems);
  checkTimeline(parsed.runTree, system, problems);
  // with an element missing, every route over it would be told as a mistake of its own
  if (elements.length === parsed.elements.length) checkRoutes(parsed, system, problems);
  return system;
}

/** A budget of a task without a limit of its own: the deadline is that. */
function withDeadline(budget: BudgetSpec, { tasks }: ParsedSystem): BudgetSpec {
  if (budget.kind !== 'task' || budget.limitPs > 0) return budget;
  return { ...budget, limitPs: tasks.find(({ name }) => name === budget.task)?.keys?.deadlinePs ?? 0 };
}

function resolveElements(parsed: ParsedSystem, problems: Problem[]): ElementSpec[] {
  return parsed.elements.flatMap((entry): ElementSpec[] => {
    const { name, keys } = entry;
    if (keys === undefined) return [];
    if (keys.kind !== 'ddr') return [{ name, ...keys }];
    const ddr = resolveDdr(entry as Parsed<DdrKeys> & { keys: DdrKeys }, problems);
    return ddr === undefined ? [] : [ddr];
  });
}

function resolveMaster(name: string, keys: MasterKeys, at: ElementSpec): MasterSpec {
  const { width, size, hitRatio, clock, ...rest } = keys;
  const widthBytes = width ?? at.widthBytes;
  const usual = keys.core === null ? keys.burstBeats * widthBytes : CORE_ACCESS_BYTES;
  return {
    name,
    ...rest,
    // nothing was written: the attached element's; a written none is null too
    clock: clock === undefined ? at.clock : clock,
    widthBytes,
    size: size ?? { kind: 'fixed', value: usual },
    hitRatio: hitRatio ?? 0,
    asked: { reads: false, writes: false },
  };
}

function withTrace(
  { tree }: Parsed<MasterKeys>,
  issue: IssueSpec,
  buffer: BufferSpec,
  readFile: ReadFile,
  { problems, sources }: Findings,
): IssueSpec {
  if (issue.process !== 'trace') return issue;
  try {
    const read = readFile(issue.file);
    const text = typeof read === 'string' ? read : new TextDecoder().decode(read);
    sources.set(issue.file, text);
    return { ...issue, entries: readTrace(text, issue.file, buffer.bytes, problems) };
  } catch (error) {
    const place = child(child(tree, 'issue'), 'file')?.place ?? tree.place;
    const reason = error instanceof Error && 'code' in error ? ` (${String(error.code)})` : '';
    const hint = 'write the path from the folder of the scenario';
    problems.push(problemAt(place, 'trace_missing', `the trace file cannot be read${reason}`, issue.file, hint));
    return issue;
  }
}
