import type { Problem } from '../errors.js';
import type { BudgetKeys, MetricKeys, Parsed, ParsedSystem } from './parse-system.js';
import { problemAt } from './problem.js';
import type { SystemSpec } from './scenario.js';
import { suggestion } from './suggestion.js';
import { child, textOf } from './tree.js';

/** Reports budgets, metrics of a comparison and the goal of a search that name what is not there, or what has no such number. */
export function checkBudgets(parsed: ParsedSystem, system: SystemSpec, problems: Problem[]): void {
  const { place } = parsed;
  const best = place === null ? undefined : child(place.tree, 'best');
  const goal = best === undefined ? [] : [{ tree: best, keys: place?.keys?.best }];
  for (const entry of parsed.budgets) checkDeadline(entry, parsed, problems);
  for (const entry of [...parsed.budgets, ...parsed.metrics, ...goal]) {
    known(entry, 'master', new Set(parsed.masters.map(({ name }) => name)), problems);
    known(entry, 'element', new Set(parsed.elements.map(({ name }) => name)), problems);
    known(entry, 'task', new Set(parsed.tasks.map(({ name }) => name)), problems);
    const { keys } = entry;
    if (keys === undefined) continue;
    checkOperation(entry, keys, system, problems);
    checkMemory(entry, keys, parsed, problems);
  }
}

type Keys = BudgetKeys | MetricKeys;
type Entry = Pick<Parsed<unknown>, 'tree'>;

/** Looks at what is written, so that an entry with another mistake is checked all the same. */
function known(
  { tree }: Entry,
  key: 'master' | 'element' | 'task',
  names: ReadonlySet<string>,
  problems: Problem[],
): void {
  const at = child(tree, key);
  const name = textOf(at);
  if (at === undefined || name === undefined || names.has(name)) return;
  problems.push(problemAt(at.place, 'unknown_name', `unknown ${key} '${name}'`, name, suggestion(name, names)));
}

/** A budget of a task needs a limit: its own, or the deadline. */
function checkDeadline({ key, name, keys }: Parsed<BudgetKeys>, { tasks }: ParsedSystem, problems: Problem[]): void {
  if (keys?.kind !== 'task' || keys.limitPs > 0) return;
  const task = tasks.find((one) => one.name === keys.task);
  if (task?.keys === undefined || task.keys.deadlinePs !== null) return;
  const place = { ...key, path: `budgets.${name}.at_most` };
  const message = `is missing, as task '${keys.task}' has no deadline`;
  problems.push(problemAt(place, 'missing_key', message, null, `add e.g. 'at_most: 60 us', or a deadline to the task`));
}

function checkOperation({ tree }: Entry, keys: Keys, system: SystemSpec, problems: Problem[]): void {
  const at = child(tree, 'operation');
  if (at === undefined) return;
  if ('element' in keys && keys.element !== null) {
    const hint = `delete it, or name a master`;
    problems.push(problemAt(at.place, 'conflict', 'goes with a master only', textOf(at) ?? null, hint));
  }
  if (!('operation' in keys) || keys.operation === null) return;
  const master = system.masters.find(({ name }) => name === keys.master);
  if (master === undefined || does(master, keys.operation)) return;
  const other = keys.operation === 'read' ? 'write' : 'read';
  const rule = `${master.name} has no ${keys.operation}s`;
  problems.push(problemAt(at.place, 'conflict', rule, keys.operation, `write '${other}' or delete the key`));
}

function does({ issue, readShare, asked }: SystemSpec['masters'][number], operation: 'read' | 'write'): boolean {
  if (operation === 'read' ? asked.reads : asked.writes) return true;
  if (issue.process === 'silent') return false;
  if (issue.process === 'trace') return issue.entries.some(({ write }) => write === (operation === 'write'));
  return operation === 'read' ? readShare > 0 : readShare < 1;
}

/** Bytes are counted on the data buses of DRAM, and by path everywhere else. */
function checkMemory({ tree }: Entry, keys: Keys, { elements }: ParsedSystem, problems: Problem[]): void {
  if (keys.kind !== 'bandwidth' || keys.element === null) return;
  const element = elements.find(({ name }) => name === keys.element);
  if (element?.keys === undefined || element.keys.kind === 'ddr') return;
  const drams = elements.flatMap(({ name, keys: own }) => (own?.kind === 'ddr' ? [name] : []));
  const at = child(tree, 'element')!;
  problems.push(
    problemAt(at.place, 'conflict', 'must be a DRAM memory', keys.element, suggestion(keys.element, drams)),
  );
}
