import { stripVTControlCharacters } from 'node:util';
import { describe, expect, it } from 'vitest';
import { poolStudy } from '../../src/measure/tables/pool.js';
import type { StudyResult } from '../../src/measure/results.js';
import { CAUTION } from '../../src/output/caution.js';
import { PLAIN } from '../../src/output/look.js';
import { summary } from '../../src/output/summary.js';
import { studySample } from '../measure/study-sample.js';

const study = studySample(6, 2000);

/** The sample with other names. */
function renamed(name: string): StudyResult {
  const [placement] = study.placements;
  const replications = placement!.replications.map((replication) => ({
    ...replication,
    paths: replication.paths.map((path) => ({ ...path, master: `${name}_${path.master}`, port: `${name}_port` })),
  }));
  return { ...study, placements: [{ ...placement!, replications }] };
}

/** Green, whatever the tone. */
const paint = (_tone: string, text: string): string => `\u001b[32m${text}\u001b[39m`;

describe('summary', () => {
  it('reads like this', async () => {
    await expect(summary(study, poolStudy(study))).toMatchFileSnapshot('summary.snap.txt');
  });

  it('keeps to 100 columns, and loses no name when names are long', () => {
    const long = renamed('classifier_with_a_very_long_name_of_forty');
    const text = summary(long, poolStudy(long));
    for (const line of text.split('\n')) expect(line.length).toBeLessThanOrEqual(100);
    expect(text.replaceAll(/\s/g, '')).toContain('classifier_with_a_very_l');
  });

  it('shows the same characters with colour as without', () => {
    const coloured = summary(study, poolStudy(study), { ...PLAIN, paint });
    const trimmed = stripVTControlCharacters(coloured).replaceAll(/ +$/gm, '');
    expect(coloured).not.toBe(summary(study, poolStudy(study)));
    expect(trimmed).toBe(summary(study, poolStudy(study)));
  });

  it('ends with the caution, whole', () => {
    expect(summary(study, poolStudy(study)).replaceAll(/\s+/g, ' ').trimEnd().endsWith(CAUTION)).toBe(true);
  });
});
