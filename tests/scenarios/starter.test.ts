import { expect, it } from 'vitest';
import { readScenario } from '../../src/scenario/read.js';
import { starterScenario } from '../../src/scenario/starter.js';
import { studyNow } from '../study/study-now.js';
import { studyWarnings } from '../../src/measure/results.js';

it('the starter scenario runs, and warns of nothing but its assumed numbers', { timeout: 60_000 }, () => {
  const scenario = readScenario(starterScenario(), 'starter.yaml', { readFile: () => '' });
  const study = studyNow(scenario, { replications: 1 });
  const texts = studyWarnings(study).map(({ text }) => text);
  expect(texts).toHaveLength(1);
  expect(texts[0]).toMatch(/assumed/);
  for (const { replications } of study.placements) {
    for (const path of replications[0]!.paths) expect(path.levels[0]!.histogram.count).toBeGreaterThan(0);
  }
});
