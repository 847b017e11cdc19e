import type { CoherenceSpec, SystemSpec } from '../../scenario/scenario.js';
import type { Context } from '../context.js';
import type { CacheModel, UnitServices } from './cache-model.js';
import { lineDraws, victimDraw } from './draws.js';
import type { LineMap } from './line-map.js';
import type { MissEntries } from './miss-entries.js';
import { requestersOf, StatisticalModel } from './statistical-model.js';
import { StructuralModel } from './structural-model.js';
import type { WriteBackBuffer } from './write-back-buffer.js';

/** What a unit has that the cache behind its tags works with. */
interface Unit extends UnitServices {
  readonly spec: CoherenceSpec;
  readonly lines: LineMap;
  readonly misses: MissEntries;
  readonly buffer: WriteBackBuffer;
}

/** The cache behind a unit's tags, by the model that its specification names; `cache` is the name of its draws. */
export function modelOf(unit: Unit, context: Context, system: SystemSpec, cache: string): CacheModel {
  const { spec, lines, misses, buffer } = unit;
  if (spec.model === 'structural') {
    const cores = system.masters.filter((master) => master.core !== null && master.attach === spec.name).length;
    return new StructuralModel(spec, unit, misses, buffer, cores, victimDraw(context, cache));
  }
  const requesters = requestersOf(system, lines, spec.lineBytes);
  return new StatisticalModel(spec, unit, misses, buffer, requesters, lineDraws(context, system));
}
