import { burstProblem, wrapAddresses, type BurstShape } from '../../../src/traffic/beats.js';
import type { Comparison } from '../outside-check.js';
import { type ReferenceRow, rowsBy } from '../reference-table.js';
import { beatsOf, send, type WireBurst } from './wires.js';

/** Checks made from the tables whose rows are bursts, beats and requests. */

export const sourceOf = (row: ReferenceRow): string => {
  const section = row.text('section');
  return section === 'arithmetic' ? 'arithmetic on beats per clock' : `ARM IHI 0022 Issue E, ${section}`;
};

/** Every burst of every split: where it starts, its beats and its bytes. */
export function splitChecks(rows: readonly ReferenceRow[]): Comparison[] {
  return [...rowsBy(rows, 'split')].flatMap(([name, parts]) => {
    const [first] = parts;
    const request = { write: false, address: first!.number('start'), bytes: first!.number('bytes') };
    const lane = { busBytes: first!.number('bus_bits') / 8, mostBeats: first!.number('most_beats') };
    const { bursts } = send(request, lane).wires;
    const source = sourceOf(first!);
    const count = { check: `split ${name}: bursts`, source, unit: 'bursts', expected: parts.length };
    return [{ ...count, measured: bursts.length }, ...parts.flatMap((part) => partChecks(name, part, bursts))];
  });
}

function partChecks(name: string, part: ReferenceRow, bursts: readonly WireBurst[]): Comparison[] {
  const burst = bursts[part.number('burst') - 1];
  const check = `split ${name}, burst ${part.text('burst')}`;
  const source = sourceOf(part);
  const of = (what: string, unit: string, column: string, measured: number | undefined): Comparison => ({
    check: `${check}: ${what}`,
    source,
    unit,
    expected: part.number(column),
    measured: measured ?? NaN,
  });
  return [
    of('address', 'address', 'address', burst?.address),
    of('beats', 'beats', 'beats', burst?.beats.length),
    of('bytes', 'bytes', 'carried_bytes', burst?.bytes),
  ];
}

/** Every request of the counting table: what it takes on each channel. */
export function countChecks(rows: readonly ReferenceRow[]): Comparison[] {
  return rows.flatMap((row) => {
    const request = {
      write: row.text('operation') === 'write',
      address: row.number('start'),
      bytes: row.number('bytes'),
    };
    const { wires } = send(request, { busBytes: row.number('bus_bits') / 8, mostBeats: row.number('most_beats') });
    const of = (column: string, measured: number): Comparison => ({
      check: `request ${row.text('request')}: ${column}`,
      source: sourceOf(row),
      unit: 'transfers',
      expected: row.number(column),
      measured,
    });
    return [
      of('addresses', wires.bursts.length),
      of('beats', beatsOf(wires).length),
      of(
        'last',
        wires.bursts.reduce((sum, { responses }) => sum + responses, 0),
      ),
    ];
  });
}

/** A beat on the bus: its address, and the first and last byte lane that carry it. */
interface LaneBeat {
  readonly address: number;
  readonly lanes: readonly [first: number, last: number];
}

/** Every beat of every burst: its address, and where the example says so, its byte lanes. */
export function beatChecks(rows: readonly ReferenceRow[]): Comparison[] {
  return [...rowsBy(rows, 'burst')].flatMap(([name, parts]) => {
    const beats = parts[0]!.text('type') === 'WRAP' ? wrapBeats(parts[0]!) : sentBeats(parts[0]!);
    return parts.flatMap((part): Comparison[] => {
      const beat = beats[part.number('beat') - 1];
      const check = `burst ${name}, beat ${part.text('beat')}`;
      const source = sourceOf(part);
      const address = { check: `${check}: address`, source, unit: 'address', expected: part.number('address') };
      const found: Comparison[] = [{ ...address, measured: beat?.address ?? NaN }];
      if (part.text('first_lane') === '') return found;
      for (const [i, column] of ['first_lane', 'last_lane'].entries()) {
        const lane = { check: `${check}: ${column.replace('_', ' ')}`, source, unit: 'lane' };
        found.push({ ...lane, expected: part.number(column), measured: beat?.lanes[i] ?? NaN });
      }
      return found;
    });
  });
}

/** Masters send no WRAP bursts: the arithmetic stands by itself. */
function wrapBeats(row: ReferenceRow): LaneBeat[] {
  const addresses = wrapAddresses(row.number('start'), row.number('size_bytes'), row.number('beats'));
  return addresses.map((address) => ({ address, lanes: [NaN, NaN] }));
}

/** The beats of an INCR burst as a master sends them: a beat's bytes follow those of the beat before. */
function sentBeats(row: ReferenceRow): LaneBeat[] {
  const [start, size, beats, busBytes] = ['start', 'size_bytes', 'beats', 'bus_bytes'].map((key) => row.number(key));
  const bytes = beats! * size! - (start! % size!);
  const lane = { busBytes: busBytes!, mostBeats: beats!, master: { widthBytes: size! }, port: { pack: false } };
  const [burst] = send({ write: true, address: start!, bytes }, lane).wires.bursts;
  let address = start!;
  return burst!.beats.map((beat) => {
    const first = address % busBytes!;
    address += beat.bytes;
    return { address: address - beat.bytes, lanes: [first, first + beat.bytes - 1] };
  });
}

/** Every burst of the table of legal and illegal ones. */
export function legalChecks(rows: readonly ReferenceRow[]): Comparison[] {
  return rows.map((row) => {
    const shape: BurstShape = {
      type: row.text('type') as BurstShape['type'],
      start: row.number('start'),
      beats: row.number('beats'),
      size: row.number('size_bytes'),
      bus: row.number('bus_bytes'),
    };
    const problem = burstProblem(shape, row.text('protocol') as 'AXI3' | 'AXI4');
    const check = `burst ${row.text('burst')} is legal`;
    return {
      check,
      source: sourceOf(row),
      unit: '1 = yes',
      expected: row.number('legal'),
      measured: problem === null ? 1 : 0,
    };
  });
}
