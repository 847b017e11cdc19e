/** Where the time of a burst goes: the one list of its stages, from which tables, docs and tests take their words. */

/** A stage as the tables name it. */
export interface Stage {
  /** Name, as in stages.csv. */
  readonly name: string;
  /** One sentence, for the docs. */
  readonly meaning: string;
}

/** In the order in which a burst goes through them. */
export const STAGES = [
  { name: 'source_wait', meaning: 'From wanted until its master presents it: earlier bursts, the outstanding limit.' },
  { name: 'port', meaning: 'Until the port takes it, and in the port until it is let on.' },
  { name: 'arbitration', meaning: 'At switches and at the doors of memories and caches, until it is its turn.' },
  { name: 'transfer', meaning: 'On its way forward: addresses, write data, clock crossings.' },
  { name: 'lookup', meaning: 'In the tag pipeline of a cache.' },
  { name: 'snoop', meaning: 'While other caches are asked or told.' },
  { name: 'memory_queue', meaning: 'In the queue of a memory or device, until its own first command or its service.' },
  { name: 'row_preparation', meaning: "From an access's first command until its column command: precharge, activate." },
  {
    name: 'data',
    meaning:
      'From the column command (the cache, the bank, the server) until the data is on its way back; of several accesses of one burst, one after the other.',
  },
  { name: 'refresh', meaning: 'In the queue of a memory while its rank, or bank, is kept for refresh.' },
  { name: 'return_arbitration', meaning: 'On the way back, until it is its turn or the turn of its ID.' },
  { name: 'return_transfer', meaning: 'On its way back to the master.' },
] as const satisfies readonly Stage[];

export type StageName = (typeof STAGES)[number]['name'];

/**
 * A part of a burst's time, as the recorder tells them apart: the stages in order, and of `row_preparation` the precharge by
 * itself, which is waiting where the rest is service.
 */
export const Part = {
  sourceWait: 0,
  port: 1,
  arbitration: 2,
  transfer: 3,
  lookup: 4,
  snoop: 5,
  memoryQueue: 6,
  opening: 7,
  data: 8,
  refresh: 9,
  returnArbitration: 10,
  returnTransfer: 11,
  closing: 12,
} as const;

export const PARTS = 13;

/** By part: its stage's place in `STAGES`. */
export const STAGE_OF: Readonly<Int32Array> = Int32Array.from({ length: PARTS }, (_, part) =>
  part === Part.closing ? Part.opening : part,
);

/** By part: 1 where time in it is waiting, for which somebody is to blame; the rest is service. */
export const WAITS = flags([
  Part.sourceWait,
  Part.port,
  Part.arbitration,
  Part.memoryQueue,
  Part.refresh,
  Part.returnArbitration,
  Part.closing,
]);

function flags(parts: readonly number[]): Readonly<Uint8Array> {
  return Uint8Array.from({ length: PARTS }, (_, part) => (parts.includes(part) ? 1 : 0));
}
