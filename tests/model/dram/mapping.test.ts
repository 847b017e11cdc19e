import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { Mapping } from '../../../src/model/dram/mapping.js';
import type { DdrSpec } from '../../../src/scenario/scenario.js';
import { timingOfGrade } from './grade-timing.js';
import { ddrSpec } from './rig.js';

const TIMING = timingOfGrade('DDR4-2400R-x16');

/** The same by exact whole numbers of any size, field by field from the least significant. */
function place(spec: DdrSpec, address: bigint): Map<string, number> {
  const { timing, mapping } = spec;
  const granule = BigInt(spec.interleaveBytes);
  const channels = BigInt(spec.channels);
  const granules = address / granule;
  const local = (granules / channels) * granule + (address % granule);
  let rest = local / BigInt(timing.burstLength * timing.busBytes);
  const found = new Map<string, number>([['channel', Number(granules % channels)]]);
  const shifts = new Map<string, number>();
  for (const { field, bits } of mapping.toReversed()) {
    const shift = shifts.get(field) ?? 0;
    const value = Number(rest & ((1n << BigInt(bits)) - 1n));
    found.set(field, (found.get(field) ?? 0) + value * 2 ** shift);
    shifts.set(field, shift + bits);
    rest >>= BigInt(bits);
  }
  return found;
}

describe('the address mapping', () => {
  test('cuts an address into the fields, most significant first', () => {
    // 32-byte accesses; one bit of bank group lowest, then 7 of column, 2 of bank, 14 of row (no rank bit)
    const mapping = new Mapping(ddrSpec(TIMING));
    mapping.decode((((5 * 4 + 2) * 128 + 77) * 2 + 1) * 32 + 31);
    expect([mapping.row, mapping.bank, mapping.group, mapping.column, mapping.channel]).toEqual([5, 4 + 2, 1, 77, 0]);
  });

  test('picks the channel by the interleave granule and takes it out of the address', () => {
    const mapping = new Mapping(ddrSpec(TIMING, { channels: 2, interleaveBytes: 256 }));
    const seen = [0, 255, 256, 511, 512].map((address) => {
      mapping.decode(address);
      return [mapping.channel, mapping.column * 2 + mapping.group];
    });
    expect(seen).toEqual([
      [0, 0],
      [0, 7],
      [1, 0],
      [1, 7],
      [0, 8],
    ]);
  });

  test('agrees with exact arithmetic on addresses up to 2^45, with fields in pieces across the 26th bit', () => {
    const spec = ddrSpec(TIMING, {
      ranks: 2,
      channels: 3,
      bytes: 2 ** 45,
      interleaveBytes: 4096,
      mapping: [
        { field: 'row', bits: 13 },
        { field: 'rank', bits: 1 },
        { field: 'row', bits: 16 },
        { field: 'bank', bits: 2 },
        { field: 'column', bits: 4 },
        { field: 'bankgroup', bits: 1 },
        { field: 'column', bits: 3 },
      ],
    });
    const mapping = new Mapping(spec);
    const check = (address: number): void => {
      mapping.decode(address);
      const want = place(spec, BigInt(address));
      expect(mapping.channel).toBe(want.get('channel'));
      expect(mapping.row).toBe(want.get('row'));
      expect(mapping.rank).toBe(want.get('rank'));
      expect(mapping.column).toBe(want.get('column'));
      expect(mapping.bank).toBe(want.get('bankgroup')! * 4 + want.get('bank')!);
    };
    fc.assert(fc.property(fc.integer({ min: 0, max: 2 ** 45 - 1 }), check), { seed: 7, numRuns: 2000 });
  });

  test('hashes the bank and group bits with the low row bits, one to one within a row', () => {
    const plain = new Mapping(ddrSpec(TIMING));
    const hashed = new Mapping(ddrSpec(TIMING, { bankHash: true }));
    for (let row = 0; row < 20; row++) {
      const banks = new Set<number>();
      for (let bank = 0; bank < 8; bank++) {
        const address = (((row * 4 + (bank % 4)) * 128 + 3) * 2 + Math.floor(bank / 4)) * 32;
        plain.decode(address);
        hashed.decode(address);
        expect(hashed.bank).toBe(plain.bank ^ (row & 7));
        banks.add(hashed.bank);
      }
      expect(banks.size).toBe(8);
    }
  });

  test('channel bits in the mapping take the place of the granule', () => {
    const { mapping: fields } = ddrSpec(TIMING);
    const spec = ddrSpec(TIMING, { channels: 2, mapping: [...fields, { field: 'channel', bits: 1 }] });
    const mapping = new Mapping(spec);
    const channels = [0, 32, 64, 96].map((address) => {
      mapping.decode(address);
      return mapping.channel;
    });
    expect(channels).toEqual([0, 1, 0, 1]);
  });

  test('refuses a mapping that does not fit the geometry or does not cover the memory', () => {
    const { mapping } = ddrSpec(TIMING);
    const wide = mapping.map((piece) => (piece.field === 'bank' ? { ...piece, bits: 3 } : piece));
    expect(() => new Mapping(ddrSpec(TIMING, { mapping: wide }))).toThrow('bank must have log2(4) bits, got 3');
    const short = mapping.map((piece) => (piece.field === 'row' ? { ...piece, bits: 9 } : piece));
    expect(() => new Mapping(ddrSpec(TIMING, { mapping: short }))).toThrow('must cover');
  });
});
