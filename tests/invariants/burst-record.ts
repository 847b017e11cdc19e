import type { Bursts } from '../../src/model/bursts.js';
import type { Route } from '../../src/model/route.js';

/** What a burst did, from its first instant to its last. Times are in ps; −1 where something did not happen. */
export interface BurstRecord {
  /** In the order in which the records of all bursts came into being. */
  readonly serial: number;
  readonly route: Route;
  /** How often the model said so. */
  offered: number;
  accepted: number;
  completed: number;
  lost: boolean;
  /** Its record is free: it is done, and all of it has arrived. */
  over: boolean;
  write: boolean;
  /** Of a core whose buffer is cached: an access that is fetched as a line, or done in the private cache. */
  core: boolean;
  master: number;
  number: number;
  id: number;
  address: number;
  bytes: number;
  serviceDraw: number;
  wantedAt: number;
  offeredAt: number;
  acceptedAt: number;
  doneAt: number;
  /** By hop: when it was granted onwards (Infinity: not). */
  grantedAt: number[];
  /** By hop: when each of its beats was usable there, forward for a write and on the way back for a read (Infinity: not known). */
  beats: number[][];
  /** Where its time went, link by link, when it was done. */
  journey: Link[];
}

/** An interval of a burst's time, which begins where the one before ends. */
export interface Link {
  readonly part: number;
  readonly culprit: number;
  readonly element: number;
  readonly untilPs: number;
}

export function newRecord(serial: number, route: Route): BurstRecord {
  return {
    serial,
    route,
    offered: 0,
    accepted: 0,
    completed: 0,
    lost: false,
    over: false,
    write: false,
    core: false,
    master: -1,
    number: -1,
    id: -1,
    address: -1,
    bytes: -1,
    serviceDraw: -1,
    wantedAt: -1,
    offeredAt: -1,
    acceptedAt: -1,
    doneAt: -1,
    grantedAt: [],
    beats: [],
    journey: [],
  };
}

/** Copies what the model knows of a burst that is over. */
export function fill(record: BurstRecord, bursts: Bursts, slot: number): void {
  record.over = true;
  record.write = bursts.op[slot] === 1;
  record.master = bursts.master[slot]!;
  record.number = bursts.number[slot]!;
  record.id = bursts.id[slot]!;
  record.address = bursts.address[slot]!;
  record.bytes = bursts.bytes[slot]!;
  // the accesses of a core with a private cache have none
  if (!record.core) record.serviceDraw = bursts.serviceDraw[slot]!;
  record.wantedAt = bursts.wantedAt[slot]!;
  record.offeredAt = bursts.offeredAt[slot]!;
  // the column keeps what it held for the burst before, where this one was lost
  record.acceptedAt = record.lost ? -1 : bursts.acceptedAt[slot]!;
  record.doneAt = record.completed > 0 ? bursts.doneAt[slot]! : -1;
  // a hit in a private cache travels nowhere
  if (record.lost || record.acceptedAt < 0) return;
  for (let hop = 0; hop < record.route.hops.length; hop++) {
    record.grantedAt.push(bursts.grantedAt[slot * bursts.hops + hop]!);
    const base = bursts.beatBase(slot, hop);
    record.beats.push([...bursts.beats.subarray(base, base + bursts.beatCount(slot, hop))]);
  }
}

/** Which burst it is, for messages. */
export function nameOf(record: BurstRecord, masters: readonly { readonly name: string }[]): string {
  const kind = record.write ? 'write' : 'read';
  const owner = masters[record.master]?.name ?? '?';
  return record.number < 0 ? `own ${kind} ${-record.number} for ${owner}` : `${kind} ${record.number} of ${owner}`;
}
