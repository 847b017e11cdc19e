import { describe, expect, test } from 'vitest';
import { LINE, UnitBench } from './unit-bench.js';

describe('a write whose data come in slowly', () => {
  test('is looked up line by line, each with its last beat', () => {
    // a beat every 10 cycles: lines are whole at 30 and 70; the second is in the array from 74 to 78
    const bed = new UnitBench({ ports: ['a', 'b'] });
    bed.port('a').write(0, 0, 2 * LINE, 10);
    bed.port('b').read(40, 0).read(60, LINE);
    bed.run();
    expect(bed.trace()).toEqual([
      // line 0 hits; line 1 is not there yet, and is fetched
      ['b', 'read', 0, 40 + 11],
      // looked up at 60, filled at 78: with it the write, looked up then again
      ['b', 'read', 1, 60 + 24],
      ['a', 'write', 0, 78 + 4 + 4 + 1],
    ]);
  });

  test('of parts of two lines, waits for the last byte of each', () => {
    // bytes 40 to 103: beats of 16 at 32, 48 | 64, 80, 96; the first two end line 0
    const bed = new UnitBench({ ports: ['a'] });
    bed
      .port('a')
      .read(0, 0, 2 * LINE)
      .write(100, 40, 64, 10);
    bed.run();
    // line 0 at 110; line 1 at 140, three beats through the array from 144 on, response a cycle later
    expect(bed.trace()[1]).toEqual(['a', 'write', 40 / LINE, 140 + 4 + 3 + 1]);
  });

  test('holds up no other requester meanwhile', () => {
    const bed = new UnitBench({ ports: ['a', 'b'] });
    bed.port('a').write(0, 0, LINE, 20);
    bed
      .port('b')
      .read(10, 5 * LINE)
      .read(50, 5 * LINE);
    expect(bed.run().trace()).toEqual([
      ['b', 'read', 5, 10 + 24],
      ['b', 'read', 5, 50 + 11],
      ['a', 'write', 0, 60 + 4 + 4 + 1],
    ]);
  });
});

test('eighty writes at once are all accepted, as the data array takes them in', () => {
  const bed = new UnitBench({ ports: ['a', 'b'] });
  for (let k = 0; k < 40; k++) for (const name of ['a', 'b']) bed.port(name).write(0, (k % 16) * LINE);
  const at = bed
    .run()
    .trace()
    .map(([, , , cycle]) => cycle);
  expect(at).toEqual(Array.from({ length: 80 }, (_, k) => 9 + 4 * k));
});

test('the tags and the data array tell what they were used for', () => {
  const bed = new UnitBench({ ports: ['a'] });
  // a miss, a hit of four beats, a write of one beat that hits
  bed.port('a').read(0, 0).read(100, 0).write(200, 0, 16);
  bed.run();
  const [tags, data] = [...bed.unit.channels()];
  expect(tags).toMatchObject({ name: 'tags', kind: 'channel', grants: 3, stalled: null });
  expect(data).toMatchObject({ name: 'data', kind: 'channel', grants: 2, stalled: null });
  expect([tags!.busy.totalPs, data!.busy.totalPs]).toEqual([3000, 5000]);
});

test('a probe is told of each lookup once, and whether it hit', () => {
  const bed = new UnitBench({ ports: ['a'] });
  const seen: unknown[] = [];
  bed.log.lookup = (_, cache, master, line, hit) => seen.push([cache, master, line, hit]);
  bed.port('a').read(0, 0).read(5, 0).read(100, 0);
  bed.run();
  expect(seen).toEqual([
    [0, 0, 0, false],
    [0, 0, 0, false],
    [0, 0, 0, true],
  ]);
});

test('a line must be whole beats', () => {
  expect(() => new UnitBench({ spec: { lineBytes: 40 } })).toThrow('a line of 40 bytes must be whole beats of 16');
});

test('the clock does not run on when there is nothing to look up', () => {
  const bed = new UnitBench({ ports: ['a'] });
  bed.port('a').read(0, 0);
  bed.run();
  expect(bed.context.calendar.empty).toBe(true);
  expect(bed.context.calendar.handled).toBeLessThan(15);
});
