import type { Problem } from '../errors.js';
import type { BufferKeys, Parsed } from './parse-system.js';
import { problemAt } from './problem.js';
import type { BufferSpec, ElementSpec } from './scenario.js';
import { child } from './tree.js';

/** Buffers without a stated base start at multiples of this, the size of a page. */
const PAGE = 4096;

/** Gives every buffer its address, and reports those that lie outside their memory or over one another. */
export function resolveBuffers(
  parsed: readonly Parsed<BufferKeys>[],
  elements: ReadonlyMap<string, ElementSpec>,
  problems: Problem[],
): BufferSpec[] {
  const ends = new Map<string, number>();
  const placed: { buffer: BufferSpec; entry: Parsed<BufferKeys> }[] = [];
  for (const entry of parsed) {
    const memory = elements.get(entry.keys?.memory ?? '');
    if (entry.keys === undefined || memory === undefined || !('bytes' in memory)) continue;
    const buffer = resolved(entry.name, entry.keys, memory.kind, ends);
    checkInside(buffer, entry, memory.bytes, problems);
    const other = placed.find(({ buffer: before }) => overlap(before, buffer));
    if (other !== undefined) {
      const place = child(entry.tree, 'base')?.place ?? entry.key;
      const hint = `start at ${other.buffer.baseBytes + other.buffer.bytes} B or later, or leave base out`;
      problems.push(problemAt(place, 'overlap', `must not overlap buffer '${other.buffer.name}'`, range(buffer), hint));
    }
    placed.push({ buffer, entry });
  }
  return placed.map(({ buffer }) => buffer);
}

function resolved(name: string, keys: BufferKeys, kind: ElementSpec['kind'], ends: Map<string, number>): BufferSpec {
  const { memory, bytes } = keys;
  const baseBytes = keys.base ?? Math.ceil((ends.get(memory) ?? 0) / PAGE) * PAGE;
  ends.set(memory, Math.max(ends.get(memory) ?? 0, baseBytes + bytes));
  return { name, memory, baseBytes, bytes, cached: keys.cached ?? (kind === 'ddr' ? 'yes' : 'no') };
}

function checkInside(
  buffer: BufferSpec,
  { tree, key }: Parsed<BufferKeys>,
  memoryBytes: number,
  problems: Problem[],
): void {
  if (buffer.baseBytes + buffer.bytes <= memoryBytes) return;
  const place = (child(tree, 'base') ?? child(tree, 'size'))?.place ?? key;
  const rule = `must lie within '${buffer.memory}', which has ${memoryBytes} B`;
  problems.push(problemAt(place, 'outside_memory', rule, range(buffer), 'make it smaller or move it'));
}

function overlap(a: BufferSpec, b: BufferSpec): boolean {
  return a.memory === b.memory && a.baseBytes < b.baseBytes + b.bytes && b.baseBytes < a.baseBytes + a.bytes;
}

function range({ baseBytes, bytes }: BufferSpec): string {
  return `bytes ${baseBytes} to ${baseBytes + bytes - 1}`;
}
