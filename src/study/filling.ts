import type { CacheCounts } from '../model/coherence/cache-counts.js';
import { CoherenceUnit } from '../model/coherence/coherence-unit.js';
import { Core } from '../model/core.js';
import type { Model } from '../model/build.js';
import type { MasterSpec, SystemSpec } from '../scenario/scenario.js';

/** Lookups per line after which a cache holds what its users make of it; and accesses per line of a buffer, at random. */
const PER_LINE = 4;

/** Requests of one master over a run, and their bytes. */
export interface Asked {
  readonly requests: number;
  readonly bytes: number;
}

/** A cache that has contents, and its lines. */
interface Contents {
  readonly counts: CacheCounts;
  readonly lines: number;
  readonly lineBytes: number;
}

/**
 * The time that the caches of a system take to be filled, in ps, by the rates of a run of `runPs` that counted from its first
 * instant: until each cache has had four lookups per line, or all who use it have walked their buffers once, whichever is
 * sooner, as a small buffer may never fill a large cache. Rates are measured, so that closed sources count as they are.
 * A cache that nobody looked into does not count.
 *
 * @param asked by number of the master
 */
export function fillingPs(system: SystemSpec, model: Model, asked: readonly Asked[], runPs: number): number {
  const times = contentsOf(model).map(({ counts, lines, lineBytes }) => {
    const users = [...counts.used()].filter(([, { lookups }]) => lookups > 0);
    const lookups = users.reduce((sum, [, count]) => sum + count.lookups, 0);
    if (lookups === 0) return 0;
    const walked = Math.min(...users.map(([master]) => walksOf(system, master, asked[master]!, lineBytes)));
    const looked = lookups / (PER_LINE * lines);
    return Math.ceil(runPs / Math.max(looked, walked));
  });
  return Math.max(0, ...times);
}

function contentsOf({ elements, masters }: Model): Contents[] {
  const shared = elements.filter((element) => element instanceof CoherenceUnit);
  const cores = masters.filter((master) => master instanceof Core);
  return [
    ...shared
      .filter(({ spec }) => spec.model === 'structural')
      .map(({ counts, spec }) => ({ counts, lines: spec.l2.bytes / spec.lineBytes, lineBytes: spec.lineBytes })),
    ...cores.flatMap(({ counts, spec }) => {
      if (counts === null) return [];
      const { lineBytes } = shared.find(({ base }) => base.name === spec.attach)!.spec;
      return [{ counts, lines: spec.core!.l1.bytes / lineBytes, lineBytes }];
    }),
  ];
}

/** How often a master has walked its buffer; where it has no order, a walk is four requests for each line. */
function walksOf(system: SystemSpec, master: number, { requests, bytes }: Asked, lineBytes: number): number {
  const { buffer, pattern }: MasterSpec = system.masters[master]!;
  const whole = system.buffers.find(({ name }) => name === buffer)!.bytes;
  switch (pattern.pattern) {
    case 'sequential':
      return bytes / whole;
    case 'strided':
      return (requests * pattern.strideBytes) / whole;
    case 'chain':
      return (requests * pattern.lineBytes) / whole;
    default:
      return (requests * lineBytes) / (PER_LINE * whole);
  }
}
