import { CoherenceUnit } from '../../src/model/coherence/coherence-unit.js';
import { StructuralModel } from '../../src/model/coherence/structural-model.js';
import { LineState } from '../../src/model/coherence/tag-store.js';
import { DdrController } from '../../src/model/dram/controller.js';
import { type BurstRecord, nameOf } from './burst-record.js';
import type { Invariant } from './invariant.js';
import type { Observation } from './observation.js';
import type { Wanted } from './watch.js';

/**
 * 1. Every burst that is issued completes once, or is in flight at the end; bytes in = bytes out. A run that is watched goes
 * on until nothing is in flight, so here all of them complete, and whatever they held is given back.
 */
export const conservation: Invariant = {
  number: 1,
  name: 'conservation',
  states: 'every burst completes once, bytes in are bytes out, and at the end nothing is held and the caches agree',
  *breaches({ observation }) {
    yield* completions(observation);
    yield* requests(observation);
    yield* memories(observation);
    yield* rest(observation);
  },
};

function* completions({ watch, system, simulation }: Observation): Iterable<string> {
  for (const record of watch.records) {
    const name = nameOf(record, system.masters);
    if (!record.over) yield `burst ${record.serial} never ends`;
    else if (record.lost) {
      if (!record.route.lossy) yield `${name} is lost on a way that loses nothing`;
    } else if (record.completed !== 1) yield `${name} completes ${record.completed} times`;
    else if (record.number >= 0 && record.accepted > 1) yield `${name} is accepted ${record.accepted} times`;
    else if (record.doneAt < record.wantedAt) yield `${name} is done at ${record.doneAt}, wanted at ${record.wantedAt}`;
  }
  const { tally } = simulation.context;
  if (tally.issuedBursts !== tally.completedBursts) {
    yield `${tally.issuedBursts} bursts issued, ${tally.completedBursts} completed`;
  }
  if (tally.counted !== 0) yield `${tally.counted} requests of the window are still waited for`;
}

/** Bursts of a master in the order of their numbers tile its requests in the order in which they were wanted. */
function* requests(observation: Observation): Iterable<string> {
  const { watch, system, simulation } = observation;
  for (const [index, master] of system.masters.entries()) {
    // the accesses of a core with a private cache are numbered over both directions
    const together = watch.records.some((record) => record.core && record.master === index);
    for (const write of together ? [null] : [false, true]) {
      const concerns = (one: { master: number; write: boolean }): boolean =>
        one.master === index && (write === null || one.write === write);
      const bursts = watch.records.filter((record) => record.number >= 0 && concerns(record));
      yield* tiling(
        `${master.name}${write === null ? '' : write ? ' writes' : ' reads'}`,
        bursts,
        watch.wanted.filter(concerns),
      );
    }
    const wanted = watch.wanted.filter((one) => one.master === index);
    const done = watch.requestsDone.filter((one) => one.master === index);
    const lost = watch.records.some((record) => record.lost && record.master === index);
    if (!lost && !sameRequests(done, wanted)) yield `${master.name}: requests wanted and done differ`;
    for (const write of [false, true]) {
      const side = simulation.model.masters[index]![write ? 'writes' : 'reads'];
      const backlog = watch.wantedBy(index, write);
      if (backlog !== 0) yield `${master.name} still wants ${backlog} bytes at rest`;
      if (side.outstanding !== 0) yield `${master.name} holds ${side.outstanding} outstanding places at rest`;
      const open = side.unfinished().bursts.length;
      if (open !== 0) yield `${master.name} has ${open} bursts unfinished at rest`;
    }
  }
}

function* tiling(path: string, bursts: readonly BurstRecord[], wanted: readonly Wanted[]): Iterable<string> {
  const ordered = bursts.toSorted((a, b) => a.number - b.number);
  let next = 0;
  for (const { bytes, wantedPs } of wanted) {
    let left = bytes;
    let address = -1;
    while (left > 0) {
      const burst = ordered[next];
      if (burst === undefined) {
        yield `${path}: ${left} bytes of the request wanted at ${wantedPs} were never asked for`;
        return;
      }
      if (burst.number !== next++) yield `${path}: burst ${burst.number} where ${next - 1} should be`;
      if (address >= 0 && burst.address !== address)
        yield `${path}: burst ${burst.number} starts at ${burst.address}, not ${address}`;
      if (burst.wantedAt !== wantedPs) yield `${path}: burst ${burst.number} is of ${burst.wantedAt}, not ${wantedPs}`;
      left -= burst.bytes;
      address = burst.address + burst.bytes;
    }
    if (left < 0) yield `${path}: burst ${next - 1} goes ${-left} bytes beyond its request`;
  }
  if (next < ordered.length) yield `${path}: ${ordered.length - next} bursts that nobody wanted`;
}

function sameRequests(a: readonly Wanted[], b: readonly Wanted[]): boolean {
  const key = ({ write, bytes, wantedPs }: Wanted): string => `${write} ${wantedPs} ${bytes}`;
  return a.map(key).toSorted().join() === b.map(key).toSorted().join();
}

/** What a DRAM controller moved is what ended there; its counters are those of the accesses that fell into the window. */
function* memories({ watch, simulation }: Observation): Iterable<string> {
  for (const element of simulation.model.elements) {
    if (!(element instanceof DdrController)) continue;
    const { index, name } = element.base;
    for (const write of [false, true]) {
      const moved = watch.accesses
        .filter((access) => access.memory === index && access.write === write)
        .reduce((sum, { low, high }) => sum + high - low, 0);
      const ended = watch.records
        .filter((record) => !record.lost && record.write === write && endsAt(record, index))
        .reduce((sum, { bytes }) => sum + bytes, 0);
      if (moved !== ended) yield `${name} moved ${moved} bytes of ${write ? 'writes' : 'reads'}, ${ended} ended there`;
    }
    for (const { number, use } of element.dram) {
      const own = watch.accesses.filter((access) => access.memory === index && access.channel === number);
      const stuck = own.filter((access) => access.servedPs === Infinity).length;
      if (stuck > 0) yield `${name} channel ${number}: ${stuck} accesses were never served`;
      const { fromPs, toPs } = simulation.context.window;
      const served = own.filter(({ covered, servedPs }) => !covered && servedPs >= fromPs && servedPs < toPs).length;
      if (served !== use.columnAccesses)
        yield `${name} channel ${number} counts ${use.columnAccesses} accesses, not ${served}`;
    }
  }
}

function endsAt({ route, core }: BurstRecord, element: number): boolean {
  // the accesses of such a core end at its cache
  return !core && route.hops.at(-1)!.element === element;
}

/** Nothing is left in any queue, entry, buffer or record. */
function* rest({ simulation }: Observation): Iterable<string> {
  const { bursts, calendar } = simulation.context;
  if (!calendar.empty) yield 'something is still to happen long after the last source has stopped';
  if (bursts.inFlight !== 0) yield `${bursts.inFlight} records of bursts are still in use`;
  for (const element of simulation.model.elements) {
    const { name } = element.base;
    for (const queue of element.queues())
      if (queue.length > 0) yield `${name}: ${queue.length} bursts stand in a queue`;
    if (element.queued.length !== 0) yield `${name}: ${element.queued.length} places of its queues are taken`;
    if (element instanceof CoherenceUnit) yield* caches(element);
  }
}

/** A coherence unit waits for nothing, and its directory, its shared cache and the private ones agree. */
function* caches({ base, spec, misses, buffer, model, cores }: CoherenceUnit): Iterable<string> {
  const { name } = base;
  if (misses.inUse > 0) yield `${name}: ${misses.inUse} miss entries are taken`;
  if (buffer.length > 0) yield `${name}: ${buffer.length} write-back slots are taken`;
  if (cores.some((cache) => pinned(cache.tags.pins) || cache.flying > 0)) yield `${name}: a core waits for a line`;
  if (!(model instanceof StructuralModel)) return;
  const { l2, directory } = model;
  if (pinned(l2.pins)) yield `${name}: lines are pinned`;
  for (const [core, cache] of cores.entries()) {
    for (const { line, state } of cache.tags.entries()) {
      if (!directory.holds(line, core)) yield `${name}: core ${core} has line ${line}, its directory does not say so`;
      if (spec.l2.inclusive && l2.find(line) < 0)
        yield `${name}: core ${core} has line ${line}, which the shared cache lacks`;
      const alone = state !== LineState.shared;
      if (alone && directory.holders(line) > 1)
        yield `${name}: core ${core} may write line ${line}, but is not alone with it`;
    }
  }
}

const pinned = (pins: Iterable<number>): boolean => [...pins].some((count) => count !== 0);
