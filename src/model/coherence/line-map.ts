import { commonDivisor } from '../../engine/common-multiple.js';
import { refillPath } from '../../scenario/paths.js';
import type { CacheSpec, CoherenceSpec, SystemSpec } from '../../scenario/scenario.js';

/** A memory that a coherence unit can refill from. */
export interface CachedMemory {
  readonly name: string;
  readonly bytes: number;
}

/**
 * Line numbers across all memories behind a unit, so that one set of tags can hold lines of each. A memory starts at a
 * multiple of `alignLines`, so that a line's set follows from its address within its own memory.
 */
export class LineMap {
  private readonly starts: number[] = [];

  constructor(
    readonly memories: readonly CachedMemory[],
    readonly lineBytes: number,
    alignLines: number,
  ) {
    let start = 0;
    for (const { bytes } of memories) {
      this.starts.push(start);
      start += Math.ceil(Math.ceil(bytes / lineBytes) / alignLines) * alignLines;
    }
  }

  /** Number of a memory, or −1 where the unit does not reach it. */
  indexOf(memory: string): number {
    return this.memories.findIndex(({ name }) => name === memory);
  }

  lineOf(memory: number, address: number): number {
    return this.starts[memory]! + Math.floor(address / this.lineBytes);
  }

  memoryOf(line: number): number {
    let memory = this.starts.length - 1;
    while (this.starts[memory]! > line) memory--;
    return memory;
  }

  /** First byte of a line within its memory. */
  addressOf(line: number): number {
    return (line - this.starts[this.memoryOf(line)]!) * this.lineBytes;
  }
}

/** The memories that a unit refills from, in the order in which routes number them. */
export function linesBehind(spec: CoherenceSpec, system: SystemSpec): LineMap {
  const memories: { name: string; bytes: number }[] = [];
  for (const element of system.elements) {
    const memory = element.kind === 'ddr' || element.kind === 'onchip';
    if (memory && refillPath(system, spec, element.name) !== undefined) memories.push(element);
  }
  let align = setsOf(spec.l2, spec.lineBytes);
  for (const { core } of system.masters) {
    if (core === null) continue;
    const sets = setsOf(core.l1, spec.lineBytes);
    align *= sets / commonDivisor(align, sets);
  }
  return new LineMap(memories, spec.lineBytes, align);
}

const setsOf = (cache: CacheSpec, lineBytes: number): number => cache.bytes / (lineBytes * cache.ways);
