import { Histogram } from '../../src/measure/statistics/histogram.js';
import type { TimelinePlain } from '../../src/measure/timeline.js';
import { clockOf } from './capacity.js';
import type { Invariant } from './invariant.js';
import { largestNumber } from './littles-law.js';
import type { Observation } from './observation.js';

/**
 * 2, window by window: what the timeline says of each is what moved, and who stood in the queues, while it lasted; and over
 * all windows it is what the other tables say.
 */
export const overTime: Invariant = {
  number: 2,
  name: 'over time',
  states: 'each window of the timeline holds what happened in it, and all together hold everything',
  *breaches({ observation }) {
    const timeline = observation.result.timeline!;
    yield* bytes(observation, timeline);
    yield* bursts(observation, timeline);
    yield* queues(observation, timeline);
  },
};

/** Each beat counts in the window in which it moves. */
function* bytes({ watch, system }: Observation, { masters, fromPs, widthPs }: TimelinePlain): Iterable<string> {
  const places = new Map(masters.map(({ master }, place) => [master, place]));
  const expected = masters.map(({ windows }) => windows.map(() => ({ read: 0, write: 0 })));
  for (const { master, write, bytes: all, timePs, first } of watch.moves) {
    const { clock: clockName, name, widthBytes } = system.masters[master]!;
    const place = places.get(name)!;
    const add = (amount: number, atPs: number): void => {
      expected[place]![Math.floor((atPs - fromPs) / widthPs)]![write ? 'write' : 'read'] += amount;
    };
    add(first, timePs);
    if (first === all) continue;
    const clock = clockOf(system.clocks, clockName!);
    for (let moved = first, edge = clock.indexFrom(timePs) + 1; moved < all; moved += widthBytes, edge++) {
      add(Math.min(widthBytes, all - moved), clock.at(edge));
    }
  }
  for (const [index, { master, windows }] of masters.entries()) {
    for (const [window, { readBytes, writeBytes }] of windows.entries()) {
      const { read, write } = expected[index]![window]!;
      if (readBytes === read && writeBytes === write) continue;
      yield `${master}, window ${window}: ${readBytes} and ${writeBytes} bytes moved, it was ${read} and ${write}`;
    }
  }
}

/** All windows together hold the bursts of the path, and what they took. */
function* bursts({ result }: Observation, { masters }: TimelinePlain): Iterable<string> {
  for (const { master, windows } of masters) {
    const paths = result.paths.filter((path) => path.master === master);
    const histograms = paths.map(({ levels }) => Histogram.fromPlain(levels[0]!.histogram));
    const expected = [
      histograms.reduce((sum, { count }) => sum + count, 0),
      Number(histograms.reduce((sum, { total }) => sum + total, 0n)),
      Math.max(0, ...histograms.map(({ maxPs }) => maxPs ?? 0)),
      paths.reduce((sum, path) => sum + path.bytes, 0),
    ];
    const found = [
      windows.reduce((sum, window) => sum + window.bursts, 0),
      windows.reduce((sum, { sumPs }) => sum + sumPs, 0),
      windows.reduce((most, { maxPs }) => Math.max(most, maxPs), 0),
      windows.reduce((sum, { readBytes, writeBytes }) => sum + readBytes + writeBytes, 0),
    ];
    if (found.some((value, i) => value !== expected[i])) {
      yield `${master}: count, time, largest and bytes over all windows are ${found.join()}, the path has ${expected.join()}`;
    }
  }
}

/** The integral of each queue over each window is the sum of the stays in it. */
function* queues({ watch, simulation }: Observation, timeline: TimelinePlain): Iterable<string> {
  const { fromPs, toPs, widthPs } = timeline;
  const known = new Map(timeline.queues.map(({ element, windows }) => [element, windows]));
  for (const element of simulation.model.elements) {
    const { name } = element.base;
    const stays = watch.visits.filter((visit) => visit.element === element);
    for (let window = 0, from = fromPs; from < toPs; window++, from += widthPs) {
      const to = Math.min(from + widthPs, toPs);
      const area = stays.reduce(
        (sum, stay) => sum + Math.max(0, Math.min(stay.toPs, to) - Math.max(stay.fromPs, from)),
        0,
      );
      const peak = largestNumber(stays, from, to);
      const found = known.get(name)?.[window] ?? { areaPs: 0, peak: 0 };
      if (found.areaPs === area && found.peak === peak) continue;
      yield `${name}, window ${window}: integral ${found.areaPs} and largest ${found.peak}, it was ${area} and ${peak}`;
    }
  }
}
