import { describe, expect, test } from 'vitest';
import type { DdrSpec } from '../../../src/scenario/scenario.js';
import { type Answered, ddrSpec, Rig, type Wanted } from './rig.js';
import { DDR3, read, write } from './trace.js';

/** What was served and what was answered from the write queue, of accesses that come at their clocks. */
function answers(
  accesses: [clock: number, wanted: Wanted][],
  change: Partial<DdrSpec> = {},
): { served: Answered[]; covered: Answered[] } {
  const rig = new Rig(ddrSpec(DDR3, change));
  for (const [clock, wanted] of accesses) rig.at(clock, [wanted]);
  rig.run(2000);
  return { served: rig.served, covered: rig.coveredBy };
}

const part = (wanted: Wanted, low: number, high: number): Wanted => ({ ...wanted, low, high });

// an access is 32 bytes; a row is open 11 clocks after its activate; write to read 18, read to write 9
describe('a read that meets a queued write', () => {
  test('is answered from the queue if the write covers it, whether it came before or with it', () => {
    for (const clock of [0, 5]) {
      const all = answers([
        [0, write(0, 1, 3)],
        [clock, read(0, 1, 3)],
      ]);
      expect(all).toEqual({ served: [[0, 11]], covered: [[1, clock]] });
    }
  });

  test('is answered if it asks for all that the write holds, or for a part of it', () => {
    for (const [low, high] of [
      [8, 24],
      [8, 12],
      [20, 24],
      [10, 11],
    ] as const) {
      const all = answers([
        [0, part(write(0, 1, 3), 8, 24)],
        [5, part(read(0, 1, 3), low, high)],
      ]);
      expect(all.covered).toEqual([[1, 5]]);
    }
  });

  test('waits for the write if that has only a part of it', () => {
    for (const [low, high] of [
      [0, 9],
      [7, 24],
      [8, 25],
      [23, 32],
      [0, 32],
    ] as const) {
      const all = answers([
        [0, part(write(0, 1, 3), 8, 24)],
        [5, part(read(0, 1, 3), low, high)],
      ]);
      expect(all).toEqual({
        served: [
          [0, 11],
          [1, 11 + 18],
        ],
        covered: [],
      });
    }
  });

  test('waits for it though reads go first, and then goes before what came after it', () => {
    const all = answers([
      [0, part(write(0, 1, 3), 0, 8)],
      [0, read(0, 1, 3)],
      [0, read(0, 1, 4)],
    ]);
    // the write is needed, and goes before all: 11; then the reads 18 later
    expect(all.served).toEqual([
      [0, 11],
      [1, 29],
      [2, 33],
    ]);
  });

  test('does not wait for what lies beside it', () => {
    for (const [low, high] of [
      [0, 8],
      [24, 32],
    ] as const) {
      const { served } = answers([
        [0, part(write(0, 1, 3), 8, 24)],
        [0, part(read(0, 1, 3), low, high)],
      ]);
      // reads go first, the write 9 later
      expect(served).toEqual([
        [1, 11],
        [0, 20],
      ]);
    }
  });

  test('is not held up by another column, row or bank', () => {
    for (const other of [read(0, 1, 4), read(0, 2, 3), read(1, 1, 3)]) {
      const { served, covered } = answers([
        [0, write(0, 1, 3)],
        [0, other],
      ]);
      expect(covered).toEqual([]);
      expect(served[0]).toEqual([1, 11]);
    }
  });

  test('waits for each of several writes that have parts of it', () => {
    const accesses: [number, Wanted][] = [
      [0, part(write(0, 1, 3), 0, 8)],
      [0, part(write(0, 1, 3), 16, 24)],
      [0, write(0, 1, 9)],
      [5, read(0, 1, 3)],
      [6, read(0, 1, 7)],
    ];
    // the two writes go before the third and before the other read: 11 and 15, then reads 18 after the last
    expect(answers(accesses, { minDrain: 2 }).served).toEqual([
      [0, 11],
      [1, 15],
      [3, 33],
      [4, 37],
      [2, 46],
    ]);
  });

  test('is answered by the one write that covers it though others have parts', () => {
    const { covered } = answers([
      [0, part(write(0, 1, 3), 0, 8)],
      [0, write(0, 1, 3)],
      [5, read(0, 1, 3)],
    ]);
    expect(covered).toEqual([[2, 5]]);
  });

  test('several reads wait for one write, and each goes after it', () => {
    const { served } = answers([
      [0, part(write(0, 1, 3), 0, 8)],
      [2, read(0, 1, 3)],
      [3, read(0, 1, 3)],
    ]);
    expect(served).toEqual([
      [0, 11],
      [1, 29],
      [2, 33],
    ]);
  });

  test('does not see a write that comes after it', () => {
    const { served, covered } = answers([
      [0, read(0, 1, 3)],
      [3, write(0, 1, 3)],
    ]);
    expect({ served, covered }).toEqual({
      served: [
        [0, 11],
        [1, 20],
      ],
      covered: [],
    });
  });

  test('in order, waits only for writes that stand before it', () => {
    const change: Partial<DdrSpec> = { scheduler: 'in_order' };
    const half = part(write(0, 1, 3), 0, 8);
    expect(
      answers(
        [
          [0, half],
          [0, read(0, 1, 3)],
        ],
        change,
      ).served,
    ).toEqual([
      [0, 11],
      [1, 29],
    ]);
    expect(
      answers(
        [
          [0, read(0, 1, 3)],
          [0, half],
        ],
        change,
      ).served,
    ).toEqual([
      [0, 11],
      [1, 20],
    ]);
  });
});
