import { describe, expect, test } from 'vitest';
import { uses } from '../../src/measure/path-facts.js';
import { pathOf } from '../../src/scenario/paths.js';
import type { MasterSpec, PatternSpec, SystemSpec } from '../../src/scenario/scenario.js';
import { burstOf, withBuffer } from '../invariants/idle-system.js';
import { type Compared, loneRun } from '../invariants/lone-bursts.js';
import { MOBILE, parse, read, shipped, systemOf, withMasters } from './shipped.js';

const THINK_PS = 2_000_000;
const BURSTS = 40;
/** So little that the lines are met again, and none is ever pushed out of a cache. */
const SMALL_BYTES = 2048;

/** Compares every burst of a master that is alone with U; answers the comparisons, for the states that came up. */
function compare(
  system: SystemSpec,
  name: string,
  write: boolean,
  pattern: PatternSpec | null,
  bytes = burstOf(system.masters.find((master) => master.name === name)!),
): readonly Compared[] {
  const settings = { name, write, pattern, bytes, thinkPs: THINK_PS };
  const { bursts, compared } = loneRun(system, settings, 2 * BURSTS * THINK_PS);
  expect(bursts.length).toBeGreaterThanOrEqual(BURSTS - 5);
  for (const { burst, u, lookup } of compared) {
    expect(burst.write).toBe(write);
    const what = `${burst.bytes} bytes at ${burst.address}, wanted at ${burst.wantedPs}, lookup ${lookup}`;
    expect(burst.latencyPs, what).toBe(u.totalPs);
    expect(u.stages.reduce((sum, { fromPs, toPs }) => sum + toPs - fromPs, 0)).toBe(u.totalPs);
  }
  return compared;
}

function operationsOf(master: MasterSpec): { write: boolean; word: string }[] {
  const { reads, writes } = uses(master);
  return [...(reads ? [{ write: false, word: 'reads' }] : []), ...(writes ? [{ write: true, word: 'writes' }] : [])];
}

const scenarios = [
  ...shipped.map((file) => ({ file, scenario: read(file) })),
  { file: 'the second preset', scenario: parse(MOBILE) },
];

for (const { file, scenario } of scenarios) {
  for (const system of scenario.systems) {
    describe(`with one burst in flight, ${file} in placement ${system.placement} has latency U to the picosecond:`, () => {
      for (const master of system.masters) {
        test.each(operationsOf(master))(`${master.name} $word`, ({ write }) => {
          // no burst starts where it would be cut at a border of 4 KiB
          const scattered: PatternSpec = { pattern: 'random', alignBytes: burstOf(master) };
          const met = [
            ...compare(system, master.name, write, null),
            ...compare(system, master.name, write, scattered),
            ...compare(withBuffer(system, master.name, SMALL_BYTES), master.name, write, scattered),
          ];
          // the comparison says something only where the states did come up
          const steps = pathOf(system, master)!;
          if (steps.at(-1)!.way === 'lookup') expect(met.map(({ lookup }) => lookup)).toContain('miss');
          if (steps.at(-1)!.element.kind === 'ddr' && !write) expect(met.map(({ rows }) => rows)).toContain('closed');
        });
      }
    });
  }
}

// Bursts that begin and end within lines and beats, of one line and of several. Not so long that two DRAM channels answer
// at once: whose line goes first on the way back is then the arbiter's choice, which U does not know.
const coherent = [
  { preset: 'eight-port-mobile', system: parse(MOBILE).systems[0]!, name: 'snooping' },
  { preset: 'quad-core-fabric', system: systemOf(read('grain-sorter.yaml'), 'coherent'), name: 'classifier_read' },
];

describe.each(coherent)(
  'with one burst in flight, the coherent port of $preset has latency U for',
  ({ system, name }) => {
    test.each([8, 48, 64, 200])('bursts of %d bytes that start anywhere', (bytes) => {
      const long = withMasters(system, (master) => (master.name === name ? { ...master, burstBeats: 64 } : master));
      const anywhere: PatternSpec = { pattern: 'random', alignBytes: 4 };
      for (const write of [false, true]) {
        const met = [
          ...compare(long, name, write, anywhere, bytes),
          ...compare(withBuffer(long, name, SMALL_BYTES), name, write, anywhere, bytes),
        ];
        expect(met.map(({ lookup }) => lookup)).toContain('miss');
      }
    });
  },
);
