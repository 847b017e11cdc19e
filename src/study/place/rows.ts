import { type Pairs, differenceOf } from '../../measure/difference.js';
import { mergeWarnings } from '../../measure/results.js';
import type { PlaceFailure, PlaceRow, PlaceStatus } from '../../measure/tables/rows.js';
import type { PlaceSpec } from '../../scenario/scenario.js';
import type { AssignmentClass } from './assignments.js';
import { budgetsOf, type Candidate, costOf, fitnessOf, type NoValue } from './candidate.js';
import { ranked } from './halving.js';
import { ERROR, type Found } from './search.js';

const WORDS: Record<NoValue, string> = {
  overloaded: 'the path of the goal is overloaded, so that its latency means nothing',
  too_few_samples: 'too few samples of the goal in a replication; measure for longer',
  unfinished: 'some samples of the goal had not come back at the end; allow a longer drain',
};

/** Makes the rows of one search: what is ruled out before it, and how all others fared. */
export class PlaceRows {
  readonly ruledOut: PlaceRow[] = [];

  constructor(
    private readonly place: PlaceSpec,
    private readonly ports: readonly (readonly string[])[],
    private readonly scenario: string,
    private readonly placement: string,
  ) {}

  ruleOut(own: AssignmentClass, status: PlaceStatus, failure: PlaceFailure): void {
    this.ruledOut.push({ ...this.rowOf(own, status), failure });
  }

  ofSearch(candidates: readonly Candidate[], found: Found): PlaceRow[] {
    const hasValue = (one: Candidate): boolean => typeof costOf(this.place.best, one.results) !== 'string';
    const order = this.inOrder(found).filter(hasValue);
    const best = order[0];
    const last = new Set(found.last);
    const intervals = order.filter((one) => last.has(one)).length - 1;
    const placed = order.map((one, i) => ({
      ...this.rowOf(one, i === 0 && this.isFit(one) ? 'best' : this.statusOf(one, last)),
      ...this.valuesOf(one, best!, last.has(one) ? ERROR / Math.max(1, intervals) : null),
      rank: i + 1,
      failure: this.openOf(one),
    }));
    const rest = candidates.filter((one) => !order.includes(one));
    return [...placed, ...rest.map((one) => this.restOf(one, found))];
  }

  /** Unbeaten ones that are fit, others that came as far and are fit, those not decided, those left out before. */
  private inOrder({ last, unbeaten, leftOut }: Found): Candidate[] {
    const tier = (one: Candidate): number => (this.isFit(one) ? (unbeaten.includes(one) ? 0 : 1) : 2);
    const byGoal = ranked(last, (one) => {
      const cost = costOf(this.place.best, one.results);
      return { excess: 0, cost: typeof cost === 'string' ? Infinity : cost.whole };
    });
    return [0, 1, 2].flatMap((own) => byGoal.filter((one) => tier(one) === own)).concat(leftOut);
  }

  private isFit(one: Candidate): boolean {
    return fitnessOf(budgetsOf(one)) === 'fit';
  }

  private statusOf(one: Candidate, last: ReadonlySet<Candidate>): PlaceStatus {
    if (!last.has(one)) return isOver(one) ? 'over_budget' : 'worse';
    return this.isFit(one) ? 'runner_up' : 'undecided_budget';
  }

  /** Budgets that are not shown to be met. */
  private openOf(one: Candidate): PlaceFailure | null {
    const rows = budgetsOf(one).filter(({ verdict }) => verdict === 'undecided' || verdict === 'none');
    return rows.length === 0 ? null : { kind: 'budgets', rows };
  }

  private valuesOf(one: Candidate, best: Candidate, error: number | null) {
    const count = Math.min(one.results.length, best.results.length);
    const pairs: Pairs = { baseline: best.results.slice(0, count), variant: one.results.slice(0, count) };
    // one replication shows no spread
    const found = one === best || count < 2 ? null : differenceOf(this.place.best, pairs, error ?? ERROR);
    const known = found !== null && typeof found !== 'string';
    return {
      value: this.valueOf(one),
      difference: known ? found.difference : null,
      low: known && error !== null ? found.difference - found.half : null,
      high: known && error !== null ? found.difference + found.half : null,
      replications: one.results.length,
      warnings: warningsOf(one),
    };
  }

  private valueOf(one: Candidate): number | null {
    const cost = costOf(this.place.best, one.results);
    if (typeof cost === 'string') return null;
    return this.place.best.kind === 'bandwidth' ? -cost.whole : cost.whole;
  }

  /** Shown to miss a budget, or without a value. */
  private restOf(one: Candidate, { missed }: Found): PlaceRow {
    const row = {
      ...this.rowOf(one, 'budget_missed'),
      value: this.valueOf(one),
      replications: one.results.length,
      warnings: warningsOf(one),
    };
    if (missed.has(one)) return { ...row, failure: this.missedOf(one) };
    const why = costOf(this.place.best, one.results);
    return { ...row, status: 'no_value', failure: { kind: 'reason', text: typeof why === 'string' ? WORDS[why] : '' } };
  }

  /** Those missed; where more replications have made it open again, those. */
  private missedOf(one: Candidate): PlaceFailure {
    const rows = budgetsOf(one);
    const missed = rows.filter(({ verdict }) => verdict === 'missed');
    return { kind: 'budgets', rows: missed.length > 0 ? missed : rows.filter(({ verdict }) => verdict !== 'met') };
  }

  private rowOf({ attachment, assignments }: AssignmentClass, status: PlaceStatus): PlaceRow {
    const alike = [...attachment].map(([mover, element]): [string, readonly string[]] => {
      const allowed = this.place.mayAttach.get(mover)!;
      return [mover, this.ports.find((names) => names.includes(element))!.filter((name) => allowed.includes(name))];
    });
    return {
      scenario: this.scenario,
      placement: this.placement,
      replication: 'all',
      rank: null,
      status,
      attachment,
      alike: new Map(alike),
      assignments,
      goal: this.place.best,
      value: null,
      difference: null,
      low: null,
      high: null,
      replications: 0,
      failure: null,
      warnings: [],
    };
  }
}

/** Does it measure more than a budget allows? */
const isOver = (one: Candidate): boolean => budgetsOf(one).some(({ marginShare }) => (marginShare ?? 0) < 0);

const warningsOf = ({ results }: Candidate): string[] =>
  mergeWarnings(results.map(({ warnings }) => warnings)).map(({ text, count }) => `${text} (${count} times)`);
