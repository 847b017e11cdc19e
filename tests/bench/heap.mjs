/**
 * What a running load leaves on the heap: `node heap.mjs FILE JOURNEYS` prints `{ bursts, functions }` as JSON, `functions` being
 * what each allocated after the first third of the run, `{ name, bytes }`, the largest first. Samples, so that what is seldom
 * allocated may be missing. Instants beyond 2^31 ps are objects where they are handed on, sooner ones are not: a load must run
 * for some milliseconds to show them.
 */
import { readFileSync } from 'node:fs';
import { Session } from 'node:inspector/promises';
import { pathToFileURL } from 'node:url';
import * as build from '../../dist/index.js';
import { recorded } from './recorded.mjs';

const WARM = 1 / 3;
const EVERY_BYTES = 4096;

const [file, journeys] = process.argv.slice(2);
const url = pathToFileURL(file);
const readFile = (path) => readFileSync(new URL(path, url));
const system = build.readScenario(readFileSync(url), file, { readFile }).systems[0];

const { simulation } = recorded(build, system, journeys, null);
const { tally } = simulation.context;
const steps = simulation.steps();
while (steps.next().value < WARM);
const before = tally.completedBursts;
const session = new Session();
session.connect();
await session.post('HeapProfiler.startSampling', {
  samplingInterval: EVERY_BYTES,
  includeObjectsCollectedByMajorGC: true,
  includeObjectsCollectedByMinorGC: true,
});
while (!steps.next().done);
const { profile } = await session.post('HeapProfiler.stopSampling');

const functions = new Map();
for (const nodes = [profile.head]; nodes.length > 0;) {
  const { callFrame, selfSize, children } = nodes.pop();
  const name = `${callFrame.functionName} ${callFrame.url.split('/dist/').at(-1)}:${callFrame.lineNumber + 1}`;
  functions.set(name, (functions.get(name) ?? 0) + selfSize);
  nodes.push(...children);
}
process.stdout.write(
  JSON.stringify({
    bursts: tally.completedBursts - before,
    functions: [...functions].map(([name, bytes]) => ({ name, bytes })).toSorted((a, b) => b.bytes - a.bytes),
  }),
);
