import type { IssueSpec, MasterSpec } from '../../src/scenario/scenario.js';
import { RequestSource } from '../../src/traffic/request-source.js';

/** Buffer of the sample masters, in bytes. */
export const BUFFER_BYTES = 1 << 20;

/** A master that issues as stated; whatever else may be overridden. */
export function master(issue: IssueSpec, rest: Partial<MasterSpec> = {}): MasterSpec {
  return {
    name: 'dma0',
    group: null,
    attach: 'port0',
    clock: null,
    widthBytes: 8,
    syncCycles: 2,
    burstBeats: 16,
    maxReads: 8,
    maxWrites: 8,
    ids: 1,
    sameIdOrder: 'port',
    qos: 0,
    readShare: 0.5,
    buffer: 'frame',
    pattern: { pattern: 'random', alignBytes: 64 },
    size: { kind: 'fixed', value: 64 },
    issue,
    startPs: 0,
    stopPs: Infinity,
    hitRatio: 0,
    asked: { reads: false, writes: false },
    core: null,
    whenFull: 'wait',
    ...rest,
  };
}

/** What a source says of one request. */
export interface Request {
  index: number;
  wantedPs: number;
  write: boolean;
  offset: number;
  bytes: number;
  thinkPs: number;
  serviceDraw: number;
}

/** The next `count` requests of a source, or fewer if an open one ends before. */
export function requests(source: RequestSource, count: number): Request[] {
  const list: Request[] = [];
  while (list.length < count) {
    source.advance();
    if (source.isOpen && source.wantedPs === Infinity) break;
    const { index, wantedPs, write, offset, bytes, thinkPs, serviceDraw } = source;
    list.push({ index, wantedPs, write, offset, bytes, thinkPs, serviceDraw });
  }
  return list;
}

export function requestsOf(spec: MasterSpec, count: number, seed = '1', replication = 0): Request[] {
  return requests(new RequestSource(spec, BUFFER_BYTES, seed, replication), count);
}

/** The first `count` wanted times, in ps. */
export function wanted(spec: MasterSpec, count: number, seed = '1', replication = 0): number[] {
  return requestsOf(spec, count, seed, replication).map((request) => request.wantedPs);
}
