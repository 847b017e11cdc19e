import { expect, test } from 'vitest';
import { ONCE, runTasks } from './task-rig.js';

const GIVE = '{ do: hand_over, from: driver, to: engine, buffer: job, bytes: 256 B }';
const busy = (issue: string) => ({
  change: (text: string) => text.replace('issue: silent', `issue: ${issue}, addresses: random`),
});

test('a core that always wants something begins nothing more until its hand-over is done', () => {
  const { log } = runTasks(`  job: { trigger: ${ONCE}, steps: [${GIVE}] }`, busy('greedy'));
  const gives = log.ended[0]!;
  // what is under way at 100 is waited for; then four lines of 14 and a barrier of 20
  const idle = gives.to - 76;
  expect(gives.upkeep).toBe(idle + 76 - 100);
  const times = log.done.map((line) => line.split(' ').at(-1)!.split('-').map(Number) as [number, number]);
  expect(times.filter(([, to]) => to > idle && to <= gives.to)).toEqual([]);
  expect(Math.max(...times.map(([, to]) => to).filter((to) => to < gives.to))).toBe(idle);
  // it goes on where it was
  expect(Math.min(...times.map(([from]) => from).filter((from) => from > idle))).toBe(gives.to);
});

test('a core that thinks while another task has it fetch begins nothing before the hand-over', () => {
  const fetch = '{ do: read, master: driver, offset: 4 KiB, bytes: 8 B, access: 8 B }';
  const { log } = runTasks(
    `  a: { trigger: ${ONCE}, steps: [${fetch}] }\n  job: { trigger: ${ONCE.replace('100', '101')}, steps: [${GIVE}] }`,
    busy('{ process: dependent, think: 80 ns }'),
  );
  // its first access is back at 31, so that it wants the next at 111: under way then is the read of the task, until 131
  const own = log.done.map((line) => line.split(' ').at(-1)!);
  expect(own.slice(0, 2)).toEqual(['0-31', '100-131']);
  expect(log.ended).toEqual([
    { task: 'a', from: 100, to: 131, upkeep: 0 },
    { task: 'job', from: 101, to: 131 + 76, upkeep: 131 + 76 - 101 },
  ]);
  expect(Number(own[2]!.split('-')[1])).toBe(131 + 76 + 31);
});
