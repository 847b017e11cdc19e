import type { Problem, ProblemCode } from '../errors.js';
import type { MasterKeys, Parsed } from './parse-system.js';
import { problemAt } from './problem.js';
import type { BufferSpec, DistributionSpec, ElementSpec, MasterSpec } from './scenario.js';
import { child, shown } from './tree.js';
import { TREE_HINT, TREE_RULE, waysFit } from './tree-plru.js';

/** Most lines that a zipf or chain pattern may have: the tables that it draws from are kept in memory. */
export const MOST_PATTERN_LINES = 2 ** 22;

/** Checks of a master against what it is attached to and the buffer that it works in. */
export function checkMaster(
  entry: Parsed<MasterKeys>,
  master: MasterSpec,
  at: ElementSpec,
  buffer: BufferSpec,
  problems: Problem[],
): void {
  const { tree, key } = entry;
  const fault = (name: string, code: ProblemCode, message: string, hint: string): void => {
    const written = child(tree, name);
    const place = written?.place ?? { ...key, path: `${key.path}.${name}` };
    const value = written?.kind === 'scalar' ? shown(written) : null;
    problems.push(problemAt(place, code, message, value, hint));
  };
  const most = largest(master.size);
  if (master.issue.process !== 'trace' && most > buffer.bytes) {
    fault(
      'size',
      'out_of_range',
      `must fit buffer '${buffer.name}' of ${buffer.bytes} B, is up to ${most} B`,
      'make one of them fit',
    );
  }
  checkPattern(master, buffer, fault);
  if (master.issue.process === 'greedy' && at.kind === 'device' && at.full === 'lose' && at.queueDepth < Infinity) {
    const rule = `must not be greedy, as '${at.name}' loses what finds it full: the source would lose without end`;
    fault('issue', 'conflict', rule, `write another process, or 'full: hold' at the device`);
  }
  if (master.core === null || at.kind !== 'coherence') return;
  if (!waysFit(master.core.l1)) fault('core', 'out_of_range', `l1: ${TREE_RULE}`, TREE_HINT);
  const sets = master.core.l1.bytes / (at.lineBytes * master.core.l1.ways);
  if (!Number.isInteger(sets) || sets < 1) {
    const rule = `l1 must be a whole number of sets of ${master.core.l1.ways} × ${at.lineBytes} B`;
    fault('core', 'out_of_range', rule, `write e.g. '{size: 32 KiB, ways: 4}'`);
  }
}

type Report = (name: string, code: ProblemCode, message: string, hint: string) => void;

function checkPattern({ pattern }: MasterSpec, buffer: BufferSpec, fault: Report): void {
  if (!('lineBytes' in pattern)) return;
  const lines = Math.floor(buffer.bytes / pattern.lineBytes);
  if (lines < 1) {
    fault(
      'addresses',
      'out_of_range',
      `buffer '${buffer.name}' must hold a line of ${pattern.lineBytes} B`,
      'make it larger',
    );
  } else if (lines > MOST_PATTERN_LINES) {
    const rule = `must have at most ${MOST_PATTERN_LINES} lines, '${buffer.name}' has ${lines}`;
    fault('addresses', 'out_of_range', rule, 'make the buffer smaller or the line larger');
  }
}

/** The largest request of a distribution that has an end; those without are cut to the buffer when drawn. */
function largest(size: DistributionSpec): number {
  if (size.kind === 'fixed') return size.value;
  if (size.kind === 'uniform') return size.high;
  return size.kind === 'table' ? Math.max(...size.values) : 0;
}
