import seedrandom from 'seedrandom';
import { expect, test, vi } from 'vitest';
import { Clock } from '../../../src/engine/clock.js';
import { rememberedVisits } from '../../../src/model/dram/remembered-visits.js';
import { idleDdr } from '../../../src/model/dram/unloaded.js';
import { inBeats, sent, type Train, whole } from '../../../src/model/train.js';
import { timingOfGrade } from './grade-timing.js';
import { ddrSpec } from './rig.js';

const DDR3 = ddrSpec(timingOfGrade('DDR3-1600K-x16'));
const DDR4 = ddrSpec(timingOfGrade('DDR4-2666V-x8'), { channels: 2, widthBytes: 32 });
const ODD = ddrSpec({ ...DDR3.timing, tckNumerator: 2_000_000_011, tckDenominator: 1_600_000 });
const CLOCK = new Clock('memory', 2500, 1);

/** Lines that follow one another at a cycle each. */
function lines(clock: Clock, address: number, count: number, atPs: number): Train {
  return sent(inBeats(whole(address, 64 * count, atPs), 64), clock, clock.indexFrom(atPs), 0);
}

// few places and sizes, so that most visits are a repetition
test.each([
  ['whole periods', DDR3, CLOCK],
  ['a controller whose clock meets that of the DRAM seldom', DDR3, new Clock('memory', 500_000, 133)],
  ['bank groups, two channels and a period of a third', DDR4, new Clock('memory', 10_000, 3)],
  ['clocks that never meet again', ODD, new Clock('memory', 3_000_000_019, 1_200_000)],
] as const)('with %s each visit is what it would be on its own', (name, spec, clock) => {
  const random = seedrandom.xor4096(name);
  const pick = (count: number): number => Math.floor(random() * count);
  for (const rows of ['hit', 'empty', 'conflict'] as const) {
    const plain = idleDdr(spec, clock, rows);
    const remembering = rememberedVisits(plain, spec, clock);
    for (let n = 0; n < 200; n++) {
      const [address, bytes, atPs] = [pick(3) * 4000 + 8, 40 + pick(3) * 50, clock.at(pick(10_000))];
      expect(remembering.read(address, bytes, atPs)).toEqual(plain.read(address, bytes, atPs));
      const data = sent(inBeats(whole(address, bytes, atPs), 16), clock, clock.indexFrom(atPs), 0);
      expect(remembering.write(data)).toBe(plain.write(data));
      const fetched = lines(clock, pick(3) * 256, 1 + pick(3), atPs);
      expect(remembering.readLines(fetched)).toEqual(plain.readLines(fetched));
      const ends = fetched.map(({ high }) => high);
      expect(remembering.write(fetched, ends)).toBe(plain.write(fetched, ends));
    }
  }
});

test('a visit is worked out once for all instants at which the clocks stand alike', () => {
  const plain = idleDdr(DDR3, CLOCK, 'empty');
  const readLines = vi.fn((ready: Train) => plain.readLines(ready));
  const remembering = rememberedVisits({ ...plain, readLines }, DDR3, CLOCK);
  for (let edge = 0; edge < 100; edge++) remembering.read(0, 128, CLOCK.at(edge));
  expect(readLines).toHaveBeenCalledTimes(1);
});
