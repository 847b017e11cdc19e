import { expect, it } from 'vitest';
import { CAUTION } from '../../src/output/caution.js';
import { manifestText } from '../../src/output/manifest.js';

const INPUT = {
  version: '0.1.0',
  scenario: 'sample',
  title: 'a sample',
  command: 'burstyard run sample.yaml',
  scenarioText: 'title: a sample\n',
  platforms: [],
  scenarioFile: 'scenarios/sample "x".yaml',
  scenarioSha256: 'ab'.repeat(32),
  placements: ['coherent', 'fabric'],
  seed: 'one',
  replications: 10,
  simulatedPs: 15_000_000_500,
  wallMs: 1234.6,
  events: 42,
  warnings: [{ text: 'stale data', count: 2 }],
  notes: ['p99 is empty'],
};

it('the manifest is JSON that names the run, its warnings and the caution', () => {
  const text = manifestText(INPUT);
  expect(text.endsWith('}\n')).toBe(true);
  expect(JSON.parse(text)).toEqual({
    version: '0.1.0',
    scenario: 'sample',
    title: 'a sample',
    command: 'burstyard run sample.yaml',
    scenario_file: 'scenarios/sample "x".yaml',
    scenario_sha256: 'ab'.repeat(32),
    placements: ['coherent', 'fabric'],
    seed: 'one',
    replications: 10,
    simulated_time_ns: 15_000_001,
    wall_time_ms: 1235,
    events: 42,
    warnings: [{ text: 'stale data', count: 2 }],
    notes: ['p99 is empty'],
    caution: CAUTION,
    platforms: [],
    scenario_text: 'title: a sample\n',
  });
});

it('the caution says that the largest latency seen is no bound and that safety is measured on the hardware', () => {
  expect(CAUTION).toContain('not a worst-case bound');
  expect(CAUTION).toContain('must be measured on the hardware');
});
