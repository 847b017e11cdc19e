import fc from 'fast-check';
import seedrandom from 'seedrandom';
import { expect, test } from 'vitest';
import { ACCESSES, bedOf, setups } from './random-traffic.js';
import { CYCLE, LINE, Script, UnitBench } from './unit-bench.js';

// That copies stay coherent at every instant is checked in ../../validation/caches.

/** The newest data of every line that was written is in a cache, or was sent to memory after the write began. */
function checkNothingLost(bed: UnitBench): void {
  if (bed.unit.spec.model !== 'structural') return;
  const written = new Map<number, number>();
  const note = (address: number, bytes: number, atPs: number): void => {
    for (let line = Math.floor(address / LINE); line * LINE < address + bytes; line++) {
      written.set(line, Math.max(atPs, written.get(line) ?? 0));
    }
  };
  for (const { write, address, wantedPs } of bed.log.accesses) if (write) note(address, 1, wantedPs);
  for (const [line, atPs] of written) {
    if (bed.unit.model.isDirty(line)) continue;
    const sent = bed.memory.log.filter(
      ({ op, address, bytes }) => op === 'write' && address < (line + 1) * LINE && address + bytes > line * LINE,
    );
    expect(sent.at(-1)?.atPs ?? -1).toBeGreaterThanOrEqual(atPs);
  }
}

const outcome = (bed: UnitBench) => ({
  done: bed.done.toSorted(
    (a, b) => a.lastPs - b.lastPs || (a.port < b.port ? -1 : a.port > b.port ? 1 : 0) || (a.op < b.op ? -1 : 1),
  ),
  accesses: bed.log.accesses.toSorted((a, b) => a.donePs - b.donePs || a.master - b.master || a.address - b.address),
  memory: bed.memory.log,
  counts: bed.system.masters.map((_, master) => bed.unit.counts.of(master)),
  l1: bed.cores.map(({ counts }, master) => counts.of(master)),
});

test('on random traffic every access completes and no changed data is lost', () => {
  fc.assert(
    fc.property(setups, (setup) => {
      const bed = bedOf(setup).run();
      expect(bed.done).toHaveLength(setup.ports * ACCESSES);
      expect(bed.context.bursts.inFlight).toBe(0);
      expect(bed.context.tally.counted).toBe(0);
      expect(bed.unit.misses.inUse).toBe(0);
      for (const [master] of bed.system.masters.entries()) {
        const { lookups, hits, misses, merged } = bed.unit.counts.of(master);
        expect(lookups).toBe(hits + misses + merged);
      }
      if (bed.unit.spec.model === 'structural') {
        expect(bed.structural.l2.pins.every((pins) => pins === 0)).toBe(true);
        expect(bed.cores.every(({ cache }) => cache.tags.pins.every((pins) => pins === 0))).toBe(true);
      }
      checkNothingLost(bed);
    }),
    { seed: 20_31, numRuns: 60 },
  );
}, 60_000);

test('the order of events within a phase changes nothing', () => {
  fc.assert(
    fc.property(setups, (setup) => {
      const plain = outcome(bedOf(setup).run());
      for (const seed of ['x', 'y']) {
        expect(outcome(bedOf(setup, seedrandom.xor4096(seed)).run())).toEqual(plain);
      }
    }),
    { seed: 77, numRuns: 25 },
  );
}, 60_000);

test('what a core does is the same whether its hits run ahead or each has an event', () => {
  const run = (busy: boolean): UnitBench => {
    const steps = Array.from({ length: 400 }, (_, k) => ({ write: k % 3 === 0, line: (k * 7) % 4 }));
    const bed = new UnitBench({ ports: ['a'], cores: [{ name: 'c0', source: new Script(steps) }] });
    // a requester that misses lines of its own, so that something happens in almost every cycle
    if (busy) for (let k = 0; k < 300; k++) bed.port('a').read(400 + 4 * k, (8 + (k % 2)) * LINE, 16);
    return bed.run();
  };
  const ahead = run(false);
  const stepped = run(true);
  expect(stepped.context.calendar.handled).toBeGreaterThan(4 * ahead.context.calendar.handled);
  expect(stepped.log.accesses.filter(({ master }) => master === 0)).toEqual(ahead.log.accesses);
  expect(ahead.log.accesses.at(-1)!.donePs).toBeGreaterThan(700 * CYCLE);
});
