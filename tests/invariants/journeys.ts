import { REFRESH } from '../../src/measure/journey/books.js';
import { PARTS, Part, STAGES, STAGE_OF, WAITS } from '../../src/measure/journey/stage.js';
import { type BurstRecord, type Link, nameOf } from './burst-record.js';
import type { Invariant } from './invariant.js';
import type { SystemSpec } from '../../src/scenario/scenario.js';
import type { Observation } from './observation.js';

/**
 * 3. The stages of each burst add up to its latency and its blame to its waiting, to the picosecond; and where its record
 * says apart from that how long it waited, the stages say the same.
 */
export const journeys: Invariant = {
  number: 3,
  name: 'journeys',
  states: 'stages add up to latency, blame to waiting, burst by burst',
  *breaches({ observation }) {
    const { faults } = observation.watch.chains!;
    if (faults > 0) yield `${faults} milestones came before the one in front of them`;
    for (const record of observation.watch.records) {
      if (record.completed === 0 || record.number < 0) continue;
      for (const breach of breachesOf(record)) yield `${nameOf(record, observation.system.masters)}: ${breach}`;
    }
    yield* waits(observation);
  },
};

function* breachesOf(record: BurstRecord): Iterable<string> {
  const { journey, wantedAt, doneAt } = record;
  const end = journey.at(-1)?.untilPs ?? wantedAt;
  if (end !== doneAt) yield `its stages end at ${end}, it was done at ${doneAt}, wanted at ${wantedAt}`;
  const parts = partsOf(record);
  const sum = STAGES.reduce((total, _, stage) => {
    return total + parts.reduce((all, ps, part) => (STAGE_OF[part] === stage ? all + ps : all), 0);
  }, 0);
  if (sum !== doneAt - wantedAt) yield `its stages add up to ${sum}, its latency is ${doneAt - wantedAt}`;
  const waiting = parts.reduce((total, ps, part) => (WAITS[part] === 1 ? total + ps : total), 0);
  const charged = chargesOf(record);
  if (charged !== waiting) yield `its charges add up to ${charged}, it waited ${waiting}`;
}

/** Times in each part, by part. */
function partsOf({ journey, wantedAt }: BurstRecord): number[] {
  const parts = Array.from({ length: PARTS }, () => 0);
  let from = wantedAt;
  for (const { part, untilPs } of journey) {
    parts[part]! += untilPs - from;
    from = untilPs;
  }
  return parts;
}

/** What the culprits are charged with. */
function chargesOf({ journey, wantedAt }: BurstRecord): number {
  const charges = new Map<string, number>();
  let from = wantedAt;
  for (const { part, culprit, element, untilPs } of journey) {
    const key = `${culprit} ${element}`;
    if (WAITS[part] === 1) charges.set(key, (charges.get(key) ?? 0) + untilPs - from);
    from = untilPs;
  }
  return [...charges.values()].reduce((total, ps) => total + ps, 0);
}

/** What the records say apart from the recorder: the wait for the port; and who is to blame somewhere has been there. */
function* waits({ watch, system }: Observation): Iterable<string> {
  const seen = firstSeen(watch.records, system);
  for (const record of watch.records) {
    if (record.completed === 0 || record.number < 0) continue;
    const name = nameOf(record, system.masters);
    const waited = partsOf(record)[Part.sourceWait]!;
    const source = record.offeredAt - record.wantedAt;
    if (!record.core && waited !== source) yield `${name}: source wait ${waited}, presented after ${source}`;
    for (const [link, { part, culprit, element }] of record.journey.entries()) {
      // time that the bursts of caches wait is a part of the access that they are for
      if (culprit === record.master || culprit === REFRESH) continue;
      const since = seen.get(culprit)?.get(element) ?? Infinity;
      const untilPs = endOfWait(record.journey, link);
      if (WAITS[part] === 1 && since > untilPs)
        yield `${name}: until ${untilPs} it waits for master ${culprit} at element ${element}, who is there from ${since}`;
    }
  }
}

/** A long wait is told by its sums, not in order: when the wait ends that a link is a part of. */
function endOfWait(journey: readonly Link[], link: number): number {
  let last = link;
  while (journey[last + 1]?.part === journey[link]!.part) last++;
  return journey[last]!.untilPs;
}

/**
 * By master and element: from when on bursts of that master, or for it, have been on their way through there. A core that
 * hands buffers over may be at the tags of its unit before it has any burst.
 */
function firstSeen(records: readonly BurstRecord[], system: SystemSpec): Map<number, Map<number, number>> {
  const seen = new Map<number, Map<number, number>>();
  for (const step of system.tasks.flatMap(({ steps }) => steps)) {
    if (step.do !== 'pass' || step.core === null) continue;
    const core = system.masters.findIndex(({ name }) => name === step.core);
    const unit = system.elements.findIndex(({ name }) => name === system.masters[core]!.attach);
    seen.set(core, new Map([[unit, 0]]));
  }
  for (const { master, route, wantedAt } of records) {
    const places = seen.get(master) ?? new Map<number, number>();
    seen.set(master, places);
    for (const { element } of route.hops) places.set(element, Math.min(places.get(element) ?? Infinity, wantedAt));
  }
  return seen;
}
