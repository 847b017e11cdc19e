import { keyedDraw } from '../../engine/random.js';
import type { SystemSpec } from '../../scenario/scenario.js';
import type { Context } from '../context.js';
import type { VictimDraw } from './replacement.js';
import type { LineDraws } from './statistical-model.js';

/** Victims of random replacement: drawn by (cache, set, eviction number). */
export function victimDraw(context: Context, cache: string): VictimDraw {
  const draw = keyedDraw(context.seed, context.replication, cache, 'victim');
  return (set, evictionNumber) => draw(set, evictionNumber, 0);
}

/**
 * Draws of the statistical cache: by master, purpose, burst (or task, step, instance and burst) and line, so that they do
 * not depend on order of service.
 */
export function lineDraws(context: Context, system: SystemSpec): LineDraws {
  const { bursts, seed, replication } = context;
  const stream = (purpose: string) => {
    const byMaster = system.masters.map(({ name }) => keyedDraw(seed, replication, name, purpose));
    return (slot: number, index: number): number =>
      byMaster[bursts.master[slot]!]!(bursts.draw[slot]!, index, bursts.op[slot]! + 2 * bursts.part[slot]!);
  };
  return { hit: stream('cache hit'), dirty: stream('cache dirty'), victim: stream('cache victim') };
}
