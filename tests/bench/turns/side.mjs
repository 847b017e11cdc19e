/**
 * One side of a comparison in turns: `fork side.mjs FILE DIST JOURNEYS`. For every message it goes on with its simulation
 * for a turn and answers with what that cost: `{ us, bursts }`, processor time and bursts done. Simulations follow one
 * another without end; the first, in which the compiler warms up, answers null. Plain JavaScript, on a build, as in
 * measure.mjs.
 */
import { readFileSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import { recorded } from '../recorded.mjs';

/** A turn in steps of a simulation, which has a thousand and more: long enough that the caches are its own soon. */
const STEPS = 10;

const [file, dist, journeys] = process.argv.slice(2);
const build = await import(pathToFileURL(`${dist}/index.js`).href);
const url = pathToFileURL(file);
const readFile = (path) => readFileSync(new URL(path, url));
const system = build.readScenario(readFileSync(url), file, { readFile }).systems[0];

const simulation = () => recorded(build, system, journeys, null).simulation;

for (const _ of simulation().steps());
let { context, steps } = begun();

function begun() {
  const made = simulation();
  return { context: made.context, steps: made.steps() };
}

/** Goes on for a turn; null where the simulation ended before it. */
function turn() {
  const before = process.cpuUsage();
  const bursts = context.tally.completedBursts;
  for (let step = 0; step < STEPS; step++) {
    if (!steps.next().done) continue;
    ({ context, steps } = begun());
    return null;
  }
  const { user, system: kernel } = process.cpuUsage(before);
  return { us: user + kernel, bursts: context.tally.completedBursts - bursts };
}

process.on('message', () => process.send(turn()));
process.send('ready');
