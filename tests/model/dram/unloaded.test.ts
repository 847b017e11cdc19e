import seedrandom from 'seedrandom';
import { describe, expect, test } from 'vitest';
import { Clock } from '../../../src/engine/clock.js';
import { Command } from '../../../src/model/dram/command.js';
import { Mapping } from '../../../src/model/dram/mapping.js';
import { idleDdr } from '../../../src/model/dram/unloaded.js';
import { inBeats, whole, type Train } from '../../../src/model/train.js';
import type { DdrSpec } from '../../../src/scenario/scenario.js';
import { ControllerRig } from './controller-rig.js';
import { timingOfGrade } from './grade-timing.js';
import { ddrSpec } from './rig.js';

const CLOCK = new Clock('memory', 2500, 1);
/** Longer than any burst and any timer of these memories. */
const APART_PS = 4_000_000;

/** The row that each bank is left with, told from the command log alone. */
class OpenRows {
  private readonly rows = new Map<string, number>();
  private read = 0;

  constructor(
    private readonly rig: ControllerRig,
    private readonly banks: number,
  ) {}

  at(channel: number, bank: number): number {
    return this.rows.get(`${channel}/${bank}`) ?? -1;
  }

  follow(): void {
    for (const [, kind, rank, bank, row, channel] of this.rig.probe.log.slice(this.read)) {
      const key = `${channel}/${rank * this.banks + bank}`;
      if (kind === Command.activate) this.rows.set(key, row);
      if (kind === Command.precharge || kind === Command.readAuto || kind === Command.writeAuto) this.rows.delete(key);
    }
    this.read = this.rig.probe.log.length;
  }
}

/** Beats of a write as the rig sends them: one a cycle. */
function writeTrain(spec: DdrSpec, clock: Clock, address: number, bytes: number, atPs: number): Train {
  const edge = clock.indexFrom(atPs);
  return inBeats(whole(address, bytes, atPs), spec.widthBytes).map((piece, k) => ({
    ...piece,
    atPs: clock.at(edge + k),
  }));
}

function compare(spec: DdrSpec, clock: Clock, bursts: number, seed: string): void {
  const random = seedrandom.xor4096(seed);
  const rig = new ControllerRig(spec, clock);
  const rows = new OpenRows(rig, spec.timing.banks);
  const idle = idleDdr(spec, clock, (channel, bank) => rows.at(channel, bank));
  const places = [0, 1, 2, 3].map(() => Math.floor(random() * (spec.bytes / 4096)) * 4096);
  for (let n = 0; n < bursts; n++) {
    const within = Math.floor(random() * 4096);
    const bytes = 1 + Math.floor(random() * Math.min(4096 - within, random() < 0.5 ? 128 : 4096));
    const address = places[Math.floor(random() * places.length)]! + within;
    const write = random() < 0.4;
    const atPs = clock.edgeFrom((n + 1) * APART_PS + Math.floor(random() * 100_000));
    rig.send({ write, address, bytes, atPs });
    rig.run((n + 2) * APART_PS - 1);
    const expected = write
      ? [idle.write(writeTrain(spec, clock, address, bytes, atPs))]
      : inBeats(idle.read(address, bytes, atPs), spec.widthBytes).map((beat) => beat.atPs);
    expect(rig.back[n]?.usableAt, `burst ${n}: ${write} ${address} ${bytes} at ${atPs}`).toEqual(expected);
    // time-outs of an idle channel are made up for on demand
    for (const channel of rig.controller.dram) channel.settle((n + 2) * APART_PS - 1);
    rows.follow();
  }
}

describe('the unloaded memory visit', () => {
  // DDR3-1600K by hand: front end 10 × 2.5 ns, then PHY 4 + CL 11 + BL/2 4 + PHY 4 clocks of 1.25 ns; closed adds nRCD 11,
  // a conflict nRP 11 more; then the first 2.5 ns edge and 6 cycles
  test.each([
    ['hit', 0, 25_000 + 23 * 1250],
    ['empty', 11, 25_000 + 34 * 1250],
    ['conflict', 22, 25_000 + 45 * 1250],
  ] as const)('of one access on a row %s takes the commands and data of the worked example', (state, _more, dataPs) => {
    const spec = ddrSpec(timingOfGrade('DDR3-1600K-x16'));
    const [beat] = idleDdr(spec, CLOCK, state).read(0, 32, 0);
    expect(beat!.atPs).toBe(Math.ceil(dataPs / 2500) * 2500 + 15_000);
  });

  test('of a write ends when the last access is in the queue', () => {
    const spec = ddrSpec(timingOfGrade('DDR3-1600K-x16'));
    // four beats of 16 bytes at 0, 2.5, 5, 7.5 ns are two accesses: the second has its data at 7.5 ns, and enters 25 ns on
    expect(idleDdr(spec, CLOCK, 'empty').write(writeTrain(spec, CLOCK, 0, 64, 0))).toBe(7_500 + 25_000);
  });

  test('equals the simulation to the picosecond for single bursts on open pages', () => {
    compare(ddrSpec(timingOfGrade('DDR3-1600K-x16')), CLOCK, 300, 'open');
  });

  test('equals the simulation with bank groups, an odd clock and two channels', () => {
    const spec = ddrSpec(timingOfGrade('DDR4-2666V-x8'), { channels: 2, widthBytes: 32 });
    compare(spec, new Clock('memory', 10_000, 3), 300, 'two channels');
  });

  test('equals the simulation on two ranks with closed pages', () => {
    const spec = ddrSpec(timingOfGrade('DDR4-2400R-x16'), { ranks: 2, page: { policy: 'closed', idlePs: 0 } });
    compare(spec, new Clock('memory', 3333, 2), 300, 'ranks');
  });

  test('equals the simulation on LPDDR4, where commands take four clocks and queues are short', () => {
    const spec = ddrSpec(timingOfGrade('LPDDR4-3200-x16ch'), {
      readEntries: 4,
      writeEntries: 6,
      highMark: 5,
      lowMark: 2,
      activateFirst: true,
    });
    compare(spec, new Clock('memory', 1250, 1), 300, 'lpddr4');
  });

  test('equals the simulation in order with bank hashing, a narrow bus and a short cap', () => {
    const timing = { ...timingOfGrade('DDR3-1333H-x16'), busBytes: 1, rowBytes: 1024 };
    const spec = ddrSpec(timing, { scheduler: 'in_order', bankHash: true, lookahead: 3, capPs: 60_000 });
    compare(spec, CLOCK, 200, 'in order');
    compare({ ...spec, scheduler: 'out_of_order' }, CLOCK, 200, 'capped');
  });

  test('equals the simulation with rows that time out', () => {
    const spec = ddrSpec(timingOfGrade('DDR3-1866M-x8'), { page: { policy: 'timeout', idlePs: 40_000 } });
    compare(spec, CLOCK, 200, 'time-out');
  });

  test('finds the mapping of an address without the simulator', () => {
    const mapping = new Mapping(ddrSpec(timingOfGrade('DDR3-1600K-x16')));
    mapping.decode(32);
    expect([mapping.row, mapping.bank, mapping.column]).toEqual([0, 0, 1]);
  });
});
