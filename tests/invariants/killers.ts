/**
 * Says which invariants the sources beside it break, on so many random platforms: one JSON object by invariant, with the
 * number of the first platform that broke it. Run by `mutate.ts` in a copy of the tree: `killers.ts PLATFORMS SEED`.
 */
import fc from 'fast-check';
import { INVARIANTS } from './all.js';
import { failures, systemOf } from './invariant.js';
import { randomScenario } from './platforms/platform.js';
import { textOf } from './platforms/tree.js';

const [platforms, seed] = process.argv.slice(2).map(Number) as [number, number];
const killed: Record<string, number> = {};
let count = 0;
for (const tree of fc.sample(randomScenario, { numRuns: platforms, seed })) {
  count++;
  const left = INVARIANTS.filter(({ name }) => !(name in killed));
  if (left.length === 0) break;
  for (const { invariant } of failures(systemOf(textOf(tree)), left)) killed[invariant] = count;
  // what is known so far counts, should a later platform never end
  process.stdout.write(`${JSON.stringify(killed)}\n`);
}
