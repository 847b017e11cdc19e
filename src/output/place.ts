/** What `place` says at the end: the best assignment, the runners-up, and what speaks against the rest. */
import type { BudgetRow, PlaceFailure, PlaceRow, PlaceStatus } from '../measure/tables/rows.js';
import { FEW, ZONE } from '../study/place/search.js';
import type { PlaceResult } from '../study/place/place.js';
import { inUnit as inBudgetUnit, subjectOf } from './budgets.js';
import { CAUTION } from './caution.js';
import { metricText, metricValue } from './comparison.js';
import { grouped, percent, readableRate, readableSpan } from './format.js';
import { list } from './items.js';
import { type Look, PLAIN } from './look.js';
import { wrap } from './wrap.js';

/** Lines of a list that are shown; the table has all. */
const MOST_LINES = 12;

/** The whole text, ending with a newline. */
export function placeText(result: PlaceResult, options: Look = PLAIN): string {
  const { rows } = result;
  const [best] = rows.filter(({ rank }) => rank === 1);
  const of = (status: PlaceStatus): PlaceRow[] => rows.filter((row) => row.status === status);
  const parts = [
    heading(result, options),
    bestText(best, options),
    shortList(
      'Runners-up',
      of('runner_up').map((row) => against(row, best!)),
      options,
    ),
    shortList(
      'Budgets not decided',
      of('undecided_budget').map((row) => `${against(row, best!)}; ${openText(row)}`),
      options,
    ),
    shortList(
      'Left out as worse',
      of('worse').map((row) => `${against(row, best!)}, ${after(row)}`),
      options,
    ),
    shortList(
      'Left out as over a budget, by what was measured',
      of('over_budget').map((row) => `${nameOf(row)}: ${overText(row)}, ${after(row)}`),
      options,
    ),
    shortList(
      'Budget missed',
      of('budget_missed').map((row) => `${nameOf(row)}: ${failureText(row.failure)}, ${after(row)}`),
      options,
    ),
    shortList(
      'Over capacity',
      of('over_capacity').map((row) => `${nameOf(row)}: ${failureText(row.failure)}`),
      options,
    ),
    shortList(
      'Not possible',
      of('impossible').map((row) => `${nameOf(row)}: ${failureText(row.failure)}`),
      options,
    ),
    shortList(
      'Without a value',
      of('no_value').map((row) => `${nameOf(row)}: ${failureText(row.failure)}`),
      options,
    ),
    shortList('Warnings', warnings(rows), options),
    wrap(spending(result), options.width, '').join('\n'),
    wrap(CAUTION, options.width, '').join('\n'),
  ];
  return `${parts.filter((part) => part !== '').join('\n\n')}\n`;
}

function heading(
  { scenario, rows, seed, length, windowPs, warmupPs, assignments, identical }: PlaceResult,
  options: Look,
): string {
  const { paint, width } = options;
  const movers = [...rows[0]!.attachment.keys()];
  const warmup = warmupPs === null ? 'warm-up not settled' : `warm-up ${readableSpan(warmupPs)}`;
  const run = `seed ${seed}, up to ${length} replications of ${readableSpan(windowPs)} each, on the same draws, ${warmup}`;
  const alike = identical.map((ports) => `${ports.slice(0, -1).join(', ')} and ${ports.at(-1)} are identical`);
  const classes =
    rows.length === assignments
      ? `${grouped(assignments)} assignments`
      : `${grouped(assignments)} assignments, of which ${grouped(rows.length)} differ: ${alike.join('; ')}`;
  return [
    ...wrap(`${scenario}: where ${movers.join(', ')} attach`, width, '').map((line) => paint('heading', line)),
    ...wrap(classes, width, '').map((line) => paint('faint', line)),
    ...wrap(run, width, '').map((line) => paint('faint', line)),
  ].join('\n');
}

function bestText(best: PlaceRow | undefined, options: Look): string {
  if (best === undefined) return shortList('Best', ['none: no assignment is left'], options);
  if (best.status !== 'best')
    return shortList('Best', ['none is shown to meet all budgets; see those not decided'], options);
  const met = best.failure === null ? 'meets all budgets' : openText(best);
  const line = `${nameOf(best)}: ${metricText(best.goal)} ${valueOf(best)}; ${met}`;
  const attach = [...best.attachment].map(([mover, element]) => `${mover}: ${element}`).join(', ');
  return `${list('Best', [line], options)}\n  as a placement: attach: { ${attach} }`;
}

const nameOf = ({ attachment }: PlaceRow): string =>
  [...attachment].map(([mover, element]) => `${mover} at ${element}`).join(', ');

const valueOf = ({ goal, value }: PlaceRow): string => (value === null ? '-' : metricValue(goal, value));

const after = ({ replications }: PlaceRow): string => `after ${grouped(replications)} replications`;

/** `sorter at fabric0: 1,300.0 ns, more by 2.1 % to 3.5 %`: of the best one's value. */
function against(row: PlaceRow, best: PlaceRow): string {
  const head = `${nameOf(row)}: ${valueOf(row)}`;
  const { difference, low, high } = row;
  if (row === best || difference === null) return head;
  const base = Math.abs(best.value!);
  const share = (value: number): string =>
    base > 0 ? percent(Math.abs(value) / base) : metricValue(row.goal, Math.abs(value));
  const direction = difference > 0 ? 'more' : 'less';
  if (difference === 0 && (low === null || (low === 0 && high === 0))) return `${head}, the same`;
  if (difference === 0) return `${head}, as good`;
  if (low === null || high === null) return `${head}, ${direction} by ${share(difference)}`;
  if (low <= 0 && high >= 0) return `${head}, ${direction} by ${share(difference)}, which may be chance`;
  const ends = [low, high].toSorted((a, b) => Math.abs(a) - Math.abs(b));
  return `${head}, ${direction} by ${share(ends[0]!)} to ${share(ends[1]!)}`;
}

function openText({ failure }: PlaceRow): string {
  if (failure?.kind !== 'budgets') return '';
  return failure.rows
    .map((row) =>
      row.verdict === 'none'
        ? `${row.budget}: no miss in ${grouped(row.none!.samples)}, misses in at most ${percent(row.none!.share)} of runs`
        : `${row.budget} is undecided (${figures(row)})`,
    )
    .join('; ');
}

/** The budgets of which it measured more than they allow. */
function overText({ failure }: PlaceRow): string {
  if (failure?.kind !== 'budgets') return '';
  const over = failure.rows.filter(({ marginShare }) => (marginShare ?? 0) < 0);
  return over.map((row) => `passes ${row.budget} (${figures(row)})`).join(' and ');
}

function failureText(failure: PlaceFailure | null): string {
  switch (failure?.kind) {
    case 'budgets':
      return failure.rows.map((row) => `misses ${row.budget} (${figures(row)})`).join(' and ');
    case 'capacity': {
      const { element, channel, offeredBytesPerS, capacityBytesPerS } = failure;
      const [offered, capacity] = [readableRate(offeredBytesPerS), readableRate(capacityBytesPerS)];
      return `${element} (${channel}) is asked for ${offered} MB/s and can carry ${capacity} MB/s`;
    }
    case 'reason':
      return failure.text;
    default:
      return '';
  }
}

function figures(row: BudgetRow): string {
  const measured = row.measured === null ? 'not measured' : inBudgetUnit(row, row.measured);
  return `${subjectOf(row)} ${measured}, limit ${inBudgetUnit(row, row.limit)}`;
}

/** Of the best one in full; of others how many have any. */
function warnings(rows: readonly PlaceRow[]): string[] {
  const warned = rows.filter((row) => row.warnings.length > 0);
  const best = warned
    .filter(({ rank }) => rank === 1)
    .flatMap((row) => row.warnings.map((text) => `the best: ${text}`));
  const others = warned.filter(({ rank }) => rank !== 1).length;
  return others === 0 ? best : [...best, `${others} others have warnings, such as stale reads: see the table`];
}

function spending({ whole, length, spending: spent }: PlaceResult): string {
  if (spent.replications === 0) return 'Nothing was simulated.';
  const took = `${grouped(spent.replications)} replications, ${readableSpan(spent.simulatedPs)} simulated`;
  if (whole) return `All were tried at full length, ${length} replications each: ${took}.`;
  const share = percent(spent.simulatedPs / spent.wholePs);
  return `Spent: ${took}; trying all at full length would take ${grouped(spent.wholeReplications)}, ${readableSpan(spent.wholePs)}, so this is ${share} of it. The last ${FEW} were told apart where their goals differ by ${percent(ZONE)} or more; intervals are rough, as the data said when to stop.`;
}

/** A list that leaves what is more than can be read to the table. */
function shortList(title: string, sentences: readonly string[], look: Look): string {
  const more = sentences.length - MOST_LINES;
  return list(
    title,
    more > 1 ? [...sentences.slice(0, MOST_LINES), `and ${more} more, in the table`] : sentences,
    look,
  );
}
