import type { BurstRecord } from './burst-record.js';
import type { Invariant } from './invariant.js';
import type { Observation } from './observation.js';
import type { Visit } from './watch.js';

/**
 * 2. Over any window the integral of the number in a queue, kept at its changes of state, equals the sum over bursts of
 * their overlap with the window, kept burst by burst: Little's law from two counters, exactly.
 */
export const littlesLaw: Invariant = {
  number: 2,
  name: "Little's law",
  states: 'the integral of a queue is the sum of the stays in it, exactly',
  *breaches({ observation }) {
    yield* queues(observation);
    yield* milestones(observation);
    yield* backlogs(observation);
  },
};

export type Stay = Pick<Visit, 'fromPs' | 'toPs'>;

function* queues({ watch, simulation }: Observation): Iterable<string> {
  const { fromPs, toPs } = simulation.context.window;
  const inside = ({ fromPs: from, toPs: to }: Stay): number => Math.max(0, Math.min(to, toPs) - Math.max(from, fromPs));
  for (const element of simulation.model.elements) {
    const stays = watch.visits.filter((visit) => visit.element === element);
    const sum = stays.reduce((total, stay) => total + inside(stay), 0);
    const { areaPs, largest } = element.queued;
    if (sum !== areaPs) yield `${element.base.name}: the queues' integral is ${areaPs}, the stays add up to ${sum}`;
    const most = largestNumber(stays, fromPs, toPs);
    if (most !== largest) yield `${element.base.name}: the largest queue is given as ${largest}, it was ${most}`;
  }
}

/** The largest number of stays that lasted together for any time inside [fromPs, toPs). */
export function largestNumber(stays: readonly Stay[], fromPs: number, toPs: number): number {
  const changes = stays.flatMap((stay) => [
    { atPs: Math.max(stay.fromPs, fromPs), by: 1 },
    { atPs: Math.max(stay.toPs, fromPs), by: -1 },
  ]);
  changes.sort((a, b) => a.atPs - b.atPs);
  let most = 0;
  let number = 0;
  for (const [i, { atPs, by }] of changes.entries()) {
    if (atPs >= toPs) break;
    number += by;
    if ((changes[i + 1]?.atPs ?? Infinity) > atPs) most = Math.max(most, number);
  }
  return most;
}

/** A burst comes into its first queue when it is accepted, and changes queues in the instants in which it is granted. */
function* milestones({ watch }: Observation): Iterable<string> {
  for (const { record, hop, element, fromPs, toPs } of watch.visits) {
    if (record.lost || record.core) continue;
    const came = hop === 0 ? record.acceptedAt : record.grantedAt[hop - 1]!;
    if (came !== fromPs)
      yield `${element.base.name}: burst ${record.serial} came at ${fromPs}, its record says ${came}`;
    const last = hop === record.route.hops.length - 1;
    if (!last && record.grantedAt[hop] !== toPs) {
      yield `${element.base.name}: burst ${record.serial} left at ${toPs}, its record says ${record.grantedAt[hop]}`;
    }
  }
}

/** The backlog of a source: bytes wanted and not yet accepted. */
function* backlogs({ watch, simulation, system }: Observation): Iterable<string> {
  const { fromPs, toPs } = simulation.context.window;
  for (const [index, master] of system.masters.entries()) {
    // a core holds back what it wants, in more ways than its records tell
    if (master.core !== null) continue;
    const model = simulation.model.masters[index]!;
    for (const side of [model.reads, model.writes]) {
      const own = (one: { master: number; write: boolean }): boolean =>
        one.master === index && one.write === (side === model.writes);
      const bursts = watch.records.filter((record) => record.number >= 0 && own(record));
      if (bursts.some(({ lost }) => lost)) continue;
      const until = (record: BurstRecord): number => Math.min(record.acceptedAt, toPs);
      const sum = bursts.reduce(
        (total, record) => total + record.bytes * Math.max(0, until(record) - Math.max(record.wantedAt, fromPs)),
        0,
      );
      const { areaPs } = side.backlogMeter;
      if (sum !== areaPs) yield `${master.name}: the backlog's integral is ${areaPs}, the waits add up to ${sum}`;
    }
  }
}
