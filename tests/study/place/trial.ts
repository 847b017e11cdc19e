/**
 * Is the pick of a search as good as that of trying every class of assignments at full length, at a quarter of the
 * simulated time? The simulations are shared: a search looks at some of those that trying all takes.
 */
import { readFileSync } from 'node:fs';
import type { ReplicationResult } from '../../../src/measure/results.js';
import type { PlaceRow } from '../../../src/measure/tables/rows.js';
import { assignmentReader, readScenario } from '../../../src/scenario/read.js';
import { Alone, type Crew, type Job } from '../../../src/study/crew.js';
import type { Pilot, Settled } from '../../../src/study/pilot.js';
import { findPlacement } from '../../../src/study/place/place.js';
import { ZONE } from '../../../src/study/place/search.js';

const FILE = new URL('../../../scenarios/loom-watch.yaml', import.meta.url);

/** Runs each replication of each system once. */
class Sharing implements Crew {
  private readonly known = new Map<string, Promise<ReplicationResult[]>>();
  private readonly crew = new Alone();

  settle(pilots: readonly Pilot[]): Promise<Settled[]> {
    return this.crew.settle(pilots);
  }

  async run(jobs: readonly Job[]): Promise<ReplicationResult[]> {
    const results = [];
    for (const job of jobs) {
      const key = JSON.stringify([job.system.masters.map(({ attach }) => attach), job.seed, job.replication]);
      if (!this.known.has(key)) this.known.set(key, this.crew.run([job]));
      results.push(...(await this.known.get(key)!));
    }
    return results;
  }
}

export interface Trial {
  readonly seed: string;
  /** Goal of the pick over that of the best, both at full length, less 1. */
  readonly loss: number;
  /** Is it within the zone, and not shown to miss a budget at full length? */
  readonly good: boolean;
  /** Simulated time over that of trying all. */
  readonly share: number;
  readonly pick: string;
}

/** One seed. */
export async function tryPlacing(seed: string): Promise<Trial> {
  const text = readFileSync(FILE, 'utf8');
  const io = { readFile: () => '' };
  const { place } = readScenario(text, 'loom-watch.yaml', io);
  const read = assignmentReader(text, 'loom-watch.yaml', io, null);
  const crew = new Sharing();
  const options = { scenario: 'loom-watch', seed, crew };
  const all = await findPlacement(place!, read, { ...options, whole: true });
  const found = await findPlacement(place!, read, options);
  const nameOf = (row: PlaceRow): string => [...row.attachment.values()].join(' ');
  const pick = nameOf(found.rows[0]!);
  const at = all.rows.find((row) => nameOf(row) === pick)!;
  const loss = at.value! / all.rows[0]!.value! - 1;
  const good = found.rows[0]!.status === 'best' && at.status !== 'budget_missed' && loss <= ZONE;
  return { seed, loss, good, share: found.spending.simulatedPs / all.spending.simulatedPs, pick };
}
