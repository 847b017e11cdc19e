import type { Clock } from '../../engine/clock.js';
import { commonMultiple } from '../../engine/common-multiple.js';
import type { DdrSpec } from '../../scenario/scenario.js';
import type { Train } from '../train.js';
import type { IdleDdr } from './unloaded.js';

/**
 * Visits that find the same rows each time, worked out once each: after a common multiple of their periods the clocks of
 * the controller and of the DRAM stand to each other as before, and what then follows is the same, only later.
 */
export function rememberedVisits(visits: IdleDdr, spec: DdrSpec, clock: Clock): IdleDdr {
  const turnPs = commonMultiple([clock.numerator, spec.timing.tckNumerator], Number.MAX_SAFE_INTEGER);
  const reads = new Map<string, Train>();
  const writes = new Map<string, number>();
  const readLines = (ready: Train): Train => {
    const startPs = turnStart(ready[0]!.atPs, turnPs);
    const data = remembered(reads, keyOf(ready, startPs), () => shifted(visits.readLines(ready), -startPs));
    return shifted(data, startPs);
  };
  return {
    readLines,
    read: (address, bytes, atPs) => readLines([{ low: address, high: address + bytes, atPs }]),
    write: (data, ends) => {
      const startPs = turnStart(data[0]!.atPs, turnPs);
      const key = `${keyOf(data, startPs)} until ${ends?.join() ?? ''}`;
      return startPs + remembered(writes, key, () => visits.write(data, ends) - startPs);
    },
  };
}

/** The start of the turn of the clocks that an instant lies in; of clocks that never meet again there is only one. */
const turnStart = (atPs: number, turnPs: number): number => (turnPs === Infinity ? 0 : atPs - (atPs % turnPs));

const keyOf = (train: Train, startPs: number): string =>
  train.map(({ low, high, atPs }) => `${low}-${high}@${atPs - startPs}`).join();

const shifted = (train: Train, byPs: number): Train =>
  train.map(({ low, high, atPs }) => ({ low, high, atPs: atPs + byPs }));

function remembered<T>(answers: Map<string, T>, key: string, workOut: () => T): T {
  let answer = answers.get(key);
  if (answer === undefined) {
    answer = workOut();
    answers.set(key, answer);
  }
  return answer;
}
