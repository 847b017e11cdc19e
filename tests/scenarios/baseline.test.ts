import { readFileSync, writeFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { TABLES } from '../../src/measure/tables/columns.js';
import { poolStudy } from '../../src/measure/tables/pool.js';
import { toCsv } from '../../src/output/csv.js';
import { readScenario } from '../../src/scenario/read.js';
import { studyNow } from '../study/study-now.js';

const ROOT = new URL('../../', import.meta.url);

/** A changed byte here is a changed model: say why in the commit that renews it (`npm start`, or UPDATE=1). */
it('the demonstration gives the committed tables, byte for byte', { timeout: 300_000 }, () => {
  const file = new URL('scenarios/grain-sorter.yaml', ROOT);
  const scenario = readScenario(readFileSync(file), 'scenarios/grain-sorter.yaml', { readFile: () => '' });
  const tables = poolStudy(studyNow(scenario));
  const fresh = new Map([
    [TABLES.latency.file, toCsv(TABLES.latency, tables.latency)],
    [TABLES.distribution.file, toCsv(TABLES.distribution, tables.distribution)],
    [TABLES.resources.file, toCsv(TABLES.resources, tables.resources)],
    [TABLES.memory.file, toCsv(TABLES.memory, tables.memory)],
    [TABLES.cache.file, toCsv(TABLES.cache, tables.cache)],
    [TABLES.stages.file, toCsv(TABLES.stages, tables.stages)],
    [TABLES.blame.file, toCsv(TABLES.blame, tables.blame)],
    [TABLES.timeline.file, toCsv(TABLES.timeline, tables.timeline)],
    [TABLES.queues.file, toCsv(TABLES.queues, tables.queues)],
    [TABLES.tasks.file, toCsv(TABLES.tasks, tables.tasks)],
    [TABLES.budgets.file, toCsv(TABLES.budgets, tables.budgets)],
  ]);
  for (const [name, text] of fresh) {
    const path = new URL(`results/grain-sorter/${name}`, ROOT);
    if (process.env['UPDATE'] === '1') writeFileSync(path, text);
    // not toBe: a diff of a megabyte helps nobody
    expect(readFileSync(path, 'utf8') === text, `${name} differs from the committed one`).toBe(true);
  }
});
