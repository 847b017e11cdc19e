import { describe, expect, test } from 'vitest';
import { RIG, ONCE } from '../model/tasks/task-rig.js';
import { problemsOf, read } from './reading.js';

const withSteps = (...steps: string[]): string =>
  `${RIG}tasks:\n  job:\n    trigger: ${ONCE}\n    steps:\n${steps.map((step) => `      - { ${step} }\n`).join('')}`;

/** The one problem of a task with these steps: `path: message; hint`. */
const problem = (...steps: string[]): string => {
  const [only, ...others] = problemsOf(withSteps(...steps));
  expect(others).toEqual([]);
  return `${only!.path}: ${only!.message}; ${only!.hint}`;
};

describe('tasks', () => {
  test('are read with every default filled', () => {
    expect(
      read(withSteps('do: compute, time: 3 us', 'do: read, master: engine, bytes: 1 KiB')).systems[0]!.tasks,
    ).toEqual([
      {
        name: 'job',
        trigger: { process: 'periodic', everyPs: 1e12, offsetPs: 1e5, jitterPs: 0 },
        steps: [
          { do: 'wait', time: { kind: 'fixed', value: 3e6 } },
          {
            do: 'access',
            master: 'engine_in',
            write: false,
            part: { buffer: 'job', startBytes: 0, bytes: 1024, places: 1 },
            accessBytes: 1024,
          },
        ],
        deadlinePs: null,
        stopPs: Infinity,
        overlap: 1,
        whenFull: 'queue',
      },
    ]);
  });

  test('tell masters in which directions they are asked', () => {
    const { masters } = read(withSteps('do: write, master: driver, bytes: 8 B', 'do: read, master: engine'))
      .systems[0]!;
    const asked = masters.filter((master) => master.asked.reads || master.asked.writes);
    expect(asked.map(({ name, asked: how }) => [name, how])).toEqual([
      ['driver', { reads: false, writes: true }],
      ['engine_in', { reads: true, writes: false }],
    ]);
  });

  test('a hand-over is worked out from the placement', () => {
    const give = 'do: hand_over, from: driver, to: engine, buffer: job';
    const care = (text: string) => read(text).systems.map(({ tasks }) => tasks[0]!.steps[0]);
    const moved = `${withSteps(give)}placements:\n  past: {}\n  seen: { attach: { engine: snooping } }\n`;
    expect(care(moved)).toMatchObject([{ core: 'driver', care: 'clean' }, { care: 'barrier' }]);
    const written = withSteps(give, 'do: write, master: engine, bytes: 64 B');
    expect(care(written)).toMatchObject([{ care: 'clean_invalidate' }]);
    // it writes elsewhere
    const apart = withSteps(`${give}, bytes: 4 KiB`, 'do: write, master: engine, offset: 4 KiB');
    expect(care(apart)).toMatchObject([{ care: 'clean' }]);
    expect(care(withSteps(`${give}, use: both`))).toMatchObject([{ care: 'clean_invalidate' }]);
  });

  test('who is coherent behind another unit does not see the caches of the core', () => {
    const text = withSteps(
      'do: hand_over, from: driver, to: far, buffer: job, bytes: 64 B',
      'do: hand_over, from: driver, to: engine, buffer: job, bytes: 64 B',
    )
      .replace(/( +)cu:\n +(\{[^}]*\}[^}]*\})/u, '$1cu:\n$1  $2\n$1cv:\n$1  $2')
      .replace('    snooping:', '    apart: { clock: clk, width: 64 bit, to: cv, outstanding: 8 }\n    snooping:')
      .replaceAll('attach: side, operations: read', 'attach: apart, operations: read')
      .replace(
        '  flagger:',
        '  far: { core: yes, attach: cv, buffer: job, operations: read, issue: silent }\n  flagger:',
      );
    expect(read(text).systems[0]!.tasks[0]!.steps).toMatchObject([{ care: 'clean' }, { care: 'clean' }]);
  });

  test('a master or buffer with a mistake of its own is told of there, and is not unknown to the steps that name it', () => {
    const task = (step: string) => `${RIG}tasks:\n  job: { trigger: ${ONCE}, steps: [{ ${step} }] }\n`;
    const wrong = task('do: read, master: engine').replace(
      '{ group: engine, attach: side, operations: read',
      '{ group: engine, burst: 300 beats, attach: side, operations: read',
    );
    expect(problemsOf(wrong).map(({ path }) => path)).toEqual(['masters.engine_in.burst']);
    const small = task('do: read, master: engine, buffer: job').replace(
      'size: 8 KiB, cached: yes',
      'size: 8 KB, cached: yes',
    );
    expect(problemsOf(small).map(({ path }) => path)).toEqual(['buffers.job.size']);
  });

  test.each([
    ['do: read, master: engin', `tasks.job.steps[0].master: unknown master or group 'engin'`, `did you mean 'engine'?`],
    ['do: read, master: engine, buffer: jobs', `buffer: unknown buffer 'jobs'`, `did you mean 'job'?`],
    [
      'do: write, master: engine, buffer: bell',
      `'engine_out' does not reach buffer 'bell' on its way to 'job'`,
      'name a master',
    ],
    [
      'do: read, master: driver, buffer: plain',
      `'driver' does not reach buffer 'plain' on its way to 'job'`,
      'name a master',
    ],
    ['do: read, master: engine, bytes: 9 KiB', 'bytes: must lie within buffer', 'make it smaller'],
    ['do: read, master: engine, offset: 8 KiB', 'offset: must lie within buffer', 'make it smaller'],
    ['do: doorbell, core: engine_in', `core: 'engine_in' must be a core`, 'name a core'],
    ['do: doorbell, core: driver', 'a doorbell must go to a buffer that is not cached', `'cached: no'`],
    ['do: interrupt, core: flagger, latency: 1 us', `core: 'flagger' must be a core`, 'name a core'],
    [
      'do: poll, core: watcher, every: 1 us',
      `do: nothing sets the flag in 'plain' before it is polled`,
      'write the flag',
    ],
    ['do: hand_over, from: engine, to: driver, buffer: job', 'do: a hand-over must be from a core', `'take_back'`],
    ['do: take_back, from: driver, to: engine, buffer: job', 'do: a core must take it back', `'hand_over'`],
    ['do: hand_over, from: driver, to: knocker, buffer: job', `'knocker' does not reach buffer 'job'`, ''],
    [
      'do: hand_over, from: driver, to: driver, buffer: job',
      'to: must be another than who has it',
      'leave the step out',
    ],
    ['do: doorbell, core: engine', `core: 'engine' must be a core`, 'name a core'],
    ['do: sleep', 'unknown word', ''],
    ['do: compute, time: 3', 'has no unit', ''],
  ])('a step that %s is told', (step, message, hint) => {
    const told = problem(step);
    expect(told).toContain(message);
    expect(told).toContain(hint);
  });

  test('a group in which several could do it must be narrowed down', () => {
    const text = withSteps('do: read, master: engine').replace(
      'operations: write, buffer: job',
      'operations: { read_share: 50 % }, buffer: job',
    );
    expect(problemsOf(text)[0]).toMatchObject({
      message: expect.stringContaining(`group 'engine' has 2 masters that read`) as string,
      hint: 'name one: engine_in, engine_out',
    });
  });

  test('a flag must be set by a write that meets it', () => {
    const flag = (at: string) => [
      'do: write, master: flagger, bytes: 4 B',
      `do: poll, core: watcher, every: 1 us, offset: ${at}`,
    ];
    expect(() => read(withSteps(...flag('0 B')))).not.toThrow();
    expect(problem(...flag('64 B'))).toContain('nothing sets the flag');
  });

  test('a device that loses what finds it full is no place for a task', () => {
    const text = withSteps('do: doorbell, core: knocker').replace(
      'service: 100 ns',
      'service: 100 ns, queue_depth: 1, full: lose',
    );
    expect(problemsOf(text).map(({ message }) => message)).toEqual([`'bells' loses what finds it full`]);
  });

  test('triggers must not wait for one another in a ring, nor for what is not there', () => {
    const tasks = (...after: [string, string][]) =>
      `${RIG}tasks:\n${after.map(([name, task]) => `  ${name}: { trigger: { process: after, task: ${task} }, steps: [{ do: compute, time: 1 ns }] }\n`).join('')}`;
    const told = (text: string) => problemsOf(text).map(({ path, code }) => `${path} ${code}`);
    expect(told(tasks(['a', 'b'], ['b', 'a']))).toEqual(['tasks.a.trigger.task cycle', 'tasks.b.trigger.task cycle']);
    expect(told(tasks(['a', 'a']))).toEqual(['tasks.a.trigger.task cycle']);
    expect(told(tasks(['a', 'c']))).toEqual(['tasks.a.trigger.task unknown_name']);
  });

  test('need a step', () => {
    expect(problemsOf(`${RIG}tasks:\n  job: { trigger: ${ONCE}, steps: [] }\n`).map(({ message }) => message)).toEqual([
      'must have a step, got a list',
    ]);
  });
});

describe('budgets and metrics of tasks', () => {
  const task = (deadline: string) =>
    `${RIG}tasks:\n  job: { trigger: ${ONCE}, steps: [{ do: compute, time: 1 us }]${deadline} }\n`;

  test('take the deadline where no limit is written', () => {
    const text = `${task(', deadline: 5 us')}budgets:\n  a: { kind: task, task: job, percentile: 99 % }\n  b: { kind: task, task: job, percentile: 100 %, at_most: 3 us }\n`;
    expect(read(text).systems[0]!.budgets).toEqual([
      { name: 'a', kind: 'task', task: 'job', percentile: 0.99, level: 'task', limitPs: 5e6 },
      { name: 'b', kind: 'task', task: 'job', percentile: 1, level: 'task', limitPs: 3e6 },
    ]);
  });

  test('must have one or the other, and name a task that is there', () => {
    expect(problemsOf(`${task('')}budgets:\n  a: { kind: task, task: job, percentile: 99 % }\n`)[0]).toMatchObject({
      code: 'missing_key',
      path: 'budgets.a.at_most',
    });
    expect(problemsOf(`${task('')}compare:\n  a: { kind: task, task: jo }\n`)[0]).toMatchObject({
      code: 'unknown_name',
      path: 'compare.a.task',
    });
  });
});
