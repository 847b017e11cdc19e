import { describe, expect, it } from 'vitest';
import type { MasterSpec, OnChipSpec } from '../../src/scenario/scenario.js';
import {
  buffer,
  clock,
  type Done,
  type Line,
  master,
  onChip,
  port,
  roundRobin,
  run,
  system,
  trace,
} from './platform.js';

/** Masters each behind a port of its own, all in one clock of 1 ns, 16 bytes wide: nothing but the memory is shared. */
function served(spec: Partial<OnChipSpec>, sources: (Partial<MasterSpec> & { lines: Line[] })[]): Done[] {
  const masters = sources.map(({ lines, ...more }, i) =>
    master(`m${i}`, `p${i}`, 'data', { clock: 'bus', burstBeats: 16, issue: trace(...lines), ...more }),
  );
  const elements = [
    ...masters.map((_, i) => port(`p${i}`, ['ram'], { clock: 'bus' })),
    onChip('ram', { clock: 'bus', ...spec }),
  ];
  return run(system(elements, [buffer('data', 'ram')], masters, [clock('bus', 1000)])).log.done;
}

const read = (at: number, address: number, bytes = 64): Line => [at, 'read', address, bytes];
const write = (at: number, address: number, bytes = 64): Line => [at, 'write', address, bytes];
/** By master: when service began and when the burst was done, in ns. */
const facts = (done: Done[]): number[][] =>
  done.toSorted((a, b) => a.master - b.master).map((one) => [one.enteredAt / 1000, one.doneAt / 1000]);

describe('on-chip memory', () => {
  it('gives a beat a cycle, the first after its access cycles', () => {
    // at the port at 1, at the memory at 2; beats usable at 2 + 5 = 7 to 10, back at the port at 8 to 11, in at 12
    expect(facts(served({ accessCycles: 5 }, [{ lines: [read(0, 0)] }]))).toEqual([[2, 12]]);
  });

  it('answers a write at the end of the cycle of its last beat', () => {
    // the port has four beats at 4 and sends them at 5 to 8; in the array at 9; back at the port at 10, in at 11
    expect(facts(served({}, [{ lines: [write(0, 0)] }]))).toEqual([[5, 11]]);
  });

  it('serves one burst after the other in a bank', () => {
    // the second starts when the four cycles of the first are over
    const done = served({}, [{ lines: [read(0, 0)] }, { lines: [read(0, 0)] }]);
    expect(facts(done).map(([entered]) => entered)).toEqual([2, 6]);
  });

  it('serves bursts to different banks side by side', () => {
    const done = served({ banks: 2 }, [{ lines: [read(0, 0)] }, { lines: [read(0, 64)] }]);
    expect(facts(done).map(([entered]) => entered)).toEqual([2, 2]);
  });

  it('takes a burst over several banks bank by bank, each as long as it needs it', () => {
    // two banks of 32 bytes: m0 is in bank 0 at 2-3, bank 1 at 4-5, bank 0 at 6-7; m1, for bank 1, has it at 2-3
    const done = served({ banks: 2, interleaveBytes: 32 }, [{ lines: [read(0, 0, 96)] }, { lines: [read(0, 32, 32)] }]);
    // beats usable from 4 on; six of them: the last leaves the memory at 9, the port at 10, in at 11
    expect(facts(done)).toEqual([
      [2, 11],
      [2, 7],
    ]);
  });

  it('makes a burst wait for a bank in its middle', () => {
    const done = served({ banks: 2, interleaveBytes: 32 }, [{ lines: [read(0, 0, 64)] }, { lines: [read(0, 32, 64)] }]);
    // m0 in bank 0 at 2-3 and wants bank 1 at 4; m1 in bank 1 at 2-3 and wants bank 0 at 4: they pass each other
    expect(facts(done).map(([entered]) => entered)).toEqual([2, 2]);
    const later = served({ banks: 2, interleaveBytes: 32 }, [
      { lines: [read(0, 0, 64)] },
      { lines: [read(1000, 32, 32), read(1000, 32, 32)] },
    ]);
    // m1 has bank 1 at 3-4, m0 at 5-6 as it came to it after: its last beat is usable at 8, in at 8 + 2
    const own = later.find((one) => one.master === 0)!;
    expect(own.doneAt / 1000).toBe(10);
    // alone it would have bank 1 at 4-5
    expect(facts(served({ banks: 2, interleaveBytes: 32 }, [{ lines: [read(0, 0, 64)] }]))).toEqual([[2, 9]]);
  });

  it('takes turns between reads and writes of one input', () => {
    const lines = [write(0, 0, 16), write(0, 0, 16), read(0, 0, 128), read(0, 0, 16)];
    const done = served({}, [{ lines }]);
    const order = done.toSorted((a, b) => a.enteredAt - b.enteredAt).map((one) => (one.write ? 'w' : 'r'));
    // reads are at the memory at 2 and 3, writes at 3 and 4; the long read holds the bank until 10
    expect(order.join('')).toBe('rwrw');
  });

  it('gives reads and writes of an input the same place in a list of priorities', () => {
    const arbitration = { ...roundRobin, policy: 'fixed_priority' as const, priority: ['p1'] };
    const done = served({ arbitration }, [
      { lines: [read(0, 0, 128), read(0, 0, 16)] },
      { lines: [write(3000, 0, 16)] },
    ]);
    const order = done.toSorted((a, b) => a.enteredAt - b.enteredAt).map((one) => one.master);
    // the long read has the bank at 2-9; the short one waits since 3, the write, which is more urgent, since 5
    expect(order).toEqual([0, 1, 0]);
  });

  it('serves reads and writes of an input in its time slots alone', () => {
    const slots = [
      { input: 'p0', cycles: 20 },
      { input: 'p1', cycles: 10 },
    ];
    const arbitration = { ...roundRobin, policy: 'time_slots' as const, slots };
    const done = served({ arbitration }, [
      { lines: [read(0, 0), write(25_000, 0)] },
      { lines: [read(0, 0), write(0, 0)] },
    ]);
    const entered = (who: number, write_: boolean): number =>
      done.find((one) => one.master === who && one.write === write_)!.enteredAt / 1000;
    // frames of 30: p0 at 0-19, p1 at 20-29; the write wanted at 25 would be there at 30
    expect([entered(0, false), entered(0, true)]).toEqual([2, 30]);
    expect([entered(1, false), entered(1, true)].toSorted((a, b) => a - b)).toEqual([20, 24]);
  });
});
