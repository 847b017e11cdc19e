import type { Problem, ProblemCode } from '../errors.js';
import { problemAt } from './problem.js';
import { readQuantity } from './quantity.js';
import type { TraceEntry } from './scenario.js';

const HEADER = 'time_ns,operation,address,bytes';
/** Mistakes told of one trace; a file of another kind would have one a line. */
const MOST_PROBLEMS = 20;

/**
 * Reads a trace: the header `time_ns,operation,address,bytes`, then a request a line. Times in ns do not decrease;
 * operation is read or write; address is an offset into the master's buffer, in decimal or 0x hexadecimal.
 */
export function readTrace(text: string, file: string, bufferBytes: number | null, problems: Problem[]): TraceEntry[] {
  const found: Problem[] = [];
  const lines = text.replace(/^\ufeff/, '').split(/\r?\n/);
  const at = (
    line: number,
    column: number,
    code: ProblemCode,
    message: string,
    value: string | null,
    hint: string,
  ): void => {
    found.push(problemAt({ file, line, column, path: '' }, code, message, value, hint));
  };
  if (lines[0] !== HEADER)
    at(1, 1, 'trace_format', 'the first line must name the columns', lines[0] ?? '', `write '${HEADER}'`);
  const entries: TraceEntry[] = [];
  for (const [index, line] of lines.entries()) {
    if (index === 0 || (line === '' && index === lines.length - 1)) continue;
    const entry = lines[0] === HEADER ? readLine(line, entries.at(-1)?.timePs ?? 0, bufferBytes) : undefined;
    if (entry === undefined) break;
    if ('message' in entry) at(index + 1, entry.column, 'trace_format', entry.message, entry.value, entry.hint);
    else entries.push(entry);
    if (found.length === MOST_PROBLEMS) break;
  }
  if (entries.length === 0 && found.length === 0)
    at(1, 1, 'trace_format', 'has no requests', null, 'write a line each');
  problems.push(...found);
  return entries;
}

interface CellFault {
  readonly column: number;
  readonly message: string;
  readonly value: string;
  readonly hint: string;
}

function readLine(line: string, before: number, bufferBytes: number | null): TraceEntry | CellFault {
  const cells = line.split(',').map((cell) => cell.trim());
  if (cells.length !== 4)
    return { column: 1, message: 'must have four cells', value: line, hint: `write e.g. '100,read,0x40,64'` };
  const [time, operation, address, bytes] = cells as [string, string, string, string];
  const fault = (cell: number, message: string, hint: string): CellFault => {
    const column = line.split(',').slice(0, cell).join(',').length + (cell === 0 ? 1 : 2);
    return { column, message, value: cells[cell]!, hint };
  };
  const timePs = psOf(time);
  if (timePs === undefined) return fault(0, 'time_ns must be a number from 0 up', `write e.g. '12.5'`);
  if (timePs < before)
    return fault(0, `time_ns must not decrease (the line before has ${before / 1000})`, 'sort the lines by time');
  if (operation !== 'read' && operation !== 'write')
    return fault(1, 'operation must be read or write', `write 'read' or 'write'`);
  if (!/^(\d+|0x[0-9a-f]+)$/i.test(address))
    return fault(2, 'address must be decimal, or hexadecimal with 0x', `write e.g. '0x40'`);
  if (!/^\d+$/.test(bytes) || Number(bytes) < 1)
    return fault(3, 'bytes must be a whole number from 1 up', `write e.g. '64'`);
  const entry = { timePs, write: operation === 'write', address: Number(address), bytes: Number(bytes) };
  if (bufferBytes === null || entry.address + entry.bytes <= bufferBytes) return entry;
  return fault(
    2,
    `the request must lie within the buffer of ${bufferBytes} B`,
    'addresses are offsets into the buffer',
  );
}

/** Nanoseconds in picoseconds, rounded; undefined where it is no time. */
function psOf(text: string): number | undefined {
  if (!/^\d+(\.\d+)?$/.test(text)) return undefined;
  const reading = readQuantity('time', `${text} ns`);
  return 'value' in reading ? reading.value : undefined;
}
