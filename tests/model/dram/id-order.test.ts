import { expect, test } from 'vitest';
import { Clock } from '../../../src/engine/clock.js';
import { Command } from '../../../src/model/dram/command.js';
import type { DdrSpec } from '../../../src/scenario/scenario.js';
import { ControllerRig, type Sent } from './controller-rig.js';
import { ddrSpec } from './rig.js';
import { DDR3 } from './trace.js';

const CLOCK = new Clock('memory', 2500, 1);
/** Banks are 4 KiB apart, an access is 32 bytes. */
const BANK = 4096;

/** Clocks of the commands `[activate of bank …, read or write of bank …]`, of bursts of one access sent one after the other. */
function commands(sent: Partial<Sent>[], change: Partial<DdrSpec> = {}, keep = [0]): [number, string][] {
  const rig = new ControllerRig(ddrSpec(DDR3, change), CLOCK, { keepIdOrder: keep });
  for (const one of sent) rig.send({ write: false, address: 0, bytes: 32, atPs: 0, ...one });
  rig.run(1_000_000);
  return rig.probe.log.map(([clock, kind, , bank, , channel]) => {
    const name = kind === Command.activate ? 'activate' : kind === Command.read ? 'read' : 'write';
    return [clock, `${name} ${channel > 0 ? `${channel}/` : ''}${bank}`];
  });
}

// the first access is cut at 0 and enters 10 cycles later, at 25 ns or clock 20; the next a cycle, two clocks, later.
// RCD 11, RRD 6; an access that waits may go from the clock after the column command of the one before
test('two reads of one master and ID: the second waits for the first', () => {
  expect(commands([{}, { address: BANK }])).toEqual([
    [20, 'activate 0'],
    [31, 'read 0'],
    [32, 'activate 1'],
    [43, 'read 1'],
  ]);
});

test.each<[string, Partial<Sent>[], number[]]>([
  ['of another ID', [{ id: 1 }, { id: 2, address: BANK }], [0]],
  ['of another master', [{ master: 0 }, { master: 1, address: BANK }], [0, 1]],
  ['of a master that does not ask for it', [{ master: 1 }, { master: 1, address: BANK }], [0]],
])('a read %s does not', (_, sent, keep) => {
  expect(commands(sent, {}, keep)).toEqual([
    [20, 'activate 0'],
    [26, 'activate 1'],
    [31, 'read 0'],
    [37, 'read 1'],
  ]);
});

test('a write does not wait for a read of the same ID', () => {
  // reads go first; the write's row is opened when the read has gone: they are of no order, but of two directions
  const seen = commands([{}, { write: true, address: BANK }]);
  expect(seen.map(([, what]) => what).toSorted((a, b) => (a < b ? -1 : 1))).toEqual([
    'activate 0',
    'activate 1',
    'read 0',
    'write 1',
  ]);
  expect(seen).toContainEqual([31, 'read 0']);
});

test('each of a chain waits for the one before it', () => {
  const columns = commands([{}, { address: BANK }, { address: 2 * BANK }]).filter(([, what]) =>
    what.startsWith('read'),
  );
  expect(columns).toEqual([
    [31, 'read 0'],
    [43, 'read 1'],
    [55, 'read 2'],
  ]);
});

test('one that comes when the one before has gone waits for nothing', () => {
  // 100 ns are 40 cycles: cut then, it enters at 125 ns, clock 100
  expect(commands([{}, { address: BANK, atPs: 100_000 }]).slice(2)).toEqual([
    [100, 'activate 1'],
    [111, 'read 1'],
  ]);
});

test('the order holds across channels', () => {
  const two: Partial<DdrSpec> = { channels: 2, interleaveBytes: 256 };
  expect(commands([{}, { address: 256 }, { address: 512 }], two)).toEqual([
    [20, 'activate 0'],
    [31, 'read 0'],
    [32, 'activate 1/0'],
    [43, 'read 1/0'],
    // in the row that the first has opened
    [44, 'read 0'],
  ]);
});
