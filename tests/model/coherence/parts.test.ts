import { describe, expect, test } from 'vitest';
import { CombiningBuffer } from '../../../src/model/coherence/combining-buffer.js';
import { Directory } from '../../../src/model/coherence/directory.js';
import { LineMap } from '../../../src/model/coherence/line-map.js';
import { MissEntries } from '../../../src/model/coherence/miss-entries.js';
import { WriteBackBuffer } from '../../../src/model/coherence/write-back-buffer.js';
import { Window } from '../../../src/model/window.js';

describe('directory', () => {
  test('knows holders and owner, with more caches than bits in a word and more lines than records at first', () => {
    const directory = new Directory(70);
    for (let line = 0; line < 200; line++) directory.add(line, line % 70, true);
    expect([directory.owner(65), directory.holds(65, 65), directory.holds(65, 1)]).toEqual([65, true, false]);
    directory.add(65, 31, false);
    expect([directory.owner(65), directory.holders(65), directory.holds(65, 31)]).toEqual([-1, 2, true]);
    directory.remove(65, 65);
    directory.remove(65, 65);
    directory.remove(65, 31);
    expect(directory.holders(65)).toBe(0);
    expect([...directory.lines()]).toHaveLength(199);
  });

  test('the owner that shares stays a holder', () => {
    const directory = new Directory(2);
    directory.add(9, 1, true);
    directory.share(9);
    expect([directory.owner(9), directory.holders(9)]).toEqual([-1, 1]);
  });
});

describe('miss entries', () => {
  test('each requester can always have its minimum, the rest is for whoever comes first', () => {
    const entries = new MissEntries(6, 1, 3);
    for (let line = 0; line < 4; line++) {
      expect(entries.available(0)).toBe(true);
      entries.take(line, 0, -1);
    }
    expect([0, 1, 2].map((requester) => entries.available(requester))).toEqual([false, true, true]);
    entries.take(10, 1, -1);
    expect([1, 2].map((requester) => entries.available(requester))).toEqual([false, true]);
  });

  test('a minimum that the pool cannot give to all is cut down to what it can', () => {
    const entries = new MissEntries(2, 4, 3);
    entries.take(0, 0, -1);
    expect(entries.available(0)).toBe(true);
  });

  test('those that wait are kept in order, and an entry is not freed under them', () => {
    const entries = new MissEntries(2, 0, 1);
    const entry = entries.take(77, 0, 5);
    entries.wait(entry, 3, 0, 0);
    entries.wait(entry, 4, 2, 0);
    expect(entries.find(77)).toBe(entry);
    expect(() => entries.release(entry)).toThrow('bursts wait');
    expect([entries.firstSlot(entry), entries.firstLine(entry)]).toEqual([3, 0]);
    entries.shift(entry);
    expect([entries.firstSlot(entry), entries.firstLine(entry)]).toEqual([4, 2]);
    entries.shift(entry);
    entries.release(entry);
    expect([entries.inUse, entries.find(77)]).toEqual([0, -1]);
  });
});

describe('write-back buffer', () => {
  test('holds lines until memory has accepted them, whole or in part', () => {
    const buffer = new WriteBackBuffer(2, new Window(0, 100));
    buffer.take(5, true, 40, -1, 0);
    buffer.take(5, false, 41, 9, 10);
    expect([buffer.full, buffer.holds(5), buffer.holdsPart(5), buffer.holds(6)]).toEqual([true, true, true, false]);
    expect(() => buffer.take(7, true, 42, -1, 10)).toThrow('no slot');
    expect(buffer.accepted(41, 20)).toBe(9);
    expect([buffer.holds(5), buffer.holdsPart(5)]).toEqual([true, false]);
    expect(buffer.accepted(40, 30)).toBe(-1);
    expect(() => buffer.accepted(40, 30)).toThrow('not in it');
    expect(buffer.meter.areaPs).toBe(10 + 2 * 10 + 10);
  });
});

describe('line map', () => {
  test('gives each memory lines of its own whose sets follow from the address within it', () => {
    const map = new LineMap(
      [
        { name: 'a', bytes: 1000 },
        { name: 'b', bytes: 4096 },
      ],
      64,
      32,
    );
    expect([map.lineOf(0, 999), map.lineOf(1, 0), map.lineOf(1, 130)]).toEqual([15, 32, 34]);
    expect([map.memoryOf(15), map.memoryOf(32), map.addressOf(34)]).toEqual([0, 1, 128]);
    expect([map.indexOf('b'), map.indexOf('c')]).toEqual([1, -1]);
  });
});

describe('combining buffer', () => {
  const store = (offset: number, bytes: number, wantedPs = 0) => ({
    wantedPs,
    offset,
    bytes,
    thinkPs: 0,
    serviceDraw: 0,
    ask: -1,
  });

  test('merges neighbours and overlaps within a line into one write, wanted with the first', () => {
    const buffer = new CombiningBuffer(64, 0);
    buffer.add(store(16, 8, 5));
    expect([buffer.takes(24, 8), buffer.takes(8, 8), buffer.takes(20, 8), buffer.takes(40, 8)]).toEqual([
      true,
      true,
      true,
      false,
    ]);
    buffer.add(store(24, 8, 6));
    buffer.add(store(8, 8, 7));
    expect(buffer.take()).toMatchObject({ offset: 8, bytes: 24, wantedPs: 5 });
    expect(buffer.empty).toBe(true);
  });

  test('is full with a line, and merges nothing across the end of one in memory', () => {
    const buffer = new CombiningBuffer(64, 32);
    buffer.add(store(24, 8));
    expect(buffer.takes(32, 8)).toBe(false);
    buffer.take();
    for (let offset = 32; offset < 96; offset += 16) {
      expect(buffer.full).toBe(false);
      buffer.add(store(offset, 16));
    }
    expect(buffer.full).toBe(true);
  });
});
