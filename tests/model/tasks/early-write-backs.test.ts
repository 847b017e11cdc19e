import { describe, expect, test } from 'vitest';
import { ONCE, runTasks } from './task-rig.js';

/** Memory lies behind a narrow switch; the one before it has a write long before memory does. */
const behind = (response: string) => ({
  change: (text: string) =>
    text
      .replace('to: [ram, bells], l2', 'to: [between, bells], l2')
      .replace(
        '  memories:',
        `  switches:\n    between: { clock: clk, width: 64 bit, to: slow, write_response: ${response} }\n` +
          '    slow: { clock: clk, width: 8 bit, to: ram }\n  memories:',
      ),
});
const once = (ns: number, ...steps: string[]): string =>
  `{ trigger: ${ONCE.replace('100', String(ns))}, steps: [${steps.map((step) => `{ ${step} }`).join(', ')}] }`;
const write = (master: string, at: string) => `do: write, master: ${master}, offset: ${at}, bytes: 8 B`;
const read = (master: string, at: string) => `do: read, master: ${master}, offset: ${at}, bytes: 8 B`;
const give = 'do: hand_over, from: driver, to: engine, buffer: job, bytes: 64 B';

describe('a line that was written back and answered early', () => {
  // three lines of one set of L2: what the other core reads pushes out what the driver wrote
  const pushed = `  push: ${once(100, write('driver', '0 B'), read('other', '2 KiB'), read('other', '4 KiB'))}`;
  const end = (response: string, at: number) =>
    runTasks(`${pushed}\n  give: ${once(at, give)}`, behind(response)).log.ended.find(({ task }) => task === 'give')!
      .to;

  test('is waited for by a hand-over until memory has it, whoever pushed it out', () => {
    // memory has it at 364, and its answer is back after four elements, at 368; then a lookup of 6 and a barrier of 20
    expect([300, 320, 340].map((at) => end('final', at))).toEqual([394, 394, 394]);
    expect([300, 320, 340].map((at) => end('early', at))).toEqual([390, 390, 390]);
  });

  test('is no matter of a barrier that cleans nothing: it takes as long as where writes are answered by memory', () => {
    const own = `  pre: ${once(100, write('driver', '0 B'), read('driver', '2 KiB'))}\n  push: ${once(280, read('driver', '4 KiB'))}`;
    const barrier = 'do: hand_over, from: driver, to: other, buffer: job';
    const took = (response: string) =>
      runTasks(`${own}\n  give: ${once(300, barrier)}`, behind(response)).log.ended.find(({ task }) => task === 'give')!
        .to;
    expect(took('early')).toBe(took('final'));
  });
});
