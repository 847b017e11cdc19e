import seedrandom from 'seedrandom';
import { expect, test } from 'vitest';
import { read } from '../../scenario/reading.js';
import { studyNow } from '../../study/study-now.js';
import { RIG } from './task-rig.js';

/** Tasks that meet one another at the same instants, in every kind of step; the second core and the ports want things too. */
const CROWD = `
  one:
    trigger: { process: periodic, every: 1 us, offset: 0 ns }
    overlap: 3
    steps:
      - { do: write, master: driver, bytes: 256 B }
      - { do: hand_over, from: driver, to: engine, buffer: job, bytes: 256 B }
      - { do: doorbell, core: knocker }
      - { do: read, master: engine, bytes: 256 B }
      - { do: compute, time: 100 ns }
      - { do: write, master: engine, offset: 4 KiB, bytes: 256 B }
      - { do: write, master: flagger, bytes: 4 B }
      - { do: poll, core: watcher, every: 25 ns }
      - { do: take_back, from: engine, to: other, buffer: job, offset: 4 KiB, bytes: 256 B }
      - { do: read, master: other, offset: 4 KiB, bytes: 256 B }
  two:
    trigger: { process: periodic, every: 500 ns, offset: 0 ns }
    overlap: 2
    when_full: drop
    steps:
      - { do: read, master: other, bytes: 128 B }
      - { do: write, master: joiner, bytes: 48 B }
      - { do: hand_over, from: joiner, to: flagger, buffer: joined }
      - { do: write, master: other, bytes: 64 B }
      - { do: hand_over, from: other, to: engine, buffer: job, bytes: 128 B, use: both }
  three:
    trigger: { process: after, task: two }
    overlap: unlimited
    steps:
      - { do: fetch, master: engine }
      - { do: interrupt, core: knocker, latency: { exponential: { mean: 100 ns } } }
      - { do: doorbell, core: knocker }
  four:
    trigger: { process: after, task: two }
    overlap: unlimited
    steps:
      - { do: hand_over, from: driver, to: engine, buffer: job, bytes: 1 KiB, use: both }
      - { do: hand_over, from: other, to: engine, buffer: job, bytes: 1 KiB, use: read }
`;

const busy = RIG.replace('run: { replications: 1', 'run: { replications: 3')
  .replace('journeys: off', 'journeys: blame')
  .replace('issue: silent', 'issue: { process: dependent, think: 30 ns }, addresses: random')
  .replace('operations: write, buffer: plain, issue: silent', 'operations: write, buffer: plain, issue: greedy');

/** Writes are answered long before memory has them, by an element before a narrow one. */
const early = (text: string): string =>
  text
    .replace('to: [ram, bells], l2', 'to: [between, bells], l2')
    .replace(
      '  memories:',
      '  switches:\n    between: { clock: clk, width: 64 bit, to: slow, write_response: early }\n' +
        '    slow: { clock: clk, width: 32 bit, to: ram }\n  memories:',
    );

/** All that a study found, without how many events it took. */
function found(model: string, way: (text: string) => string, shuffle?: () => number): string {
  const text = way(busy)
    .replace('queue_depth: 4, miss_entries', `${model}, queue_depth: 4, miss_entries`)
    .replaceAll('buffer: job,', 'buffer: job, hit_ratio: 50 %,');
  const study = studyNow(read(`${text}tasks:${CROWD}`), {}, shuffle === undefined ? {} : { shuffle });
  return JSON.stringify(study, (key, value: unknown) => (key === 'events' ? undefined : value));
}

const plainly = (text: string): string => text;

test.each([
  ['model: structural', 'answered by memory', plainly],
  ['model: statistical', 'answered by memory', plainly],
  ['model: structural', 'answered early', early],
  ['model: statistical', 'answered early', early],
])('with %s and writes %s no result depends on the order of events within a phase', (model, _, way) => {
  const plain = found(model, way);
  expect(plain).toContain('"task":"three"');
  for (const seed of ['a', 'b', 'c']) {
    const draws = seedrandom.xor4096(seed);
    expect(found(model, way, () => draws.double())).toBe(plain);
  }
});
