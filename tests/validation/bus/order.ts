import type { MasterSpec, PortSpec, SystemSpec } from '../../../src/scenario/scenario.js';
import {
  buffer,
  clock,
  crossbar,
  device,
  master,
  onChip,
  port,
  roundRobin,
  system,
  trace,
} from '../../model/platform.js';
import type { Line } from '../../model/platform.js';
import type { Measures } from './measures.js';
import { CLOCK, CLOCKS, watch, type WireBurst } from './wires.js';

/** Examples of the order in which bursts come back, go out and are chosen. */

/** Clocks from the last beat of one burst to the first of another, as they pass the port. */
const gap = (from: WireBurst, to: WireBurst): number => (to.beats[0]!.atPs - from.beats.at(-1)!.atPs) / CLOCK;

/** A request of 64 bytes, 4 beats. */
const request = (operation: 'read' | 'write', number: number): Line => [0, operation, 64 * number, 64];

/**
 * Two requests of one master at a slave that serves two at once. Service times go by the number of the request; this seed
 * has a slow one first and a fast one second.
 */
function slowThenFast(ids: number, second: 'read' | 'write'): readonly [slow: WireBurst, fast: WireBurst] {
  const service = { kind: 'uniform', low: 10 * CLOCK, high: 200 * CLOCK } as const;
  const spec = system(
    [port('port', ['slave']), device('slave', { clock: 'fabric', servers: 2, service })],
    [buffer('data', 'slave')],
    [master('m', 'port', 'data', { ids, issue: trace(request('read', 0), request(second, 1)) })],
    CLOCKS,
  );
  const { wires } = watch({ ...spec, run: { ...spec.run, seed: 'slow, then fast' } });
  const [slow, fast] = wires.bursts;
  return [slow!, fast!];
}

/** What two masters do at one slave port, each through a port of its own. */
function atOneSlave(
  first: Partial<MasterSpec>,
  second: Partial<MasterSpec>,
  keys: Partial<PortSpec> = {},
): WireBurst[] {
  const spec = system(
    [
      port('p0', ['x'], { syncCycles: 0, ...keys }),
      port('p1', ['x']),
      crossbar('x', ['slave'], { clock: 'fabric' }),
      onChip('slave', { clock: 'fabric' }),
    ],
    [buffer('data', 'slave')],
    [master('first', 'p0', 'data', first), master('second', 'p1', 'data', second)],
    [...CLOCKS, clock('slow', 3 * CLOCK)],
  );
  return ofMasters(spec);
}

/** The bursts of a system in which each master sends one. */
const ofMasters = (spec: SystemSpec): WireBurst[] => watch(spec).wires.bursts.toSorted((a, b) => a.master - b.master);

/** Data of a slow write, its beats three clocks apart, and of a fast one that comes while it is under way. */
function slowAndFastWrite(): WireBurst[] {
  const slow = { clock: 'slow', syncCycles: 0, issue: trace([0, 'write', 0, 64] as const) };
  const fast = { issue: trace([2 * CLOCK, 'write', 1024, 32] as const) };
  const [a, b] = atOneSlave(slow, fast, { writeStart: 'first_beat' });
  if (a!.there[1]! - a!.there[0]! !== 3 * CLOCK) throw new Error('the slow write is not slow');
  return [a!, b!];
}

/** Data of two reads on one link, of which the first has a beat every four clocks. */
function slowAndFastRead(): WireBurst[] {
  const spec = system(
    [
      port('p', ['x']),
      crossbar('x', ['narrow', 'wide'], { clock: 'fabric' }),
      onChip('narrow', { clock: 'fabric', widthBytes: 4 }),
      onChip('wide', { clock: 'fabric' }),
    ],
    [buffer('far', 'narrow'), buffer('near', 'wide')],
    [
      master('first', 'p', 'far', { issue: trace(request('read', 0)) }),
      master('second', 'p', 'near', { issue: trace([8 * CLOCK, 'read', 0, 64]) }),
    ],
    CLOCKS,
  );
  return ofMasters(spec);
}

/** Which burst each beat of writes of 4 and 2 beats belongs to, in the order in which the slave has them. */
function dataOrder(): number[] {
  const spec = system(
    [port('p', ['slave']), onChip('slave', { clock: 'fabric' })],
    [buffer('data', 'slave')],
    [master('m', 'p', 'data', { ids: 2, issue: trace([0, 'write', 0, 64], [0, 'write', 64, 32]) })],
    CLOCKS,
  );
  return watch(spec)
    .wires.bursts.flatMap(({ number, there }) => there.map((atPs) => ({ number, atPs })))
    .toSorted((a, b) => a.atPs - b.atPs)
    .map(({ number }) => number);
}

/** Place, from 1 on, in which a switch that goes by QoS grants the first of some masters; each has a port of its own. */
function placeOf(first: number, others: number[], override: number | null = null): number {
  const all = [first, ...others];
  const names = all.map((_, i) => `p${i}`);
  const qos = { ...roundRobin, policy: 'qos' as const };
  const spec = system(
    [
      ...names.map((name, i) => port(name, ['x'], i === 0 ? { qos: override } : {})),
      crossbar('x', ['slave'], { clock: 'fabric', arbitration: qos }),
      onChip('slave', { clock: 'fabric' }),
    ],
    [buffer('data', 'slave')],
    all.map((urgency, i) => master(`m${i}`, names[i]!, 'data', { qos: urgency, issue: trace(request('read', i)) })),
    CLOCKS,
  );
  // the slave answers in the order of the grants
  const firstBeats = ofMasters(spec).map(({ beats }) => beats[0]!.atPs);
  return firstBeats.toSorted((a, b) => a - b).indexOf(firstBeats[0]!) + 1;
}

export const order: Measures = {
  'order.same_id': () => gap(...slowThenFast(1, 'read')),
  'order.other_id': () => gap(...slowThenFast(2, 'read')),
  'order.write_passes_read': () => {
    const [slow, fast] = slowThenFast(1, 'write');
    return (fast.doneAt - slow.doneAt) / CLOCK;
  },
  'write_order.changes': () => {
    const beats = dataOrder();
    return beats.filter((number, i) => i > 0 && number !== beats[i - 1]).length;
  },
  'write_order.last_of_first': () => dataOrder().lastIndexOf(0) + 1,
  'write_order.head_of_line': () => {
    const [slow, fast] = slowAndFastWrite();
    return (fast!.there[0]! - slow!.there.at(-1)!) / CLOCK;
  },
  'write_order.reads_interleave': () => {
    const [slow, fast] = slowAndFastRead();
    return fast!.there.filter((atPs) => atPs > slow!.there[0]! && atPs < slow!.there.at(-1)!).length;
  },
  'qos.place.15': () => placeOf(15, [0, 7]),
  'qos.place.7': () => placeOf(7, [15, 0]),
  'qos.place.0': () => placeOf(0, [7, 15]),
  'qos.axi3': () => placeOf(15, [7], 0),
};
