import { describe, expect, test } from 'vitest';
import type { DdrSpec } from '../../../src/scenario/scenario.js';
import { ddrSpec, Rig, type Wanted } from './rig.js';
import { commands, DDR3, DDR4, read, write } from './trace.js';

const TCK = 1250;

/** Idle clocks of the bus on account of turns, after accesses that come at their clocks, all rows of DDR3 open at 100. */
function turns(accesses: [clock: number, wanted: Wanted][], change: Partial<DdrSpec> = {}): number {
  const rig = new Rig(ddrSpec(DDR3, change));
  rig.at(0, [read(0, 1), read(1, 1)]);
  if (change.ranks === 2) rig.at(0, [read(8, 1)]);
  for (const [clock, wanted] of accesses) rig.at(clock, [wanted]);
  rig.run(90);
  const before = rig.channel.use.turnaroundPs;
  rig.run(1000);
  return (rig.channel.use.turnaroundPs - before) / TCK;
}

describe('clocks that the bus idles for a turn', () => {
  test('none between accesses of one direction and rank', () => {
    expect(
      turns([
        [100, read(0, 1, 1)],
        [101, read(1, 1, 1)],
      ]),
    ).toBe(0);
  });

  test('read to write: 9 on, less CL 11 − CWL 8 and the 4 of data', () => {
    expect(
      turns([
        [100, read(0, 1, 1)],
        [101, write(1, 1, 1)],
      ]),
    ).toBe(2);
  });

  test('write to read: 18 on, and CL 11 − CWL 8, less the 4 of data', () => {
    // the last access before read: its turn to the write was long over
    expect(
      turns([
        [100, write(0, 1, 1)],
        [101, read(1, 1, 1)],
      ]),
    ).toBe(2 + 17);
  });

  test('as many as the rule says though the bus idles longer', () => {
    expect(
      turns([
        [100, write(0, 1, 1)],
        [300, read(1, 1, 1)],
      ]),
    ).toBe(2 + 17);
  });

  test('another rank: the gap of 2, whatever the direction', () => {
    expect(
      turns(
        [
          [100, read(0, 1, 1)],
          [101, read(8, 1, 1)],
        ],
        { ranks: 2 },
      ),
    ).toBe(2 + 2);
    expect(
      turns(
        [
          [100, read(0, 1, 1)],
          [101, write(8, 1, 1)],
        ],
        { ranks: 2 },
      ),
    ).toBe(2 + 2);
  });
});

test('the first access of all turns nothing', () => {
  const rig = new Rig(ddrSpec(DDR3));
  rig.at(0, [write(0, 1)]);
  rig.run(100);
  expect(rig.channel.use.turnaroundPs).toBe(0);
  expect(rig.channel.use).toMatchObject({ activates: 1, columnAccesses: 1, rowEmpties: 1, rowHits: 0, beats: 8 });
});

test('bank groups: a turn from write to read counts what another group needs', () => {
  const rig = new Rig(ddrSpec(DDR4));
  rig.at(0, [read(0, 1), read(4, 1)]);
  rig.at(200, [write(0, 1, 1)]);
  rig.at(201, [read(0, 1, 2)]);
  rig.run(500);
  expect(commands(rig).slice(-2)).toEqual(['200 write 0', '225 read 0']);
  const { nReadToWrite, nWriteToRead_S, nCL, nCWL, tckNumerator, tckDenominator } = DDR4;
  const toWrite = nReadToWrite + nCWL - nCL - 4;
  const toRead = nWriteToRead_S + nCL - nCWL - 4;
  expect(rig.channel.use.turnaroundPs).toBeCloseTo(((toWrite + toRead) * tckNumerator) / tckDenominator, -1);
});
