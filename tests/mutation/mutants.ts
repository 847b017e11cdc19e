// `npm run mutants [-- PART…]`: puts mutants of each part to its tests, one process at a time. Reports go to
// results/mutants/; what has not changed since the last run is not run again.
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Stryker } from '@stryker-mutator/core';
import { partOf, PARTS, type Part } from './parts.js';

const HOME = 'results/mutants';

/** Runs one part and answers its line of the score table. */
async function score(part: Part): Promise<string> {
  process.env['MUTANTS_PART'] = part.name;
  const results = await new Stryker({
    testRunner: 'vitest',
    plugins: ['@stryker-mutator/vitest-runner'],
    vitest: { configFile: 'tests/mutation/vitest.config.ts', related: false },
    mutate: [...part.mutate],
    // a text emptied is a message (its wording is no behaviour) or a name of a union (the compiler refuses it)
    mutator: { excludedMutations: ['StringLiteral'], plugins: [] },
    coverageAnalysis: 'perTest',
    // a mutant of what runs once, on import, needs the whole suite anew
    ignoreStatic: true,
    concurrency: 1,
    timeoutMS: 2000,
    timeoutFactor: 1,
    disableTypeChecks: false,
    // its rewriting of tsconfig.json wants a compiler API that TypeScript 7 has not; the copy needs no rewriting
    tsconfigFile: 'none',
    ignorePatterns: ['dist', 'results', 'tests/bench'],
    // not in the tree: vitest and the linters would take the copy for part of it
    tempDirName: join(tmpdir(), 'burstyard-mutants'),
    incremental: true,
    incrementalFile: `${HOME}/${part.name}-last.json`,
    reporters: ['progress-append-only', 'clear-text', 'json'],
    jsonReporter: { fileName: `${HOME}/${part.name}.json` },
    clearTextReporter: {
      allowColor: false,
      logTests: false,
      reportTests: false,
      allowEmojis: false,
      reportMutants: true,
      reportScoreTable: true,
      skipFull: false,
    },
  }).runMutationTest();
  const count = (...statuses: string[]): number => results.filter((mutant) => statuses.includes(mutant.status)).length;
  const killed = count('Killed', 'Timeout');
  const alive = count('Survived', 'NoCoverage');
  const percent = ((100 * killed) / (killed + alive)).toFixed(1);
  return `${part.name}: ${killed} of ${killed + alive} killed, ${percent} % (${count('Ignored')} ignored)`;
}

const asked = process.argv.slice(2);
const lines: string[] = [];
for (const part of asked.length === 0 ? PARTS : asked.map(partOf)) lines.push(await score(part));
console.log(lines.join('\n'));
