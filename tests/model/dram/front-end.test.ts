import { describe, expect, test } from 'vitest';
import { Clock } from '../../../src/engine/clock.js';
import { Command } from '../../../src/model/dram/command.js';
import type { ArbitrationSpec, DdrSpec } from '../../../src/scenario/scenario.js';
import { ControllerRig, type Sent } from './controller-rig.js';
import { ddrSpec } from './rig.js';
import { DDR3 } from './trace.js';

const CLOCK = new Clock('memory', 2500, 1);
const BANK = 4096;
const base = ddrSpec(DDR3);

function rigOf(change: Partial<DdrSpec>, sent: Partial<Sent>[], inputs = 2): ControllerRig {
  const rig = new ControllerRig({ ...base, ...change }, CLOCK, { inputs });
  for (const one of sent) rig.send({ write: false, address: 0, bytes: 32, atPs: 0, ...one });
  rig.run(2_000_000);
  return rig;
}

/** Clock of the activate of each bank. An access cut at cycle c enters at 2 (c + 10) clocks. */
function activates(rig: ControllerRig): number[] {
  const at: number[] = [];
  for (const [clock, kind, , bank] of rig.probe.log) if (kind === Command.activate) at[bank] ??= clock;
  return at;
}

describe('time slots', () => {
  const slots = [
    { input: 'in0', cycles: 4 },
    { input: 'in1', cycles: 4 },
  ];
  const arbitration: ArbitrationSpec = { ...base.arbitration, policy: 'time_slots', slots };

  test.each<[string, Partial<Sent>, cycle: number]>([
    ['in its own slot, at once', { input: 0, atPs: 0 }, 0],
    ['in its last cycle', { input: 0, atPs: 7_500 }, 3],
    ['in the slot of another, at its next', { input: 0, atPs: 10_000 }, 8],
    ['between two edges', { input: 0, atPs: 2_600 }, 2],
    ['before its slot', { input: 1, atPs: 0 }, 4],
    ['behind its slot', { input: 1, atPs: 20_000 }, 12],
  ])('an access that comes %s', (_, sent, cycle) => {
    expect(activates(rigOf({ arbitration }, [sent]))).toEqual([2 * (cycle + 10)]);
  });

  test('a burst goes on in its next slot', () => {
    // five accesses: cycles 0 to 3 and 24, which is in the queue at clock 68, where the row is open
    const long = { ...arbitration, slots: [slots[0]!, { input: 'in1', cycles: 20 }] };
    const rig = rigOf({ arbitration: long }, [{ bytes: 160 }]);
    const reads = rig.probe.log.filter(([, kind]) => kind === Command.read).map(([clock]) => clock);
    expect(reads).toEqual([31, 35, 39, 43, 68]);
  });
});

describe('a grain', () => {
  /** Banks in the order of their activates: input 0 sends to bank 0 and 1, input 1 to 2 and 3. */
  const order = (grainBytes: number): number[] => {
    const rig = rigOf({ grainBytes }, [
      { input: 0, bytes: 64, address: BANK - 32 },
      { input: 1, bytes: 64, address: 3 * BANK - 32 },
    ]);
    return rig.probe.log.filter(([, kind]) => kind === Command.activate).map(([, , , bank]) => bank);
  };

  test('of one access, or less, lets inputs take turns', () => {
    expect(order(32)).toEqual([0, 2, 1, 3]);
    expect(order(1)).toEqual([0, 2, 1, 3]);
    expect(order(63)).toEqual([0, 2, 1, 3]);
  });

  test('of more lets each finish its burst', () => {
    expect(order(64)).toEqual([0, 1, 2, 3]);
    expect(order(4096)).toEqual([0, 1, 2, 3]);
  });
});

describe('a write', () => {
  test('is cut as its data come in, access by access', () => {
    // a beat of 16 bytes every 8 cycles: the accesses have theirs at cycles 8 and 24
    const rig = rigOf({}, [{ write: true, bytes: 64, address: BANK - 32, beatCycles: 8 }]);
    expect(activates(rig)).toEqual([2 * (8 + 10), 2 * (24 + 10)]);
    expect(rig.back[0]!.usableAt).toEqual([(24 + 10) * 2500]);
  });

  test('does not hold up the reads of its input', () => {
    const rig = rigOf({}, [
      { write: true, bytes: 32, address: 0, beatCycles: 40 },
      { bytes: 32, address: BANK },
    ]);
    expect(activates(rig)).toEqual([2 * (40 + 10), 20]);
  });
});

test('a front end of no cycles takes one', () => {
  expect(activates(rigOf({ frontCycles: 0 }, [{}]))).toEqual([2]);
});

test('an access waits for a place of its own channel only', () => {
  const rig = rigOf({ channels: 2, interleaveBytes: 256, readEntries: 1 }, [
    { input: 0, bytes: 32, address: 0 },
    { input: 0, bytes: 32, address: 32, atPs: 2_500 },
    { input: 1, bytes: 32, address: 256, atPs: 2_500 },
  ]);
  const columns = rig.probe.log
    .filter(([, kind]) => kind === Command.read)
    .map(([clock, , , , , channel]) => [clock, channel]);
  // channel 1 at once: cut at cycle 1; the second of channel 0 when the read at clock 31 has freed the place: cut at
  // 40 ns, the edge after 38.75, and in the queue 10 cycles later, clock 52
  expect(columns).toEqual([
    [31, 0],
    [33, 1],
    [52, 0],
  ]);
});
