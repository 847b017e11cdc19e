// What a simulated DRAM channel does, measured from its commands and counters alone, for the quantities of the worked
// examples. The data sheets' latencies are only added where the bus between command and data is not seen.
import { Clock } from '../../../src/engine/clock.js';
import { Command } from '../../../src/model/dram/command.js';
import { Window } from '../../../src/model/window.js';
import type { DdrSpec, DramTimingSpec } from '../../../src/scenario/scenario.js';
import { ControllerRig } from '../../model/dram/controller-rig.js';
import { ddrSpec, Rig, type Logged, type Wanted } from '../../model/dram/rig.js';

const CLOSED: Partial<DdrSpec> = { page: { policy: 'closed', idlePs: 0 } };

export const read = (bank: number, row: number, column = 0): Wanted => ({ write: false, bank, row, column });
export const write = (bank: number, row: number, column = 0): Wanted => ({ write: true, bank, row, column });

/** Clocks of the commands of some kinds, in order. */
export function clocksOf(log: readonly Logged[], ...kinds: number[]): number[] {
  return log.filter(([, kind]) => kinds.includes(kind)).map(([clock]) => clock);
}

/** Banks in an order that visits every bank group in turn. */
export function banksInTurn({ banks, bankGroups }: DramTimingSpec): number[] {
  return Array.from({ length: banks }, (_, i) => (i % bankGroups) * (banks / bankGroups) + Math.floor(i / bankGroups));
}

/** One read alone: the bytes it moves, and the clocks that the data bus is busy with them. */
export function oneBurst(timing: DramTimingSpec): { bytes: number; clocks: number } {
  const rig = new Rig(ddrSpec(timing));
  rig.at(0, [read(0, 1)]);
  rig.run(1000);
  const { use } = rig.channel;
  return { bytes: use.readBytes, clocks: (use.busy.totalPs * timing.tckDenominator) / timing.tckNumerator };
}

/** Clocks between reads of open rows that find their data bus free at once, over many. */
export function hitSpacing(timing: DramTimingSpec, banks: readonly number[]): number {
  const rig = new Rig(ddrSpec(timing, { scheduler: 'in_order', readEntries: 600 }));
  rig.at(
    0,
    banks.map((bank) => read(bank, 1)),
  );
  rig.at(
    1000,
    Array.from({ length: 500 }, (_, i) => read(banks[i % banks.length]!, 1, 1 + (i % 16))),
  );
  rig.run(10_000);
  const clocks = clocksOf(rig.probe.log, Command.read).filter((clock) => clock >= 1000);
  return (clocks.at(-1)! - clocks[0]!) / (clocks.length - 1);
}

/**
 * Clocks from the first command to the end of the data as a controller sees it, for a row hit, a closed row and a
 * conflict. The controller runs on the DRAM's own clock and its PHY takes no time.
 */
export function readLatencies(timing: DramTimingSpec): [hit: number, closed: number, conflict: number] {
  const { tckNumerator, tckDenominator, rowBytes, banks } = timing;
  const clock = new Clock('memory', tckNumerator, tckDenominator);
  const bytes = timing.burstLength * timing.busBytes;
  const spec = ddrSpec(timing, {
    widthBytes: bytes,
    frontCycles: 1,
    returnCycles: 0,
    phyCommandClocks: 0,
    phyDataClocks: 0,
  });
  const rig = new ControllerRig(spec, clock);
  const send = (address: number, cycle: number): void => {
    rig.send({ write: false, address, bytes, atPs: clock.at(cycle) });
  };
  // the same row again, then another row of the same bank
  send(0, 0);
  send(0, 1000);
  send(rowBytes * banks, 2000);
  rig.run(clock.at(3000));
  // an access is in the queue one cycle after it was cut
  const [closed, hit, conflict] = rig.back.map(({ usableAt }, i) => clock.indexFrom(usableAt[0]!) - 1000 * i - 1);
  return [hit!, closed!, conflict!];
}

/** Clocks from one column command to the next legal one of the other direction. */
export function turnarounds(timing: DramTimingSpec): { toWrite: number; toRead: number; toReadElsewhere: number } {
  const elsewhere = timing.banks / timing.bankGroups;
  const gap = (first: Wanted, second: Wanted): number => {
    const rig = new Rig(ddrSpec(timing));
    rig.at(0, [read(first.bank, 1)]);
    if (second.bank !== first.bank) rig.at(200, [read(second.bank, 1)]);
    rig.at(1000, [first]);
    rig.at(1001, [second]);
    rig.run(2000);
    const [one, other] = rig.served.slice(-2).map(([, clock]) => clock);
    return other! - one!;
  };
  return {
    toWrite: gap(read(0, 1, 1), write(0, 1, 2)),
    toRead: gap(write(0, 1, 1), read(0, 1, 2)),
    toReadElsewhere: gap(write(0, 1, 1), read(timing.bankGroups > 1 ? elsewhere : 0, 1, 2)),
  };
}

/** Clocks from a write to the precharge that a conflict asks for at once. */
export function writeToPrecharge(timing: DramTimingSpec): number {
  const rig = new Rig(ddrSpec(timing));
  rig.at(0, [read(0, 1)]);
  rig.at(1000, [write(0, 1, 1)]);
  rig.at(1001, [write(0, 2)]);
  rig.run(2000);
  return clocksOf(rig.probe.log, Command.precharge)[0]! - clocksOf(rig.probe.log, Command.write)[0]!;
}

/** Clocks from an activate to the precharge that a conflict asks for at once. */
export function activateToPrecharge(timing: DramTimingSpec): number {
  const rig = new Rig(ddrSpec(timing));
  rig.at(0, [read(0, 1), read(0, 2)]);
  rig.run(1000);
  return clocksOf(rig.probe.log, Command.precharge)[0]! - clocksOf(rig.probe.log, Command.activate)[0]!;
}

/** Clocks from a read with auto-precharge, late enough for tRAS, to the next activate of its bank. */
export function readAutoToActivate(timing: DramTimingSpec): number {
  const rig = new Rig(ddrSpec(timing, CLOSED));
  rig.at(0, [read(0, 1), { ...read(0, 1, 1) }]);
  // another access to the row keeps it open until then
  rig.at(5, [read(0, 1, 2)]);
  for (let i = 0; i < 20; i++) rig.at(6 + i * 4, [read(0, 1, 3 + i)]);
  rig.at(6 + 20 * 4, [read(0, 2)]);
  rig.run(3000);
  const auto = clocksOf(rig.probe.log, Command.readAuto)[0]!;
  return clocksOf(rig.probe.log, Command.activate).find((clock) => clock > auto)! - auto;
}

/** Clocks between activates of one bank, in the steady state: `n` accesses of each row, then the next row. */
export function rowPeriod(timing: DramTimingSpec, n: number, isWrite = false): number {
  const rig = new Rig(ddrSpec(timing, { readEntries: 64, writeEntries: 64, highMark: 48, ...(isWrite ? {} : CLOSED) }));
  let count = 0;
  rig.source = (direction) => {
    if (direction !== isWrite) return null;
    const wanted = { write: isWrite, bank: 0, row: Math.floor(count / n) % 512, column: count % n };
    count++;
    return wanted;
  };
  rig.run(8000);
  return steady(clocksOf(rig.probe.log, Command.activate).slice(3));
}

/** Share of time that the data bus is busy with rows of `n` reads from one bank, one row after the other, with refresh. */
export function rowStreamShare(timing: DramTimingSpec, n: number): number {
  const window = new Window(timing.tREFIps, 21 * timing.tREFIps);
  const refresh = { mode: 'all_bank', postpone: 0 } as const;
  const rig = new Rig(ddrSpec(timing, { ...CLOSED, refresh, readEntries: 2 * n }), window);
  rig.source = rowAfterRow(n, false);
  rig.run(rig.clock.indexFrom(window.toPs) + 1);
  return rig.channel.use.busy.totalPs / window.lengthPs;
}

/** Accesses to one bank: `n` to each row, then the next row. */
function rowAfterRow(n: number, isWrite: boolean): (direction: boolean) => Wanted | null {
  let count = 0;
  return (direction) => {
    if (direction !== isWrite) return null;
    const wanted = { write: isWrite, bank: 0, row: Math.floor(count / n) % 512, column: count % n };
    count++;
    return wanted;
  };
}

/** The one gap between the clocks; NaN where they differ, which fails any check. */
function steady(clocks: readonly number[]): number {
  const gaps = new Set(clocks.slice(1).map((clock, i) => clock - clocks[i]!));
  return gaps.size === 1 ? [...gaps][0]! : Number.NaN;
}

/** Clocks from the first activate to the second and to the fifth, when all go as soon as they may. */
export function activateSpacing(timing: DramTimingSpec): { second: number; fifth: number } {
  const rig = new Rig(ddrSpec(timing, { activateFirst: true }));
  rig.at(
    0,
    banksInTurn(timing)
      .slice(0, 5)
      .map((bank) => read(bank, 1)),
  );
  rig.run(2000);
  const [first, second, , , fifth] = clocksOf(rig.probe.log, Command.activate);
  return { second: second! - first!, fifth: fifth! - first! };
}

/** Clocks between two activates of one bank group. */
export function sameGroupActivates(timing: DramTimingSpec): number {
  const rig = new Rig(ddrSpec(timing, { activateFirst: true }));
  rig.at(0, [read(0, 1), read(1, 1)]);
  rig.run(1000);
  const [first, second] = clocksOf(rig.probe.log, Command.activate);
  return second! - first!;
}

/**
 * Share of the data bus's time that reads of one burst per activate reach, going round all banks, with the better order
 * of commands: activates first suits the rules between banks, column commands first a bus that is full.
 */
export function randomShare(timing: DramTimingSpec): number {
  return Math.max(...[true, false].map((activateFirst) => shareOf(timing, activateFirst)));
}

function shareOf(timing: DramTimingSpec, activateFirst: boolean): number {
  const rig = new Rig(ddrSpec(timing, { ...CLOSED, activateFirst }));
  const order = banksInTurn(timing);
  let n = 0;
  rig.source = (isWrite) => (isWrite ? null : read(order[n % order.length]!, n++ % 1000));
  rig.run(60_000);
  const rounds = clocksOf(rig.probe.log, Command.readAuto).slice(200);
  const columns = rounds.slice(0, 1 + order.length * Math.floor((rounds.length - 1) / order.length));
  return ((columns.length - 1) * timing.burstLength) / 2 / (columns.at(-1)! - columns[0]!);
}

/** Clocks of a period in which `k` reads and then `k` writes hit one open row. */
export function mixPeriod(timing: DramTimingSpec, k: number): number {
  const periods = 6;
  const entries = periods * k + 1;
  const spec = ddrSpec(timing, { scheduler: 'in_order', readEntries: entries, writeEntries: entries });
  const rig = new Rig(spec);
  rig.at(0, [read(0, 1)]);
  const accesses = Array.from({ length: periods * 2 * k }, (_, n) => {
    const isWrite = Math.floor(n / k) % 2 === 1;
    return { write: isWrite, bank: 0, row: 1, column: (isWrite ? 32 : 1) + (n % 16) };
  });
  rig.at(1000, accesses);
  rig.run(1000 + periods * 2 * k * 200);
  const clocks = rig.served.slice(1).map(([, clock]) => clock);
  return steady(clocks.filter((_, n) => n % (2 * k) === 0));
}

/** Share of time, in percent, that refresh keeps an idle rank to itself. */
export function refreshPercent(timing: DramTimingSpec): number {
  const intervals = 200;
  const window = new Window(0, intervals * timing.tREFIps);
  const rig = new Rig(ddrSpec(timing, { refresh: { mode: 'all_bank', postpone: 0 } }), window);
  rig.run(rig.clock.indexFrom(window.toPs) + 1);
  return 100 * rig.channel.use.refreshShare;
}

/** Share of the peak that a stream of row hits keeps with refresh. */
export function refreshedStreamShare(timing: DramTimingSpec, banks: readonly number[]): number {
  const intervals = 20;
  const window = new Window(timing.tREFIps, (1 + intervals) * timing.tREFIps);
  const rig = new Rig(ddrSpec(timing, { refresh: { mode: 'all_bank', postpone: 0 } }), window);
  let n = 0;
  rig.source = (isWrite) => (isWrite ? null : read(banks[n % banks.length]!, 1, n++ % 32));
  rig.run(rig.clock.indexFrom(window.toPs) + 1);
  return rig.channel.use.busy.totalPs / window.lengthPs;
}

/** Clocks of the refreshes of a rank that is idle, or that works so much that eight are put off. */
export function allBankRefreshes(timing: DramTimingSpec, postponed: boolean): number[] {
  const rig = new Rig(ddrSpec(timing, { refresh: { mode: 'all_bank', postpone: postponed ? 8 : 0 } }));
  rig.run(100);
  let n = 0;
  if (postponed) rig.source = (isWrite) => (isWrite ? null : read(0, 1, n++ % 32));
  rig.run(rig.clock.indexFrom(11 * timing.tREFIps));
  return clocksOf(rig.probe.log, Command.refresh);
}

/** Picoseconds between refreshes of the banks in turn. */
export function bankRefreshInterval(timing: DramTimingSpec): number {
  const rig = new Rig(ddrSpec(timing, { refresh: { mode: 'per_bank', postpone: 0 } }));
  const rounds = 20;
  rig.run(rig.clock.indexFrom(rounds * timing.tREFIps));
  const clocks = clocksOf(rig.probe.log, Command.refreshBank);
  return (rig.clock.at(clocks.at(-1)!) - rig.clock.at(clocks[0]!)) / (clocks.length - 1);
}
