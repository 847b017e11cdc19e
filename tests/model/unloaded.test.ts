import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { unloadedRead, unloadedWrite } from '../../src/model/unloaded.js';
import type { ElementSpec, SystemSpec } from '../../src/scenario/scenario.js';
import { idlePath } from '../../src/study/idle-path.js';
import { buffer, crossbar, type Done, master, onChip, port, run, system, trace } from './platform.js';

const IDLE = { rows: 'hit', lookups: 'hit', serviceDraw: 0 } as const;
/** Periods as fractions of a picosecond, from 1 ns to 8 ns. */
const period = fc
  .tuple(fc.integer({ min: 1, max: 9 }), fc.integer({ min: 1000, max: 8000 }))
  .map(([denominator, ps]) => ({ numerator: ps * denominator + (denominator > 1 ? 1 : 0), denominator }));
const width = fc.constantFrom(4, 8, 16, 32);
const clockName = fc.constantFrom('c0', 'c1', 'c2', 'c3');
const early = fc.constantFrom('final', 'final', 'final', 'early' as const);

const step = fc.record({
  clock: clockName,
  widthBytes: width,
  forwardCycles: fc.integer({ min: 1, max: 4 }),
  backwardCycles: fc.integer({ min: 1, max: 3 }),
  syncCycles: fc.nat(3),
  pack: fc.boolean(),
  writeResponse: early as fc.Arbitrary<'final' | 'early'>,
});

const end = fc.record({
  clock: clockName,
  widthBytes: width,
  syncCycles: fc.nat(3),
  accessCycles: fc.integer({ min: 1, max: 5 }),
  banks: fc.integer({ min: 1, max: 3 }),
  interleaveBytes: fc.constantFrom(64, 128),
});

const burst = fc.record({
  write: fc.boolean(),
  address: fc.nat(8000),
  bytes: fc.integer({ min: 1, max: 512 }),
  gapPs: fc.integer({ min: 0, max: 50_000 }),
});

/** Far more than any of these bursts takes: they meet nothing of each other. */
const APART_PS = 20_000_000;

/** A path of a port, one to three switches or further ports, and a memory: single bursts go one after the other. */
const idleSystem: fc.Arbitrary<SystemSpec> = fc
  .record({
    periods: fc.tuple(period, period, period, period),
    first: fc.tuple(step, fc.constantFrom('whole_burst', 'first_beat' as const)),
    inner: fc.array(fc.tuple(step, fc.constantFrom('switch', 'switch', 'port')), { minLength: 1, maxLength: 3 }),
    end,
    source: fc.record({ clock: clockName, widthBytes: width, syncCycles: fc.nat(3) }),
    bursts: fc.array(burst, { minLength: 1, maxLength: 6 }),
    base: fc.constantFrom(0, 4096, 100),
  })
  .map(({ periods, first: [keys, writeStart], inner, end: memory, source, bursts, base }) => {
    const last = inner.length - 1;
    const elements: ElementSpec[] = [
      port('p', ['s0'], { ...keys, writeStart }),
      ...inner.map(([own, kind], i) =>
        (kind === 'port' ? port : crossbar)(`s${i}`, [i < last ? `s${i + 1}` : 'ram'], own),
      ),
      onChip('ram', memory),
    ];
    let atPs = 0;
    const lines = bursts.map(({ write, address, bytes, gapPs }) => {
      atPs += APART_PS + gapPs;
      return [atPs, write ? 'write' : 'read', address, inOneBurst(base + address, bytes, source.widthBytes)] as const;
    });
    const masters = [master('m', 'p', 'data', { ...source, burstBeats: 16, issue: trace(...lines) })];
    const clocks = periods.map((fraction, i) => ({ name: `c${i}`, ...fraction }));
    const spec = system(elements, [buffer('data', 'ram', base, 16_384)], masters, clocks);
    return { ...spec, run: { ...spec.run, durationPs: 2e8 } };
  });

/** As many of the bytes as one burst of 16 beats carries without passing a 4 KiB boundary. */
function inOneBurst(address: number, bytes: number, beatBytes: number): number {
  const fromAligned = Math.floor(address / beatBytes) * beatBytes + 16 * beatBytes - address;
  return Math.min(bytes, fromAligned, 4096 - (address % 4096));
}

function unloaded(spec: SystemSpec, { write, address, bytes, wantedAt }: Done) {
  const path = idlePath(spec, spec.masters[0]!, write, IDLE);
  return (write ? unloadedWrite : unloadedRead)(path, address, bytes, wantedAt);
}

describe('U', () => {
  it('is what the simulation takes for a single burst, to the picosecond, on any idle path', () => {
    let seen = 0;
    fc.assert(
      fc.property(idleSystem, (spec) => {
        const { done } = run(spec).log;
        expect(done).toHaveLength((spec.masters[0]!.issue as { entries: unknown[] }).entries.length);
        for (const one of done) {
          seen++;
          expect(one.doneAt - one.wantedAt).toBe(unloaded(spec, one).totalPs);
        }
      }),
      { seed: 31, numRuns: 400 },
    );
    expect(seen).toBeGreaterThan(1000);
  });

  it('is made of stages that follow one another without gap', () => {
    fc.assert(
      fc.property(idleSystem, (spec) => {
        for (const one of run(spec).log.done) {
          const { totalPs, stages } = unloaded(spec, one);
          let at = one.wantedAt;
          for (const { fromPs, toPs } of stages) {
            expect(fromPs).toBe(at);
            expect(toPs).toBeGreaterThan(fromPs);
            at = toPs;
          }
          expect(at).toBe(one.wantedAt + totalPs);
        }
      }),
      { seed: 32, numRuns: 50 },
    );
  });

  it('is 55 ns for a read of 64 bytes through a port at 200 MHz out of a memory at 400 MHz', () => {
    // cycles of 5 and 2.5 ns, two cycles of synchroniser each way, 16 bytes everywhere.
    // Out: issued at 0, at the port at 5, leaves it at 10, edge 4 of the memory + 2 = 15.
    // Memory: four beats from 15 on, usable two cycles later, 20 22.5 25 27.5, and one cycle back: 22.5 25 27.5 30.
    // Back: at 25 25 30 30, + 2 cycles 35 35 40 40; a beat a cycle leaves at 35 40 45 50 and is in a cycle later.
    const masters = [master('m', 'p', 'data', { issue: trace([0, 'read', 0, 64]) })];
    const spec = system([port('p', ['ram']), onChip('ram')], [buffer('data', 'ram')], masters);
    const [only] = run(spec).log.done;
    expect(only!.doneAt).toBe(55_000);
    expect(unloaded(spec, only!).totalPs).toBe(55_000);
  });
});
