import type { ReplicationResult } from '../../measure/results.js';
import type { MetricSpec } from '../../scenario/scenario.js';
import { type Crew, jobsOf } from '../crew.js';
import { budgetsOf, type Candidate, costOf, fitnessOf, standingOf } from './candidate.js';
import { costOf as costOfRounds, halvingRounds, ranked, type Standing, staying } from './halving.js';
import { type Fitness, kimNelson } from './kim-nelson.js';

/** Down to so many by halving; so many or fewer are tried whole from the start. */
export const FEW = 8;
/** The pick is wrong at most so often, if it is better than the others by the zone. */
export const ERROR = 0.05;
/** Goals that differ by less, of the best one's value, are as good as equal. */
export const ZONE = 0.02;
/** First stage of the last contest. */
export const FIRST = 10;
/** Of the replications that trying all at full length takes, a search spends at most this share. */
const SHARE = 1 / 4;

export interface SearchSettings {
  readonly goal: MetricSpec;
  readonly seed: string;
  readonly warmupPs: number;
  /** Replications of one assignment at full length. */
  readonly length: number;
  readonly crew: Crew;
  /** Tries all at full length, however many there are. */
  readonly whole: boolean;
  /** Told now and then how much of the most that may be spent is done, 0 to 1. */
  readonly onProgress?: (share: number) => void;
}

/** What a search came to. */
export interface Found {
  /** Was everything tried at full length? */
  readonly whole: boolean;
  /** Shown to miss a budget, at some look. */
  readonly missed: ReadonlySet<Candidate>;
  /** Who was left out in the rounds, by the goal or by what budgets measured, the last to go first. */
  readonly leftOut: readonly Candidate[];
  /** The few that came to the last contest and missed nothing. */
  readonly last: readonly Candidate[];
  /** Of those the ones that nobody beat. */
  readonly unbeaten: readonly Candidate[];
}

/** What a search of so many may spend, in replications: on the rounds, and in all. */
export function budgetOf(contestants: number, length: number): { rounds: number; all: number } {
  const rounds = (contestants * length * SHARE) / 2;
  const least = costOfRounds(halvingRounds(contestants, FEW, rounds)) + FEW * FIRST;
  return { rounds, all: Math.max(Math.floor(contestants * length * SHARE), least) };
}

/** A few are tried whole, and so is what a search would not make cheaper. */
export function isTriedWhole(contestants: number, length: number): boolean {
  return contestants <= FEW || budgetOf(contestants, length).all >= contestants * length;
}

/** Simulates until the best is known well enough. The results go into the candidates. */
export async function search(candidates: readonly Candidate[], settings: SearchSettings): Promise<Found> {
  return settings.whole || isTriedWhole(candidates.length, settings.length)
    ? tryWhole(candidates, settings)
    : new Search(candidates, settings).run();
}

async function tryWhole(candidates: readonly Candidate[], settings: SearchSettings): Promise<Found> {
  await simulate(candidates, settings.length, settings, settings.onProgress);
  const missed = new Set(candidates.filter((one) => fitnessOf(budgetsOf(one)) === 'out'));
  const last = candidates.filter((one) => !missed.has(one));
  return { whole: true, missed, leftOut: [], last, unbeaten: last };
}

/** Brings all candidates to so many replications. */
async function simulate(
  candidates: readonly Candidate[],
  count: number,
  { seed, warmupPs, length, crew }: SearchSettings,
  onProgress?: (share: number) => void,
): Promise<void> {
  // more than one, so that none is cut into batches
  const run = { seed, replications: Math.max(2, length), warmupPs };
  const due = candidates.flatMap((candidate) => {
    const jobs = jobsOf({ system: candidate.system, ...run }, candidate.results.length + 1, count);
    return jobs.map((job) => ({ candidate, job }));
  });
  const results = await crew.run(
    due.map(({ job }) => job),
    onProgress,
  );
  for (const [i, { candidate }] of due.entries()) candidate.results.push(results[i]!);
}

/** Halving, then the last contest on replications of its own: those by which its contestants were chosen flatter them. */
class Search {
  private readonly missed = new Set<Candidate>();
  private readonly leftOut: Candidate[] = [];
  private readonly budget: { rounds: number; all: number };
  private spent = 0;

  constructor(
    private readonly candidates: readonly Candidate[],
    private readonly settings: SearchSettings,
  ) {
    this.budget = budgetOf(candidates.length, settings.length);
  }

  async run(): Promise<Found> {
    const finalists = await this.halve();
    const before = finalists[0]?.results.length ?? 0;
    const numbers = finalists.map((_, i) => i);
    const { left } = await kimNelson(
      numbers,
      {
        grow: (contestants, count) =>
          this.grow(
            contestants.map((i) => finalists[i]!),
            before + count,
            count,
          ),
        series: (i, count) => valueOf(this.settings.goal, finalists[i]!.results.slice(before, before + count)),
        fitness: (i) => this.fitness(finalists[i]!),
      },
      { error: ERROR, zone: ZONE, first: FIRST },
    );
    for (const one of finalists) this.fitness(one);
    const last = finalists.filter((one) => !this.missed.has(one));
    const unbeaten = left.map((i) => finalists[i]!).filter((one) => !this.missed.has(one));
    return { whole: false, missed: this.missed, leftOut: this.leftOut.toReversed(), last, unbeaten };
  }

  private async halve(): Promise<Candidate[]> {
    let left = [...this.candidates];
    let count = 0;
    for (const { replications, keep } of halvingRounds(left.length, FEW, this.budget.rounds)) {
      count += replications;
      await this.simulate(left, count);
      for (const one of left) this.fitness(one);
      const possible = left.filter((one) => !this.missed.has(one));
      left = this.stayingOf(possible, keep);
      const gone = possible.filter((one) => !left.includes(one));
      // the better of one round after the worse
      this.leftOut.push(...ranked(gone, (one) => standingOf(this.settings.goal, one)).toReversed());
    }
    return left;
  }

  /**
   * The better ones, and among them whoever is best of those that are already shown to meet their budgets: those that
   * measured just inside may all turn out to be outside.
   */
  private stayingOf(candidates: readonly Candidate[], keep: number): Candidate[] {
    const standing = (one: Candidate): Standing => standingOf(this.settings.goal, one);
    const [sure] = ranked(
      candidates.filter((one) => this.fitness(one) === 'fit'),
      standing,
    );
    const others = candidates.filter((one) => one !== sure);
    const beside = staying(others, standing, sure === undefined ? keep : keep - 1);
    return candidates.filter((one) => one === sure || beside.includes(one));
  }

  /** Never beyond full length, nor beyond what all may spend together; the first stage is always granted. */
  private async grow(contestants: readonly Candidate[], total: number, count: number): Promise<boolean> {
    const cost = contestants.reduce((sum, { results }) => sum + Math.max(0, total - results.length), 0);
    const first = count <= FIRST;
    if (!first && (total > this.settings.length || this.spent + cost > this.budget.all)) return false;
    await this.simulate(contestants, total);
    return true;
  }

  private async simulate(candidates: readonly Candidate[], count: number): Promise<void> {
    const cost = candidates.reduce((sum, { results }) => sum + Math.max(0, count - results.length), 0);
    await simulate(candidates, count, this.settings, (share) =>
      this.settings.onProgress?.(Math.min(1, (this.spent + share * cost) / this.budget.all)),
    );
    this.spent += cost;
  }

  /** By all replications that it has; one that was shown to miss a budget stays out, and so does one without a value. */
  private fitness(candidate: Candidate): Fitness {
    const fitness = this.missed.has(candidate) ? 'out' : fitnessOf(budgetsOf(candidate));
    if (fitness === 'out') this.missed.add(candidate);
    return valueOf(this.settings.goal, candidate.results) === null ? 'out' : fitness;
  }
}

function valueOf(goal: MetricSpec, results: readonly ReplicationResult[]) {
  const cost = costOf(goal, results);
  return typeof cost === 'string' ? null : cost;
}
