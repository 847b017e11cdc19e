import type { ArbitrationSpec, MasterSpec, PortSpec, SystemSpec } from '../../../src/scenario/scenario.js';
import { buffer, clock, crossbar, type Done, master, onChip, port, run, system } from '../../model/platform.js';

/** One cycle of everything here, in ps, and the bytes of a beat. */
export const CYCLE = 1000;
export const BEAT = 16;

/**
 * What masters contend for: the bank of a memory, by reads; the data channel of a switch's output, by writes; its address
 * channel, by reads, which hold it for a cycle whatever their length.
 */
export type Resource = 'memory' | 'switch data' | 'switch addresses';

/** A burst that is wanted: when, in cycles, and of how many beats. */
export interface Want {
  readonly at: number;
  readonly beats: number;
}

/** A master with a port of its own: what it wants, or bursts of one length, so many at a time, as fast as they go. */
export interface Source {
  readonly wants?: readonly Want[];
  readonly greedy?: { readonly beats: number; readonly outstanding: number };
  /** Token bucket at its port: beats a cycle, and beats at once. */
  readonly bucket?: { readonly rate: number; readonly depth: number };
}

/** A burst and when the resource served it, in cycles. */
export interface Served {
  readonly master: number;
  readonly beats: number;
  readonly wanted: number;
  /** When the resource could see it. */
  readonly arrival: number;
  /** When it was the oldest of its master, and the one before had ended. */
  readonly head: number;
  readonly start: number;
  readonly end: number;
  /** Bursts of its master that had arrived before and not ended. */
  readonly ahead: number;
}

/** What the sources make of a resource within so many cycles, master by master. */
export function serve(
  resource: Resource,
  arbitration: ArbitrationSpec,
  sources: readonly Source[],
  cycles: number,
): Served[][] {
  const { log } = run(systemOf(resource, arbitration, sources, cycles));
  return sources.map((_, i) => {
    const own = log.done.filter((one) => one.master === i).toSorted((a, b) => a.number - b.number);
    return inOrder(own.map((one) => rawOf(resource, one)));
  });
}

type Raw = Omit<Served, 'head' | 'ahead'>;

function rawOf(resource: Resource, done: Done): Raw {
  const beats = done.bytes / BEAT;
  const times = { wanted: done.wantedAt / CYCLE, master: done.master, beats };
  if (resource === 'switch data') {
    const start = done.grantedAt[1]! / CYCLE;
    return { ...times, arrival: done.beatsAt[1]![0] / CYCLE, start, end: start + beats };
  }
  // the address leaves the port a cycle after its grant
  const arrival = done.grantedAt[0]! / CYCLE + 1;
  if (resource === 'memory')
    return { ...times, arrival, start: done.enteredAt / CYCLE, end: done.enteredAt / CYCLE + beats };
  return { ...times, arrival, start: done.grantedAt[1]! / CYCLE, end: done.grantedAt[1]! / CYCLE + 1 };
}

function inOrder(raw: readonly Raw[]): Served[] {
  let before = 0;
  return raw.map((one, i) => {
    const head = Math.max(one.arrival, before);
    before = one.end;
    let ahead = 0;
    for (let j = i - 1; j >= 0 && raw[j]!.end > one.arrival; j--) ahead++;
    return { ...one, head, ahead };
  });
}

/** Input names by source, for arbiters that need them. */
export const inputOf = (source: number): string => `p${source}`;

function systemOf(
  resource: Resource,
  arbitration: ArbitrationSpec,
  sources: readonly Source[],
  cycles: number,
): SystemSpec {
  const common = { clock: 'fabric', arbitration, queueDepth: 64 };
  const shared = resource === 'memory' ? 'memory' : 'x';
  const spec = system(
    [
      ...sources.map((source, i) => portOf(source, inputOf(i), shared)),
      ...(resource === 'memory' ? [] : [crossbar('x', ['memory'], common)]),
      onChip('memory', resource === 'memory' ? common : { clock: 'fabric', queueDepth: 64 }),
    ],
    [buffer('data', 'memory')],
    sources.map((source, i) => masterOf(source, i, resource === 'switch data', cycles)),
    [clock('fabric', CYCLE)],
  );
  return { ...spec, run: { ...spec.run, durationPs: cycles * CYCLE, drainPs: 1e9 } };
}

function portOf({ bucket }: Source, name: string, to: string): PortSpec {
  const limits = { maxReads: Infinity, maxWrites: Infinity, queueDepth: 64, writeStart: 'first_beat' } as const;
  if (bucket === undefined) return port(name, [to], limits);
  const regulator = { bytesPerS: (bucket.rate * BEAT * 1e12) / CYCLE, depthBytes: bucket.depth * BEAT };
  return port(name, [to], { ...limits, regulator });
}

function masterOf({ wants = [], greedy }: Source, index: number, write: boolean, cycles: number): MasterSpec {
  const entries = wants.map(({ at, beats }) => ({ timePs: at * CYCLE, write, address: 0, bytes: beats * BEAT }));
  const outstanding = greedy?.outstanding ?? 1000;
  return master(`m${index}`, inputOf(index), 'data', {
    burstBeats: 256,
    maxReads: outstanding,
    maxWrites: outstanding,
    readShare: write ? 0 : 1,
    // every burst starts at a boundary of 4 KiB, so that none is cut
    pattern: { pattern: 'strided', strideBytes: 4096 },
    size: { kind: 'fixed', value: (greedy?.beats ?? 1) * BEAT },
    issue: greedy === undefined ? { process: 'trace', file: '', entries } : { process: 'greedy' },
    stopPs: cycles * CYCLE,
  });
}
