import { describe, expect, it } from 'vitest';
import { poolStudy } from '../../src/measure/tables/pool.js';
import type { StudyResult } from '../../src/measure/results.js';
import { TaskRecord } from '../../src/measure/task-record.js';
import { noteSentences } from '../../src/output/notes.js';
import { PLAIN } from '../../src/output/look.js';
import { summary } from '../../src/output/summary.js';
import type { TaskSpec } from '../../src/scenario/scenario.js';
import { studySample, WINDOW_PS } from '../measure/study-sample.js';

const US = 1e6;
const SORT: TaskSpec = {
  name: 'sort',
  trigger: { process: 'periodic', everyPs: US, offsetPs: 0, jitterPs: 0 },
  steps: [],
  deadlinePs: null,
  stopPs: Infinity,
  overlap: 1,
  whenFull: 'queue',
};

/** The sample, with so many instances of a task in each of its replications. */
function withTask(instances: number): StudyResult {
  const study = studySample(6, 2000);
  const record = new TaskRecord(SORT, { fromPs: 0, toPs: WINDOW_PS, batched: false, keepAtMost: 0 }, []);
  for (let i = 0; i < instances; i++) record.ended((20 + i) * US, 0, 0);
  const [placement] = study.placements;
  const replications = placement!.replications.map((one) => ({ ...one, tasks: [record.toPlain()] }));
  return { ...study, placements: [{ ...placement!, replications }] };
}

describe('the sentences on empty cells', () => {
  it('say of a task what is missing and how long to measure', () => {
    const rows = poolStudy(withTask(5)).tasks.filter(({ replication }) => replication === 'all');
    expect(rows[0]!.p99Ps).toBe(null);
    // 30 instances, of which ten must lie beyond p99
    expect(noteSentences(rows)).toContainEqual(
      expect.stringMatching(/^p99 is empty for task sort: has 30 samples, needs 1,000; measure for .* instead\.$/),
    );
  });

  it('name the worst task beside the worst path, not one in place of the other', () => {
    const tables = poolStudy(withTask(5));
    const rows = [...tables.latency, ...tables.tasks].filter(({ replication }) => replication === 'all');
    const [path] = tables.latency;
    const [note] = tables.tasks.at(-1)!.notes.filter(({ subject }) => subject === 'p99');
    const sentences = noteSentences([...rows, { ...path!, notes: [note!] }]).filter((text) => text.startsWith('p99 '));
    expect(sentences.filter((text) => text.includes('task sort'))).toHaveLength(1);
    expect(sentences.filter((text) => !text.includes('task sort'))).toHaveLength(1);
  });

  it('are in the summary for tasks as for paths, and absent where enough was measured', () => {
    const text = (instances: number): string => {
      const study = withTask(instances);
      return summary(study, poolStudy(study), PLAIN).replaceAll(/\s+/g, ' ');
    };
    expect(text(5)).toContain('- p99 is empty for task sort');
    expect(text(200)).not.toContain('- p99 is empty for task sort');
  });
});
