import { describe, expect, test } from 'vitest';
import { runTasks } from './task-rig.js';

const every = (us: number): string => `{ process: periodic, every: ${us} us, offset: 0 ns }`;
const steps = (ns: number): string => `[{ do: compute, time: ${ns} ns }]`;

describe('the limit on how many instances overlap', () => {
  test('an instance that finds it reached waits for its turn', () => {
    const { log } = runTasks(`  job: { trigger: ${every(1)}, steps: ${steps(1500)} }`);
    expect(log.ended.slice(0, 4)).toEqual([
      { task: 'job', from: 0, to: 1500, upkeep: 0 },
      { task: 'job', from: 1000, to: 3000, upkeep: 0 },
      { task: 'job', from: 2000, to: 4500, upkeep: 0 },
      { task: 'job', from: 3000, to: 6000, upkeep: 0 },
    ]);
    expect(log.queued.slice(0, 3)).toEqual([1000, 2000, 3000]);
    expect(log.dropped).toEqual([]);
  });

  test('or is dropped', () => {
    const { log } = runTasks(`  job: { trigger: ${every(1)}, steps: ${steps(1500)}, when_full: drop }`);
    expect(log.ended.slice(0, 3).map(({ from, to }) => [from, to])).toEqual([
      [0, 1500],
      [2000, 3500],
      [4000, 5500],
    ]);
    expect(log.dropped.slice(0, 3)).toEqual([1000, 3000, 5000]);
  });

  test('what ends at the instant of a trigger makes room for it', () => {
    const { log } = runTasks(`  job: { trigger: ${every(1)}, steps: ${steps(1000)}, when_full: drop }`);
    expect(log.dropped).toEqual([]);
  });

  test('so many may be under way as it says', () => {
    const { log } = runTasks(`  job: { trigger: ${every(1)}, steps: ${steps(2500)}, overlap: 3, when_full: drop }`);
    expect(log.dropped).toEqual([]);
    expect(log.ended.slice(0, 2).map(({ to }) => to)).toEqual([2500, 3500]);
    const unlimited = runTasks(`  job: { trigger: ${every(1)}, steps: ${steps(9500)}, overlap: unlimited }`);
    expect(unlimited.log.queued).toEqual([]);
  });
});

describe('triggers', () => {
  test('a task that comes after another begins when an instance of that ends, and not when one is dropped', () => {
    const { log } = runTasks(
      `  first: { trigger: ${every(1)}, steps: ${steps(1500)}, when_full: drop }\n` +
        `  second: { trigger: { process: after, task: first }, steps: ${steps(200)} }`,
    );
    const second = log.ended.filter(({ task }) => task === 'second').map(({ from, to }) => [from, to]);
    expect(second.slice(0, 2)).toEqual([
      [1500, 1700],
      [3500, 3700],
    ]);
  });

  test('a task that comes after another stops when it says, too', () => {
    const { log } = runTasks(
      `  first: { trigger: ${every(1)}, steps: ${steps(100)} }\n` +
        `  second: { trigger: { process: after, task: first }, stop: 2100 ns, steps: ${steps(10)} }`,
    );
    expect(log.ended.filter(({ task }) => task === 'second').map(({ from }) => from)).toEqual([100, 1100]);
  });

  test('the order in which tasks are written does not matter to who follows whom', () => {
    const { log } = runTasks(
      `  second: { trigger: { process: after, task: first }, steps: ${steps(0)} }\n` +
        `  first: { trigger: ${every(4)}, steps: ${steps(300)} }`,
    );
    expect(log.ended.slice(0, 2)).toEqual([
      { task: 'first', from: 0, to: 300, upkeep: 0 },
      { task: 'second', from: 300, to: 300, upkeep: 0 },
    ]);
  });

  test('a period without an offset takes one at random in each replication', () => {
    const first = (replication: number) =>
      runTasks(`  job: { trigger: { process: periodic, every: 5 us }, steps: ${steps(1)} }`, { more: { replication } })
        .log.ended[0]!.from;
    expect(first(1)).not.toBe(first(2));
    expect(first(1)).toBe(first(1));
    expect(first(1)).toBeLessThan(5000);
  });

  test('jitter delays an instance by no more than it says', () => {
    const trigger = '{ process: periodic, every: 1 us, offset: 0 ns, jitter: 200 ns }';
    const { log } = runTasks(`  job: { trigger: ${trigger}, steps: ${steps(1)} }`);
    const late = log.ended.map(({ from }, number) => from - 1000 * number);
    expect(Math.min(...late)).toBeGreaterThanOrEqual(0);
    expect(Math.max(...late)).toBeLessThanOrEqual(200);
    expect(new Set(late).size).toBeGreaterThan(5);
  });

  test('random ones come as often as they say', () => {
    const trigger = '{ process: poisson, every: 100 ns }';
    const { log } = runTasks(`  job: { trigger: ${trigger}, steps: ${steps(0)} }`);
    const inWindow = log.ended.filter(({ from }) => from < 20_000).length;
    // 200 on average, deviation 14: five of them either way (an error in a million)
    expect(Math.abs(inWindow - 200)).toBeLessThan(71);
  });
});

describe('draws', () => {
  const random = '{ exponential: { mean: 500 ns } }';
  const job = (more: string) =>
    `  job: { trigger: ${every(1)}, steps: [{ do: compute, time: ${random} }, { do: compute, time: ${random} }]${more} }`;

  test('belong to the instance, dropped ones included: a limit on overlap leaves the others as they were', () => {
    const all = runTasks(job(', overlap: unlimited')).log.ended;
    const some = runTasks(job(', when_full: drop')).log.ended;
    expect(some.length).toBeLessThan(all.length);
    for (const one of some) expect(all).toContainEqual(one);
  });

  test('are not those of another task, nor of another step', () => {
    const { log } = runTasks(`${job(', overlap: unlimited')}\n${job(', overlap: unlimited').replace('job', 'twin')}`);
    const times = log.ended.map(({ from, to }) => to - from);
    expect(new Set(times).size).toBe(times.length);
  });

  test('are the same wherever a master is attached', () => {
    const tasks = job(', overlap: unlimited').replace(
      'steps: [',
      'steps: [{ do: read, master: engine, bytes: 256 B }, ',
    );
    const computed = (attach: string) => {
      const { log } = runTasks(tasks, {
        change: (text) => text.replace('group: engine, attach: side', `group: engine, attach: ${attach}`),
      });
      const readEnd = new Map(
        log.done
          .filter((line) => line.includes('128+128'))
          .map((line) => {
            const [from, to] = line.split(' ')[3]!.split('-').map(Number);
            return [from!, to!];
          }),
      );
      return log.ended
        .filter(({ from }) => from < 15_000)
        .toSorted((a, b) => a.from - b.from)
        .map(({ from, to }) => Math.round(1e3 * (to - readEnd.get(from)!)));
    };
    expect(computed('snooping')).toEqual(computed('side'));
  });
});

describe('a master that is asked and wants things itself', () => {
  test('does both, its own first where both come at one instant', () => {
    const own = 'issue: { process: periodic, block: 64 B, every: 1 s, offset: 0 ns }, size: 64 B';
    const { log } = runTasks(
      `  job: { trigger: ${every(1)}, steps: [{ do: read, master: engine, offset: 4 KiB, bytes: 64 B }] }`,
      {
        change: (text) =>
          text.replace('operations: read, buffer: job, issue: silent', `operations: read, buffer: job, ${own}`),
      },
    );
    expect(log.done.slice(0, 2).map((line) => line.split(' ')[2])).toEqual(['0+64', '4096+64']);
  });

  test('a dependent source goes on thinking, whatever tasks ask meanwhile', () => {
    const own = 'issue: { process: dependent, think: 1 us }, size: 64 B';
    const wants = (tasks: string) =>
      runTasks(tasks, {
        change: (text) =>
          text.replace('operations: read, buffer: job, issue: silent', `operations: read, buffer: job, ${own}`),
      }).log.done.filter((line) => line.startsWith('engine_in')).length;
    const idle = wants(`  job: { trigger: ${every(1)}, steps: ${steps(1)} }`);
    const asked = wants(
      `  job: { trigger: { process: periodic, every: 1 us, offset: 500 ns }, steps: [{ do: read, master: engine, bytes: 64 B }] }`,
    );
    expect(idle).toBeGreaterThan(15);
    // as many again, and one for each microsecond that was asked for
    expect(asked).toBe(2 * idle);
  });
});
