import { describe, expect, it } from 'vitest';
import { Clock } from '../../src/engine/clock.js';
import { Simulation } from '../../src/model/simulation.js';
import type { Scenario, SystemSpec } from '../../src/scenario/scenario.js';
import { sensitivityText } from '../../src/output/sensitivity.js';
import { withFaster, withOwnClock } from '../../src/study/faster.js';
import { sensitivityOf } from '../../src/study/sensitivity.js';
import { buffer, clock, crossbar, device, master, onChip, port, run, system, trace } from '../model/platform.js';
import { MOBILE, parse } from '../scenarios/shipped.js';

/** A dependent reader of a device that serves in 11 ns, and a busy neighbour that it never meets. */
function served(): Scenario {
  const plain = system(
    [device('d', { service: { kind: 'fixed', value: 11_000 } }), device('other')],
    [buffer('x', 'd'), buffer('y', 'other')],
    [
      master('a', 'd', 'x', {
        clock: null,
        issue: { process: 'dependent', think: { kind: 'fixed', value: 9000 } },
      }),
      master('b', 'other', 'y', { clock: null, maxReads: 1 }),
    ],
    [],
  );
  const budgets: SystemSpec['budgets'] = [
    { name: 'fast', kind: 'latency', master: 'a', operation: 'read', level: 'burst', percentile: 0.9, limitPs: 20_000 },
    { name: 'often', kind: 'bandwidth', master: 'a', operation: null, element: null, limitBytesPerS: 1e9 },
    { name: 'never', kind: 'latency', master: 'a', operation: null, level: 'burst', percentile: 1, limitPs: 11_000 },
  ];
  return {
    name: 's',
    title: '',
    notes: [],
    place: null,
    systems: [{ ...plain, budgets, run: { ...plain.run, replications: 2, durationPs: 10_000_000 } }],
  };
}

describe('sensitivity', () => {
  it('says what becomes of a budget when each element by itself is a tenth faster', async () => {
    // 64 bytes each 20 ns are 3.2 GB/s; served in 10 ns, each 19 ns, 3.37 GB/s. 11 ns of 20 leave 45 %.
    const study = await sensitivityOf(served(), { placements: [] });
    expect(study.budgets.map(({ worst }) => worst!.budget)).toEqual(['fast']);
    expect(study.rows.map(({ element, verdict }) => [element, verdict])).toEqual([
      ['other', 'no_change_shown'],
      ['d', 'better'],
    ]);
    const row = study.rows[1]!;
    // bins of 10 to 12 ns are 128 ps wide, read at their middle
    expect(Math.abs(row.now! - 11_000)).toBeLessThanOrEqual(64);
    expect(row.change).toBeCloseTo(-1000, -2);
    expect([row.low! < -900, row.high! < 0]).toEqual([true, true]);
    expect(study.rows[0]!.change).toBe(0);
    const text = sensitivityText(study);
    expect(text).toContain('- d, busy 55.0 %: 11.0 ns would be 10.0 ns, lower by');
  });

  it('follows the budget that is named', async () => {
    const study = await sensitivityOf(served(), { placements: [], budget: 'often' });
    const row = study.rows.find(({ element }) => element === 'd')!;
    expect([row.now! / 1e9, row.faster! / 1e9]).toEqual([expect.closeTo(3.2, 2), expect.closeTo(64 / 19, 2)]);
    expect(row.verdict).toBe('better');
    // of a budget that allows no miss, nothing can be said
    const none = await sensitivityOf(served(), { placements: [], budget: 'never' });
    expect([none.rows, none.budgets[0]!.worst]).toEqual([[], null]);
    expect(sensitivityText(none)).toContain('no budget can be followed');
  });
});

describe('a faster element', () => {
  /** One read of 16 bytes: master, port, switch and memory all of one clock of 11 ns. */
  const alike = (): SystemSpec =>
    system(
      [port('p', ['x'], { clock: 'bus' }), crossbar('x', ['m']), onChip('m')],
      [buffer('b', 'm')],
      [master('a', 'p', 'b', { clock: 'bus', burstBeats: 1, issue: trace([0, 'read', 0, 16]) })],
      [clock('bus', 11_000)],
    );

  it('has a clock of its own, and whoever shared it hands over without a synchroniser', () => {
    const fast = withFaster(alike(), 'x');
    const simulation = new Simulation(fast, { seed: '1', replication: 1, warmupPs: 0, durationPs: 1e6, drainPs: 0 });
    const { hops } = simulation.model.masters[0]!.reads.route;
    expect(hops.map((hop) => (hop.clock as Clock).numerator)).toEqual([11_000, 10_000, 11_000]);
    expect(hops.map(({ syncIn, syncBack }) => [syncIn, syncBack])).toEqual([
      [0, 0],
      [0, 0],
      [0, 0],
    ]);
    expect(alike().clocks.size).toBe(1);
  });

  it('takes a tenth less of what it does, to the edges of the others', () => {
    const doneAt = (spec: SystemSpec): number => run(spec).log.done[0]!.doneAt;
    // all three and the master of 10 ns in place of 11: the same edges, each earlier
    const all = ['p', 'x', 'm'].reduce(withFaster, alike());
    const master10 = { ...all, clocks: new Map([...all.clocks, ['bus', clock('bus', 10_000)]]) };
    expect(doneAt(alike()) % 11_000).toBe(0);
    expect(doneAt(master10)).toBe((doneAt(alike()) / 11_000) * 10_000);
  });

  it('of DRAM has as many clocks for all it does, each shorter, and is refreshed as often', () => {
    const plain = parse(MOBILE).systems[0]!;
    const timingOf = ({ elements }: SystemSpec) => elements.find((element) => element.kind === 'ddr')!.timing;
    const [was, is] = [timingOf(plain), timingOf(withFaster(plain, 'ddr'))];
    expect(is.tckNumerator / is.tckDenominator).toBeCloseTo(((was.tckNumerator / was.tckDenominator) * 10) / 11, 9);
    expect({ ...is, tckNumerator: 0, tckDenominator: 0 }).toEqual({ ...was, tckNumerator: 0, tckDenominator: 0 });
  });

  it('is compared with itself on a clock of its own, where it shared one', () => {
    const own = withOwnClock(alike(), 'x');
    expect([...own.clocks.keys()]).toEqual(['bus', 'bus of x']);
    expect(own.clocks.get('bus of x')).toEqual({ name: 'bus', numerator: 11_011, denominator: 1 });
    const alone = served().systems[0]!;
    expect(withOwnClock(alone, 'd')).toBe(alone);
  });

  it('is shown to help, though it no longer shares the edges of its neighbours', async () => {
    const plain = alike();
    const think = { kind: 'exponential' as const, mean: 20_000 };
    const masters = plain.masters.map((one) => ({ ...one, issue: { process: 'dependent' as const, think } }));
    const budgets: SystemSpec['budgets'] = [
      { name: 'often', kind: 'bandwidth', master: 'a', operation: null, element: null, limitBytesPerS: 1 },
    ];
    const run2 = { ...plain.run, replications: 10, durationPs: 200_000_000 };
    const scenario: Scenario = {
      name: 's',
      title: '',
      notes: [],
      place: null,
      systems: [{ ...plain, masters, budgets, run: run2 }],
    };
    const { rows } = await sensitivityOf(scenario, { placements: [] });
    expect(rows.map(({ verdict }) => verdict)).toEqual(['better', 'better', 'better']);
  });
});
