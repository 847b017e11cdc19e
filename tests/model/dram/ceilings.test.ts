// Closed forms of the DRAM worked examples (sections 2 to 6), on every row of the table of speed grades. The channel may
// never beat one, and must come as near as stated.
import { describe, expect, test } from 'vitest';
import { Clock } from '../../../src/engine/clock.js';
import { Command } from '../../../src/model/dram/command.js';
import { Window } from '../../../src/model/window.js';
import type { DramTimingSpec } from '../../../src/scenario/scenario.js';
import { ControllerRig } from './controller-rig.js';
import { GRADES, timingOfGrade } from './grade-timing.js';
import { ddrSpec, Rig, type Logged, type Wanted } from './rig.js';
import { exampleOf } from './worked-examples.js';

/** Clocks of the commands of some kinds. */
function clocksOf(log: readonly Logged[], ...kinds: number[]): number[] {
  return log.filter(([, kind]) => kinds.includes(kind)).map(([clock]) => clock);
}

/** Share of the data bus's time in use between the first and the last of some column commands. */
function busShare(columns: readonly number[], timing: DramTimingSpec): number {
  return ((columns.length - 1) * timing.burstLength) / 2 / (columns.at(-1)! - columns[0]!);
}

/** Clocks between the last column command before each refresh and the first one after it. */
function gapsAroundRefresh(log: readonly Logged[]): number[] {
  const columns = clocksOf(log, Command.read);
  const inside = clocksOf(log, Command.refresh).filter((clock) => clock > columns[0]! && clock < columns.at(-1)!);
  return inside.map((clock) => {
    const after = columns.findIndex((column) => column > clock);
    return columns[after]! - columns[after - 1]!;
  });
}

const read = (bank: number, row: number, column = 0): Wanted => ({ write: false, bank, row, column });

describe.each(GRADES)('%s', (grade) => {
  const timing = timingOfGrade(grade);
  const burst = timing.burstLength / 2;

  test('one access takes exactly the clocks of a hit, a closed row and a conflict', () => {
    const rig = new Rig(ddrSpec(timing));
    rig.at(0, [read(0, 1)]);
    rig.at(1000, [read(0, 1, 1)]);
    rig.at(2000, [read(0, 2)]);
    rig.run(3000);
    const [closed, hit, conflict] = rig.served.map(([, clock], i) => clock - 1000 * i + timing.nCL);
    expect(rig.served).toHaveLength(3);
    expect([hit, closed, conflict]).toEqual([
      timing.nCL,
      timing.nRCD + timing.nCL,
      timing.nRP + timing.nRCD + timing.nCL,
    ]);
    const { rowHits, rowEmpties, rowConflicts } = rig.channel.use;
    expect([rowHits, rowEmpties, rowConflicts]).toEqual([1, 1, 1]);
    const worked = exampleOf(grade);
    expect([hit, closed, conflict]).toEqual(worked.firstClocks);
    for (const [i, clocks] of worked.firstClocks.entries()) {
      // tDQSCK is left out there
      expect(Math.abs(rig.clock.at(clocks + burst) / 1000 - worked.lastNs[i]!)).toBeLessThanOrEqual(0.005);
    }
  });

  test('row-hit streaming through the controller loses to refresh exactly what closing and opening rows costs', () => {
    const { tckNumerator, tckDenominator, tREFIps } = timing;
    const periods = 10;
    const spec = ddrSpec(timing, { refresh: { mode: 'all_bank', postpone: 0 }, widthBytes: 128, capPs: 500_000 });
    const window = new Window(2 * tREFIps, (2 + periods) * tREFIps);
    const clock = new Clock('memory', 1000, 1);
    const rig = new ControllerRig(spec, clock, { window });
    let next = 0;
    const more = (atPs: number): void => {
      rig.send({ write: false, address: next, bytes: 512, atPs: clock.edgeFrom(atPs) });
      next += 512;
    };
    rig.onBack = () => more(rig.calendar.now + 1);
    for (let i = 0; i < 32; i++) more(0);
    rig.run(window.toPs + 1);
    const lost = timing.nRFC + timing.nReadToPrecharge + timing.nRPab + timing.nRCD - burst;
    const ceiling = 1 - (lost * tckNumerator) / tckDenominator / tREFIps;
    const [use] = rig.controller.uses();
    const peakBytes = (rig.controller.peakBytesPerS * window.lengthPs) / 1e12;
    // the window's ends may cut an access
    expect(use!.readBytes).toBeLessThanOrEqual(ceiling * peakBytes + rig.controller.mapping.accessBytes);
    expect(use!.readBytes).toBeGreaterThan(ceiling * peakBytes * 0.995);
    for (const gap of gapsAroundRefresh(rig.probe.log)) expect(gap - burst).toBeGreaterThanOrEqual(lost);
  });

  test('reads that all conflict in one bank go one per row cycle', () => {
    const rig = new Rig(ddrSpec(timing, { readEntries: 2 }));
    let row = 0;
    rig.source = (write) => (write ? null : read(0, row++ % 100));
    rig.run(20_000);
    const activates = clocksOf(rig.probe.log, Command.activate);
    const gaps = new Set(activates.slice(1).map((clock, i) => clock - activates[i]!));
    expect([...gaps]).toEqual([timing.nRC]);
    expect(activates.length).toBeGreaterThan(100);
  });

  test('closed-page reads of one access round the banks reach the activate ceiling and never beat it', () => {
    const { nFAW, nRRD_S, nRC, banks, bankGroups } = timing;
    const ceiling = Math.min(1, (4 * burst) / nFAW, burst / nRRD_S, (banks * burst) / nRC);
    const worked = exampleOf(grade);
    expect(ceiling * 100).toBeCloseTo(worked.ceilingPercent, 1);
    for (const activateFirst of [true, false]) {
      const rig = new Rig(ddrSpec(timing, { activateFirst, page: { policy: 'closed', idlePs: 0 } }));
      let n = 0;
      rig.source = (write) => {
        if (write) return null;
        const place = n++ % banks;
        const inGroup = banks / bankGroups;
        return read((place % bankGroups) * inGroup + Math.floor(place / bankGroups), n % 1000);
      };
      rig.run(60_000);
      const columns = clocksOf(rig.probe.log, Command.readAuto).slice(200);
      const share = busShare(columns.slice(0, 1 + banks * Math.floor((columns.length - 1) / banks)), timing);
      expect(share).toBeLessThanOrEqual(ceiling * (1 + 1e-12));
      expect(share).toBeGreaterThanOrEqual(ceiling * (activateFirst ? 0.99 : 0.94));
    }
  });

  test('a read after a write, and a write after a read, keep the turnaround gaps of the worked examples', () => {
    const rig = new Rig(ddrSpec(timing));
    rig.at(0, [read(0, 1)]);
    rig.at(500, [read(0, 1, 1)]);
    rig.at(501, [{ ...read(0, 1, 2), write: true }]);
    rig.at(502 + timing.nReadToWrite, [read(0, 1, 3)]);
    rig.run(1500);
    const worked = exampleOf(grade);
    const toWrite = worked.readToWrite;
    const written = 500 + toWrite;
    expect(rig.served.slice(1)).toEqual([
      [1, 500],
      [2, written],
      [3, written + worked.writeToRead],
    ]);
  });

  test.each([1, 4, 8])(
    '%i reads and as many writes in turn, all hits in one bank, have the period of section 5a',
    (k) => {
      const rig = new Rig(ddrSpec(timing, { scheduler: 'in_order', readEntries: 64, writeEntries: 64 }));
      let reads = 0;
      let writes = 0;
      const accesses = Array.from({ length: 20 * 2 * k }, (_, n): Wanted => {
        const write = Math.floor(n / k) % 2 === 1;
        return { ...read(0, 1, write ? 64 + (writes++ % 32) : reads++ % 32), write };
      });
      for (let n = 0; n < accesses.length; n += 32) rig.at(n * 60, accesses.slice(n, n + 32));
      rig.at(0, []);
      rig.run(accesses.length * 80);
      const spacing = Math.max(timing.nCCD_L, burst);
      const period = 2 * (k - 1) * spacing + timing.nReadToWrite + timing.nWriteToRead_L;
      const clocks = rig.served.map(([, clock]) => clock);
      expect(clocks.length).toBe(accesses.length);
      const groups = Math.floor(32 / (2 * k)) - 1;
      for (let g = 0; g < groups; g++) expect(clocks[(g + 1) * 2 * k]! - clocks[g * 2 * k]!).toBe(period);
      if (groups <= 0) expect(clocks[2 * k - 1]! - clocks[0]!).toBe(period - timing.nWriteToRead_L);
    },
  );

  test('one bank streams n accesses per activation with the period of section 6', () => {
    for (const n of [1, 2, 4, 8]) {
      const rig = new Rig(ddrSpec(timing, { readEntries: 16, page: { policy: 'closed', idlePs: 0 } }));
      let count = 0;
      rig.source = (write) => (write ? null : read(0, Math.floor(count / n) % 512, count++ % n));
      rig.run(6000);
      const spacing = Math.max(timing.nCCD_L, burst);
      const chain = timing.nRCD + (n - 1) * spacing + timing.nReadToPrecharge + timing.nRP;
      const activates = clocksOf(rig.probe.log, Command.activate).slice(2);
      const gaps = new Set(activates.slice(1).map((clock, i) => clock - activates[i]!));
      expect([n, ...gaps]).toEqual([n, Math.max(timing.nRC, chain)]);
    }
  });
});
