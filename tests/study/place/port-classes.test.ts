import { describe, expect, it } from 'vitest';
import { Histogram, mergeAll } from '../../../src/measure/statistics/histogram.js';
import type { MetricSpec, SystemSpec } from '../../../src/scenario/scenario.js';
import { Alone } from '../../../src/study/crew.js';
import { portClasses } from '../../../src/study/place/port-classes.js';
import { read } from '../../scenario/reading.js';

const GOAL: MetricSpec = { name: 'best', kind: 'bandwidth', master: 'a', operation: null, element: null };
const NAMES = ['coherent0', 'fabric0', 'fabric1', 'fabric2', 'general0'];

const TEXT = `platform:
  preset: quad-core-fabric
  CHANGES
buffers: { frame: { memory: ddr, size: 64 KiB, cached: no } }
masters:
  a: { attach: fabric0, operations: read, buffer: frame, burst: 8 beats, issue: { process: poisson, rate: 500 MB/s } }
  b: { attach: fabric1, operations: write, buffer: frame, burst: 16 beats, issue: { process: poisson, rate: 700 MB/s } }
run: { seed: 1, warmup: 1 us, duration: 100 us, drain: 100 us }
`;

const systemOf = (changes = '', more = ''): SystemSpec => read(TEXT.replace('CHANGES', changes) + more).systems[0]!;

function classesOf(system: SystemSpec, moved: readonly string[] = ['a', 'b'], goal = GOAL): string {
  const classes = portClasses(system, NAMES, { moved: new Set(moved), goal });
  return classes.map((names) => names.join('=')).join(' ');
}

const ALL = 'coherent0 fabric0=fabric1=fabric2 general0';

describe('identical ports', () => {
  it('are those with the same keys that lead to the same elements', () => {
    expect(classesOf(systemOf())).toBe(ALL);
    expect(classesOf(systemOf('ports: { fabric1: { outstanding: 4 } }'))).toBe(
      'coherent0 fabric0=fabric2 fabric1 general0',
    );
    expect(classesOf(systemOf('ports: { fabric2: { to: central } }'))).toBe(
      'coherent0 fabric0=fabric1 fabric2 general0',
    );
    expect(classesOf(systemOf('ports: { fabric0: { regulator: { rate: 1 GB/s, depth: 1 KiB } } }'))).toBe(
      'coherent0 fabric0 fabric1=fabric2 general0',
    );
  });

  it('are not those at which a master stays, nor those behind which there is another port', () => {
    expect(classesOf(systemOf(), ['a'])).toBe('coherent0 fabric0=fabric2 fabric1 general0');
    const behind = 'ports: { outer: { clock: fabric, width: 64 bit, to: fabric2 } }';
    expect(classesOf(systemOf(behind))).toBe('coherent0 fabric0=fabric1 fabric2 general0');
  });

  it('are not those that arbitration, a budget or the goal tells apart', () => {
    const arbitration = (text: string) => classesOf(systemOf(`switches: { fabric_switch: { arbitration: ${text} } }`));
    expect(arbitration('{ policy: weighted, weights: { fabric0: 3 } }')).toBe(
      'coherent0 fabric0 fabric1=fabric2 general0',
    );
    expect(arbitration('{ policy: weighted, weights: { fabric0: 3, fabric1: 3, fabric2: 3 } }')).toBe(ALL);
    expect(arbitration('{ policy: fixed_priority, priority: [fabric1] }')).toBe(
      'coherent0 fabric0 fabric1 fabric2 general0',
    );
    // those that are not named follow one another too
    expect(arbitration('fixed_priority')).toBe('coherent0 fabric0 fabric1 fabric2 general0');
    expect(arbitration('oldest')).toBe(ALL);
    const slots = ['fabric0', 'fabric1', 'fabric2'].map((input) => `{ input: ${input}, cycles: 8 cycles }`).join(', ');
    expect(arbitration(`{ policy: time_slots, slots: [${slots}] }`)).toBe('coherent0 fabric0 fabric1 fabric2 general0');
    const budget = 'budgets: { calm: { kind: utilisation, element: fabric1, at_most: 50 % } }\n';
    expect(classesOf(systemOf('', budget))).toBe('coherent0 fabric0=fabric2 fabric1 general0');
    const goal: MetricSpec = { name: 'best', kind: 'utilisation', element: 'fabric0' };
    expect(classesOf(systemOf(), ['a', 'b'], goal)).toBe('coherent0 fabric0 fabric1=fabric2 general0');
  });
});

const exchanged = (name: string): string => ({ fabric0: 'fabric1', fabric1: 'fabric0' })[name] ?? name;

/** All that a replication found, with two names exchanged where asked. */
async function found(system: SystemSpec, exchange: boolean): Promise<string> {
  const job = { system, seed: '1', replication: 1, replications: 2, warmupPs: 1e6 };
  const text = JSON.stringify((await new Alone().run([job]))[0]);
  return exchange ? text.replaceAll(/fabric[01](?=[" ])/gu, exchanged) : text;
}

describe('on a real platform', () => {
  const system = systemOf();
  const moved = system.masters.map((master) => ({ ...master, attach: exchanged(master.attach) }));

  it('identical ports exchanged with all that is at them give the same bytes but for names', async () => {
    const renamed = system.elements.map((element) => ({ ...element, name: exchanged(element.name) }));
    const other = { ...system, elements: renamed, masters: moved };
    expect(await found(other, true)).toBe(await found(system, false));
  });

  it('masters exchanged between them, with the numbers of the inputs as they are, differ by ties only', async () => {
    const meanOf = async (masters: SystemSpec['masters'], name: string): Promise<number> => {
      const jobs = Array.from({ length: 5 }, (_, i) => {
        return { system: { ...system, masters }, seed: '1', replication: i + 1, replications: 5, warmupPs: 1e6 };
      });
      const results = await new Alone().run(jobs);
      const histograms = results.map(({ paths }) => {
        const { levels } = paths.find(({ master }) => master === name)!;
        return Histogram.fromPlain(levels[0]!.histogram);
      });
      return mergeAll(name, histograms).meanPs!;
    };
    for (const name of ['a', 'b']) {
      const [before, after] = [await meanOf(system.masters, name), await meanOf(moved, name)];
      expect(Math.abs(after / before - 1)).toBeLessThan(0.01);
    }
  });
});
