/**
 * Says which invariants the sources beside it break, on so many random platforms and on the scenarios that are kept or show
 * a planted fault: JSON objects by invariant, with the first that broke it. Run by `mutate.ts` in a copy of the tree: `killers.ts PLATFORMS SEED`.
 */
import { readdirSync, readFileSync } from 'node:fs';
import fc from 'fast-check';
import { INVARIANTS } from './all.js';
import { failures, systemOf } from './invariant.js';
import { randomScenario } from './platforms/platform.js';
import { textOf } from './platforms/tree.js';

const [platforms, seed] = process.argv.slice(2).map(Number) as [number, number];
const killed: Record<string, string> = {};

for (const [count, tree] of fc.sample(randomScenario, { numRuns: platforms, seed }).entries()) {
  tryOn(textOf(tree), `platform ${count + 1}`);
}
for (const folder of ['./kept/', './planted/'].map((name) => new URL(name, import.meta.url)))
  for (const file of readdirSync(folder)) tryOn(readFileSync(new URL(file, folder), 'utf8'), file);

function tryOn(text: string, name: string): void {
  const left = INVARIANTS.filter((invariant) => !(invariant.name in killed));
  for (const { invariant } of failures(systemOf(text), left)) killed[invariant] = name;
  // what is known so far counts, should a later one never end
  process.stdout.write(`${JSON.stringify(killed)}\n`);
}
