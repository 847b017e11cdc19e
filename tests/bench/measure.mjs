/**
 * Runs one scenario file again and again and prints the best time as JSON: `node measure.mjs FILE ROUNDS JOURNEYS`. Plain
 * JavaScript, on the build: that is what users run, and a loader that translates TypeScript costs an eighth of the speed.
 */
import { readFileSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import { Recorder, Simulation, readScenario } from '../../dist/index.js';

const [file, rounds, journeys] = process.argv.slice(2);
const url = pathToFileURL(file);
const readFile = (path) => readFileSync(new URL(path, url));
const system = readScenario(readFileSync(url), file, { readFile }).systems[0];

let best = Infinity;
let peakBytes = 0;
let last = null;
// the first round warms the compiler up
for (let round = 0; round <= Number(rounds); round++) {
  globalThis.gc?.();
  last = timed();
  peakBytes = Math.max(peakBytes, process.memoryUsage().rss);
  if (round > 0) best = Math.min(best, last.seconds);
}
const { tally, calendar } = last.simulation.context;
const figures = { seconds: best, bursts: tally.completedBursts, events: calendar.handled, peakBytes };
process.stdout.write(JSON.stringify(figures));

/** One replication of the scenario's first system, recorded as in a study. */
function timed() {
  const { durationPs, drainPs, seed } = system.run;
  const warmupPs = system.run.warmupPs ?? 0;
  const recorder = new Recorder(system, {
    fromPs: warmupPs,
    toPs: warmupPs + durationPs,
    batched: false,
    keepAtMost: 0,
    limits: new Map(),
    overCapacity: new Set(),
    journeys,
  });
  const simulation = new Simulation(system, { seed, replication: 1, warmupPs, durationPs, drainPs, probe: recorder });
  recorder.watch(simulation);
  const start = performance.now();
  simulation.run();
  return { seconds: (performance.now() - start) / 1000, simulation };
}
