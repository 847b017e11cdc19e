/**
 * Runs one scenario file again and again and prints what was measured as JSON: `node measure.mjs FILE ROUNDS JOURNEYS
 * TIMELINE`. Plain JavaScript, on the build: that is what users run, and a loader that translates TypeScript costs an eighth of the speed.
 */
import { readFileSync } from 'node:fs';
import { constants, PerformanceObserver } from 'node:perf_hooks';
import { pathToFileURL } from 'node:url';
import * as build from '../../dist/index.js';
import { recorded } from './recorded.mjs';

const [file, rounds, journeys, timeline] = process.argv.slice(2);
const url = pathToFileURL(file);
const readFile = (path) => readFileSync(new URL(path, url));
const system = build.readScenario(readFileSync(url), file, { readFile }).systems[0];

/** Instants at which the young generation was collected. */
const collections = [];
const watcher = new PerformanceObserver((list) => {
  for (const { detail, startTime } of list.getEntries()) {
    if (detail.kind === constants.NODE_PERFORMANCE_GC_MINOR) collections.push(startTime);
  }
});
watcher.observe({ entryTypes: ['gc'] });

const seconds = [];
let peakBytes = 0;
let last = null;
// the first round warms the compiler up
for (let round = 0; round <= Number(rounds); round++) {
  globalThis.gc?.();
  last = timed();
  peakBytes = Math.max(peakBytes, process.memoryUsage().rss);
  if (round > 0) seconds.push((last.to - last.from) / 1000);
}
// the watcher is told when the loop is free
await new Promise((resolve) => void setTimeout(resolve, 0));
const { tally, calendar } = last.simulation.context;
const { channels, caches } = last.recorder.result(1);
const figures = {
  seconds,
  bursts: tally.completedBursts,
  events: calendar.handled,
  columnAccesses: channels.reduce((sum, { columnAccesses }) => sum + columnAccesses, 0),
  lookups: caches.filter(({ cache }) => cache.endsWith(' L2')).reduce((sum, { lookups }) => sum + lookups, 0),
  collections: collections.filter((at) => at >= last.from && at <= last.to).length,
  peakBytes,
};
process.stdout.write(JSON.stringify(figures));

/** One replication of the scenario's first system. */
function timed() {
  // a thousand windows, as a study has them where no width is stated
  const timelinePs = timeline === 'on' ? Math.ceil(system.run.durationPs / 1000) : null;
  const one = recorded(build, system, journeys, timelinePs);
  const from = performance.now();
  one.simulation.run();
  return { from, to: performance.now(), ...one };
}
