import type { RecorderSettings } from '../../src/measure/recorder.js';

/** What a recorder is told of a window from 0 to `toPs`: nothing kept beside its bins, unless `more` says otherwise. */
export function settingsTo(
  toPs: number,
  journeys: RecorderSettings['journeys'],
  more: Partial<RecorderSettings> = {},
): RecorderSettings {
  const kept = { batched: false, keepAtMost: 0, limits: new Map(), overCapacity: new Set<string>(), timelinePs: null };
  return { fromPs: 0, toPs, ...kept, journeys, ...more };
}
