import { ScenarioError } from '../../../src/errors.js';
import { parse } from '../../scenarios/shipped.js';
import type { Measures } from './measures.js';
import {
  beatsOf,
  CLOCK,
  type Lane,
  laneSystem,
  type Request,
  send,
  type WireBurst,
  watch,
  type Wires,
} from './wires.js';

/** Examples that count transfers, and the clocks they take, of one master on a bus of its own. */

const read = (address: number, bytes: number): Request => ({ write: false, address, bytes });
const write = (address: number, bytes: number): Request => ({ write: true, address, bytes });
const axi4 = (busBytes: number, more: Partial<Lane> = {}): Lane => ({ busBytes, mostBeats: 256, ...more });
const axi3 = (busBytes: number): Lane => ({ busBytes, mostBeats: 16 });

const sixteen = { read: () => send(read(0, 128), axi4(8)), write: () => send(write(0, 128), axi4(8)) };

/** The only burst of a request that is not cut. */
function only({ wires }: { wires: Wires }): WireBurst {
  const [burst] = wires.bursts;
  if (burst === undefined || wires.bursts.length > 1) throw new Error(`${wires.bursts.length} bursts instead of one`);
  return burst;
}

/** Clocks from the start of the first data transfer to the end of the last. */
function dataPhase(run: { wires: Wires }): number {
  const { beats } = only(run);
  return (beats.at(-1)!.atPs - beats[0]!.atPs) / CLOCK + 1;
}

/** Clocks for which the port held its way to memory for the data of writes. */
function clocksBeyondPort({ simulation }: ReturnType<typeof send>): number {
  const [port] = simulation.model.elements;
  return [...port!.channels()].find(({ name }) => name === 'memory write')!.busy.totalPs / CLOCK;
}

/** The clock of the response to a write whose address is at its port at clock 5 and whose last beat is at clock 20. */
function responseClock(writeResponse: 'final' | 'early'): number {
  const entries = [{ timePs: 4 * CLOCK, write: true, address: 0, bytes: 128 }];
  const burst = only(
    watch(laneSystem(axi4(8, { port: { writeResponse } }), { issue: { process: 'trace', file: '', entries } })),
  );
  const [first, last] = [burst.beats[0]!.atPs, burst.beats.at(-1)!.atPs];
  if (first !== 5 * CLOCK || last !== 20 * CLOCK) throw new Error(`data from ${first} to ${last} ps`);
  return burst.doneAt / CLOCK;
}

/** The burst that starts a request from a 4 KiB boundary, twice as long as any burst may be. */
const longest = (bits: number): WireBurst => send(read(0x4000, 8192), axi4(bits / 8)).wires.bursts[0]!;

const narrow = { master: { widthBytes: 4 }, port: { pack: false } };

/** Is a scenario with so many beats a burst accepted? */
function accepts(beats: number): boolean {
  try {
    parse(`
platform:
  clocks: { one: 1 GHz }
  ports: { in: { clock: one, width: 8 bit, to: ram } }
  memories: { ram: { kind: onchip, clock: one, width: 8 bit, size: 4 KiB, access: 1 cycle } }
buffers: { data: { memory: ram, size: 4 KiB } }
masters: { m: { attach: in, burst: ${beats} beats, operations: read, buffer: data, issue: greedy } }
`);
    return true;
  } catch (error) {
    if (error instanceof ScenarioError) return false;
    throw error;
  }
}

const LITE: Lane = { busBytes: 4, mostBeats: 1 };

export const transfers: Measures = {
  'channels.read.addresses': () => sixteen.read().wires.bursts.length,
  'channels.read.beats': () => beatsOf(sixteen.read().wires).length,
  'channels.read.last': () => only(sixteen.read()).responses,
  'channels.write.addresses': () => sixteen.write().wires.bursts.length,
  'channels.write.beats': () => beatsOf(sixteen.write().wires).length,
  'channels.write.last': () => only(sixteen.write()).lasts,
  'channels.write.responses': () => only(sixteen.write()).responses,
  'channels.read.clocks': () => dataPhase(sixteen.read()),
  'channels.write.clocks': () => dataPhase(sixteen.write()),
  'channels.bytes': () => beatsOf(sixteen.read().wires).reduce((sum, { bytes }) => sum + bytes, 0),
  'handshake.address_waits_for_data': () =>
    only(send(write(0, 128), axi4(8, { port: { writeStart: 'whole_burst' } }))).responses,
  'response.after_data.final': () => responseClock('final'),
  'response.after_data.early': () => responseClock('early'),
  'response.read_after_address': () => {
    const { addressAt, beats } = only(send(read(0, 8), axi4(8, { memory: { accessCycles: 1 } })));
    return (beats[0]!.atPs - addressAt) / CLOCK;
  },
  'length.axi4': () => [16, 128, 255, 256, 257, 512].filter(accepts).at(-1)!,
  ...Object.fromEntries(
    [32, 64, 128, 256, 512, 1024].flatMap((bits) => [
      [`longest.${bits}.beats`, () => longest(bits).beats.length],
      [`longest.${bits}.bytes`, () => longest(bits).bytes],
    ]),
  ),
  'split.last_byte': () => {
    const last = send(read(0xff0, 1000), axi4(8)).wires.bursts.at(-1)!;
    return last.address + last.bytes - 1;
  },
  'split.aligned_start': () => send(read(0xffe, 2), axi4(4)).wires.bursts.length,
  'narrow.beats': () => beatsOf(send(write(0, 64), axi4(8, narrow)).wires).length,
  'narrow.full_beats': () => beatsOf(send(write(0, 64), axi4(8)).wires).length,
  'narrow.share': () => 64 / (8 * clocksBeyondPort(send(write(0, 64), axi4(8, narrow)))),
  'unaligned.beats': () => beatsOf(send(read(0x1, 16), axi4(4)).wires).length,
  'unaligned.bytes': () =>
    beatsOf(send(read(0x7, 64), { busBytes: 4, mostBeats: 4 }).wires)
      .slice(0, 4)
      .reduce((sum, { bytes }) => sum + bytes, 0),
  'unaligned.long': () => beatsOf(send(read(0xff3, 1000), axi4(8)).wires).length,
  'modify.beats': () => beatsOf(send(read(0x1000, 320), axi3(8)).wires).length,
  'modify.answers': () => send(write(0x1000, 320), axi3(8)).wires.requestsDone,
  'modify.width': () => clocksBeyondPort(send(write(0x40, 64), axi4(16, { master: { widthBytes: 4 } }))),
  'lite.addresses': () => send(write(0, 64), LITE).wires.bursts.length,
  'lite.beats': () => beatsOf(send(write(0, 64), LITE).wires).length,
  'lite.responses': () => send(write(0, 64), LITE).wires.bursts.reduce((sum, { responses }) => sum + responses, 0),
};
