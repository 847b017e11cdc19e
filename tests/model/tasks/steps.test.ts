import { describe, expect, test } from 'vitest';
import { ONCE, runTasks } from './task-rig.js';

const run = (steps: readonly string[], options: Parameters<typeof runTasks>[1] = {}) => {
  const list = steps.map((step) => `      - { ${step} }`).join('\n');
  return runTasks(`  job:\n    trigger: ${ONCE}\n    steps:\n${list}`, options);
};

/** How long the only instance took, and the part of it that went to hand-overs, in ns. */
const took = (steps: readonly string[], options: Parameters<typeof runTasks>[1] = {}) => {
  const { log } = run(steps, options);
  const [only, ...others] = log.ended;
  if (only === undefined || others.length > 0) throw new Error(`${log.ended.length} instances ended`);
  return { ns: only.to - only.from, upkeep: only.upkeep };
};

const GIVE = 'do: hand_over, from: driver, to: engine, buffer: job, bytes: 256 B';

describe('steps without a hand-over', () => {
  test('a computation takes its time, and so does an interrupt', () => {
    expect(took(['do: compute, time: 3 us', 'do: interrupt, core: driver, latency: 1500 ns'])).toEqual({
      ns: 4500,
      upkeep: 0,
    });
  });

  test('a core writes and reads by words: the line comes once, what hits takes two cycles each', () => {
    // the first word misses: 2 in L1, 6 at the tags, 2 past them, 3 + 8 beats in memory, 1 + 1 back, 1 fill, 8 beats less
    // the first as they come, 1 to the core: 31; the seven others wait for it, two of them longer than it takes
    const { log } = run(['do: write, master: driver, bytes: 16 B', 'do: read, master: driver, bytes: 16 B']);
    expect(log.done).toEqual([
      'driver write 0+8 100-131',
      'driver write 8+8 100-131',
      'driver read 0+8 131-133',
      'driver read 8+8 131-135',
    ]);
    expect(log.ended).toEqual([{ task: 'job', from: 100, to: 135, upkeep: 0 }]);
  });

  test('an engine reads all at once, cut into bursts as any request of it', () => {
    const { log } = run(['do: read, master: engine, bytes: 256 B']);
    // 16 beats of 8 B a burst; 1 out, 1 + 1 through the port, 3 in memory, 16 beats, 1 + 1 back
    expect(log.done).toEqual(['engine_in read 0+128 100-122', 'engine_in read 128+128 100-138']);
  });

  test('a fetch reads 64 B where nothing else is said', () => {
    expect(run(['do: fetch, master: engine']).log.done).toEqual(['engine_in read 0+64 100-114']);
  });

  test('a doorbell holds the core up until the device has answered', () => {
    // 1 out, 2 past the tags less the one that is the core's own, 100 in the device, 2 back
    const { log } = run(['do: doorbell, core: knocker', 'do: doorbell, core: knocker, offset: 8 B']);
    expect(log.done).toEqual(['knocker write 0+4 100-205', 'knocker write 8+4 205-310']);
  });

  test('instances take turns in a buffer', () => {
    const trigger = '{ process: periodic, every: 1 us, offset: 0 ns }';
    const steps = '[{ do: read, master: engine, offset: 1 KiB, bytes: 3 KiB, rotate: yes }]';
    const { log } = runTasks(`  job: { trigger: ${trigger}, steps: ${steps} }`);
    const firsts = log.done.filter((_, at) => at % 24 === 0).map((line) => line.split(' ')[2]);
    // two places of 3 KiB fit behind the first KiB of 8
    expect(firsts.slice(0, 4)).toEqual(['1024+128', '4096+128', '1024+128', '4096+128']);
  });

  test('a core that polls reads every so often from its last step on, and sees the flag in a read that begins after it is set', () => {
    const { log } = run([
      'do: compute, time: 100 ns',
      'do: write, master: flagger, bytes: 4 B',
      'do: poll, core: watcher, every: 50 ns',
    ]);
    // the flag is set at 205, so that the read of 200 comes too early
    expect(log.done).toEqual([
      'watcher read 8192+4 100-108',
      'watcher read 8192+4 150-158',
      'flagger write 8192+4 200-205',
      'watcher read 8192+4 200-208',
      'watcher read 8192+4 250-258',
    ]);
    expect(log.ended).toMatchObject([{ to: 258 }]);
  });

  test('a read that waits behind others of its core begins when they are done, and may find the flag set by then', () => {
    const noise = `  noise:
    trigger: { process: periodic, every: 1 s, offset: 149 ns }
    steps: [{ do: read, master: watcher, bytes: 40 B }]
  job:
    trigger: ${ONCE}
    steps:
      - { do: compute, time: 55 ns }
      - { do: write, master: flagger, bytes: 4 B }
      - { do: poll, core: watcher, every: 50 ns }`;
    const { log } = runTasks(noise);
    // asked for at 150, behind five reads of 8 each from 149 on; the flag is set at 160
    expect(log.done.filter((line) => line.includes('8192+4'))).toEqual([
      'watcher read 8192+4 100-108',
      'flagger write 8192+4 155-160',
      'watcher read 8192+4 150-197',
    ]);
    expect(log.ended.find(({ task }) => task === 'job')).toMatchObject({ to: 197 });
  });

  test('reads of a flag do not overtake one another where the interval is short', () => {
    const { log } = run([
      'do: compute, time: 20 ns',
      'do: write, master: flagger, bytes: 4 B',
      'do: poll, core: watcher, every: 1 ns',
    ]);
    const reads = log.done.filter((line) => line.startsWith('watcher'));
    expect(reads.map((line) => line.split(' ')[3])).toEqual(['100-108', '108-116', '116-124', '124-132', '132-140']);
  });
});

describe('what a hand-over costs', () => {
  test('to a master past the caches: each line 8 cycles and a lookup of 6, then a barrier of 20', () => {
    expect(took([GIVE])).toEqual({ ns: 4 * (8 + 6) + 20, upkeep: 76 });
  });

  test('lines that are touched in part count whole', () => {
    const part = 'do: hand_over, from: driver, to: engine, buffer: job, offset: 60 B, bytes: 8 B';
    expect(took([part]).ns).toBe(2 * (8 + 6) + 20);
  });

  test('the barrier waits for a changed line to be in memory', () => {
    const { log } = run(['do: write, master: driver, bytes: 8 B', GIVE.replace('256', '64')]);
    // begun at 131: looked up from 139 to 145, past the tags at 147, in memory with the last of 8 beats at 155, answered at
    // 157, and 20 more
    expect(log.ended).toEqual([{ task: 'job', from: 100, to: 177, upkeep: 46 }]);
    expect(log.writtenBack).toEqual(['driver 0+64']);
  });

  test('only lines that are dirty are written back, and they stay readable when they were cleaned', () => {
    const { log, unit } = run([
      'do: write, master: driver, bytes: 128 B, access: 64 B',
      GIVE,
      'do: read, master: driver, bytes: 8 B',
    ]);
    expect(log.writtenBack).toEqual(['driver 0+64', 'driver 64+64']);
    expect(unit.counts.of(0).writebacks).toBe(2);
    const [read] = log.done.slice(-1);
    const [from, to] = read!.split(' ')[3]!.split('-').map(Number);
    expect(to! - from!).toBe(2);
  });

  test('a line that another core changed is cleaned too', () => {
    const { log } = run(['do: write, master: other, bytes: 8 B', GIVE]);
    expect(log.writtenBack).toEqual(['driver 0+64']);
  });

  test('what a device writes is cleaned and invalidated first, invalidated again after, and nothing is stale', () => {
    const { log, warnings } = run([
      'do: write, master: driver, bytes: 64 B',
      'do: hand_over, from: driver, to: engine, buffer: job, bytes: 64 B',
      'do: write, master: engine, bytes: 64 B',
      'do: take_back, from: engine, to: driver, buffer: job, bytes: 64 B',
      'do: read, master: driver, bytes: 8 B',
    ]);
    expect(warnings).toEqual([]);
    // the line goes to memory once; both passes are paid for, and the core must fetch what is new
    expect(log.writtenBack).toEqual(['driver 0+64']);
    expect(log.ended).toMatchObject([{ upkeep: 46 + 14 + 20 }]);
    const [from, to] = log.done.at(-1)!.split(' ')[3]!.split('-').map(Number);
    expect(to! - from!).toBe(31);
  });

  test('taking back what was only read is a barrier', () => {
    expect(took(['do: take_back, from: engine, to: driver, buffer: job, bytes: 256 B'])).toEqual({
      ns: 20,
      upkeep: 20,
    });
  });

  test('what the other side does with it may be stated', () => {
    const use = (what: string) =>
      took([`do: take_back, from: engine, to: driver, buffer: job, bytes: 256 B, use: ${what}`]).ns;
    expect([use('read'), use('write'), use('both')]).toEqual([20, 4 * 14 + 20, 4 * 14 + 20]);
  });

  test('a line that is on its way to memory already is waited for', () => {
    // three lines of one set of L2: the third pushes out the first, which leaves for memory at 170 and is there at 182
    const steps = [0, 2, 4].map((at) => `{ do: write, master: driver, offset: ${at} KiB, bytes: 8 B }`);
    const { log } = runTasks(
      `  job: { trigger: ${ONCE}, steps: [${steps.join(', ')}] }\n` +
        `  give: { trigger: ${ONCE.replace('100', '160')}, steps: [{ do: hand_over, from: other, to: engine, buffer: job, bytes: 64 B }] }`,
    );
    expect(log.writtenBack).toEqual(['driver 0+64']);
    expect(log.ended.find(({ task }) => task === 'give')).toMatchObject({ from: 160, to: 182 + 6 + 20 });
  });

  test('an invalidated line is dropped, dirty or not', () => {
    const { log, simulation } = run([
      'do: write, master: driver, bytes: 8 B',
      'do: take_back, from: engine, to: driver, buffer: job, bytes: 64 B, use: write',
      'do: read, master: driver, bytes: 8 B',
    ]);
    expect(log.writtenBack).toEqual([]);
    expect(log.ended).toMatchObject([{ to: 131 + 34 + 31 }]);
    expect(simulation.context.warnings.size).toBe(0);
  });

  test('between coherent masters it is the barrier only, and between cores', () => {
    const snooping = {
      change: (text: string) => text.replaceAll('attach: side, operations: read', 'attach: snooping, operations: read'),
    };
    expect(took(['do: hand_over, from: driver, to: engine_in, buffer: job'], snooping)).toEqual({ ns: 20, upkeep: 20 });
    expect(took(['do: hand_over, from: driver, to: other, buffer: job'])).toEqual({ ns: 20, upkeep: 20 });
  });

  test('a group is coherent only as a whole', () => {
    const half = {
      change: (text: string) => text.replace('attach: side, operations: read', 'attach: snooping, operations: read'),
    };
    expect(took([GIVE], half).ns).toBe(76);
  });

  test('what the coherent part of a group writes is not thrown away when it is taken back', () => {
    const seen = {
      change: (text: string) =>
        text.replace(
          'attach: side, operations: write, buffer: job',
          'attach: snooping, operations: write, buffer: job',
        ),
    };
    for (const use of ['', ', use: both']) {
      const { log, unit } = run(
        [
          'do: write, master: engine, bytes: 64 B',
          `do: take_back, from: engine, to: driver, buffer: job, bytes: 64 B${use}`,
          'do: read, master: driver, bytes: 8 B',
        ],
        seen,
      );
      // what it wrote lies in the shared cache: a barrier, and then a hit there
      expect(log.ended[0]!.upkeep).toBe(20);
      expect(unit.counts.of(0)).toMatchObject({ lookups: 1, hits: 1 });
    }
    const give = 'do: hand_over, from: driver, to: engine, buffer: job, bytes: 256 B, use: both';
    expect(run([give], seen).simulation.model.tasks!.lines[0]!.spec.steps).toMatchObject([{ care: 'clean' }]);
  });

  test('where no core is involved it costs nothing', () => {
    expect(took(['do: hand_over, from: engine_in, to: flagger, buffer: job'])).toEqual({ ns: 0, upkeep: 0 });
  });

  test('a buffer that is not cached needs the barrier only', () => {
    expect(took(['do: hand_over, from: watcher, to: flagger, buffer: plain'])).toEqual({ ns: 20, upkeep: 20 });
  });

  test('merged stores are done when they are taken; the barrier has them out first', () => {
    const write = 'do: write, master: joiner, bytes: 32 B';
    expect(took([write]).ns).toBe(4);
    const { log } = run([write, 'do: hand_over, from: joiner, to: engine, buffer: joined']);
    // out at 104, answered at 113
    expect(log.done).toEqual(['joiner write 12288+32 100-113']);
    expect(log.ended).toMatchObject([{ to: 113 + 20, upkeep: 9 + 20 }]);
  });

  test('the core does nothing else meanwhile: what it wants itself waits', () => {
    const busy = {
      change: (text: string) =>
        text.replace('issue: silent', 'issue: { process: periodic, block: 8 B, every: 1 s, offset: 110 ns }'),
    };
    const { log } = run([GIVE], busy);
    // wanted at 110, begun when the hand-over of 76 ns is over; a miss takes 31
    expect(log.done).toEqual(['driver read 0+8 110-207']);
    expect(log.ended).toEqual([{ task: 'job', from: 100, to: 176, upkeep: 76 }]);
  });

  test('it waits for the accesses that the core has begun', () => {
    const busy = {
      change: (text: string) =>
        text.replace('issue: silent', 'issue: { process: periodic, block: 8 B, every: 1 s, offset: 95 ns }'),
    };
    expect(run([GIVE], busy).log.ended).toEqual([{ task: 'job', from: 100, to: 95 + 31 + 76, upkeep: 107 - 5 }]);
  });

  test('a hand-over that is forgotten is found: the engine reads what is dirty in a cache', () => {
    const write = 'do: write, master: driver, bytes: 64 B';
    const read = 'do: read, master: engine, bytes: 64 B';
    expect(run([write, read]).warnings).toEqual([
      'engine_in read lines that are dirty in a cache, in buffer job: a hand-over is missing, or the buffer must not be cached',
    ]);
    expect(run([write, GIVE, read]).warnings).toEqual([]);
  });

  test('cycles of line and barrier are those of the core', () => {
    const slow = {
      change: (text: string) =>
        text.replace('parallelism: 4 }', 'parallelism: 4, maintenance: 3 cycles, barrier: 50 cycles }'),
    };
    expect(took([GIVE], slow).ns).toBe(4 * (3 + 6) + 50);
  });
});

describe('a cache by ratios', () => {
  const ratios = (share: string) => ({
    change: (text: string) =>
      text
        .replace(
          'queue_depth: 4, miss_entries',
          `model: statistical, dirty_share: ${share}, queue_depth: 4, miss_entries`,
        )
        .replaceAll('buffer: job,', 'buffer: job, hit_ratio: 50 %,'),
  });
  const give = 'do: hand_over, from: driver, to: engine, buffer: job';

  test('writes back the stated share of the lines', () => {
    const lines = (8 * 1024) / 64;
    expect(run([give], ratios('0 %')).log.writtenBack).toHaveLength(0);
    expect(run([give], ratios('100 %')).log.writtenBack).toHaveLength(lines);
    const some = run([give], ratios('30 %')).log.writtenBack.length;
    // 128 lines at 30 %: 38, and five deviations of 5.2 either way (an error in a million)
    expect(Math.abs(some - 0.3 * lines)).toBeLessThan(26);
  });

  test('what a task asks for hits or misses by its own draws, and leaves those of the master as they were', () => {
    const own = (text: string) =>
      ratios('0 %')
        .change(text)
        .replace('operations: read, buffer: job,', 'operations: read, buffer: job, size: 64 B,')
        .replace('attach: side, operations: read', 'attach: snooping, operations: read')
        .replace(
          'issue: silent }\n  engine_out',
          'issue: { process: periodic, block: 64 B, every: 500 ns, offset: 0 ns } }\n  engine_out',
        );
    const times = (asked: string, of: string) => {
      const trigger = '{ process: periodic, every: 1 us, offset: 250 ns }';
      const { log } = runTasks(`  job: { trigger: ${trigger}, steps: [{ ${asked} }] }`, { change: own });
      return log.done
        .filter((line) => line.startsWith('engine_in') && line.includes(of))
        .slice(0, 15)
        .map((line) => {
          const [from, to] = line.split(' ')[3]!.split('-').map(Number);
          return to! - from!;
        });
    };
    const read = 'do: read, master: engine, offset: 8128 B, bytes: 64 B';
    // reads of its own come every 500 ns, those of the task between them
    const alone = times('do: compute, time: 1 ns', '+64');
    const wanted = times(read, '+64').filter((_, at) => at % 3 !== 1);
    expect(new Set(alone).size).toBeGreaterThan(1);
    expect(wanted).toEqual(alone.slice(0, wanted.length));
  });

  test('the draw belongs to task, step and instance: who else is there changes nothing', () => {
    const alone = run([give], ratios('30 %')).log.writtenBack;
    const with_other = run([give], {
      change: (text) =>
        ratios('30 %')
          .change(text)
          .replace(
            'flagger: {',
            'more: { attach: side, operations: read, buffer: plain, issue: greedy }\n  flagger: {',
          ),
    }).log.writtenBack;
    expect(with_other).toEqual(alone);
  });
});

describe('writes that are answered early', () => {
  test('do not end a barrier before memory has accepted them', () => {
    const early = (response: string) => ({
      change: (text: string) =>
        text
          .replace('to: [ram, bells], l2', 'to: [between, bells], l2')
          .replace(
            '  memories:',
            `  switches:\n    between: { clock: clk, width: 8 bit, to: ram, write_response: ${response} }\n  memories:`,
          ),
    });
    const steps = ['do: write, master: driver, bytes: 8 B', GIVE.replace('256', '64')];
    const final = took(steps, early('final')).upkeep;
    const soon = took(steps, early('early')).upkeep;
    // the way back of the answer is all that is saved
    expect(final - soon).toBeLessThan(5);
    expect(soon).toBeGreaterThan(64 + 20);
  });
});
