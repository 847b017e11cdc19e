/** The answer on top: what the budgets, the comparison and the paths say, in sentences with their numbers. */
import { type Facts, pathName, pooledOf } from './facts.js';
import { counted, inUnit, listed, metricWords, nsText, shareText } from './figures.js';
import { crossingsOf } from './crossing.js';
import { grouped, numberIn, type SheetRow, textIn } from './sheet.js';

/** A sentence of the answer, and whether it is a warning. */
export interface Sentence {
  readonly text: string;
  readonly tone: 'good' | 'bad' | 'head' | 'plain';
}

const head = (text: string): Sentence => ({ text, tone: 'head' });
const plain = (text: string): Sentence => ({ text, tone: 'plain' });

/** All sentences, the most important first. */
export function answerOf(facts: Facts): Sentence[] {
  return [
    ...budgetAnswer(facts),
    ...comparisonAnswer(facts),
    ...crossingAnswer(facts),
    ...placeAnswer(facts),
    ...bindingAnswer(facts),
    ...alarms(facts),
  ];
}

function budgetAnswer(facts: Facts): Sentence[] {
  const rows = pooledOf(facts, 'budgets.csv');
  if (rows.length === 0) return [];
  const verdicts = [...grouped(rows, (row) => textIn(row, 'placement'))].map(([placement, own]) => ({
    placement,
    open: own.filter((row) => textIn(row, 'verdict') !== 'met'),
    count: own.length,
  }));
  const all = verdicts.filter(({ open }) => open.length === 0);
  const sentences: Sentence[] = [];
  if (all.length > 0)
    sentences.push({
      text: `${claim(
        all.map(({ placement }) => placement),
        all[0]!.count,
      )}.`,
      tone: 'good',
    });
  for (const { placement, open } of verdicts) {
    for (const row of open) sentences.push({ text: `${placement}: ${budgetFate(row, facts)}.`, tone: 'bad' });
  }
  return [...sentences, ...tightest(rows, facts)];
}

function claim(placements: readonly string[], count: number): string {
  const budgets = count === 1 ? 'its budget' : `all ${count} budgets`;
  if (placements.length === 1) return `${placements[0]} meets ${budgets}, a claim that errs at most once in 20`;
  return `${listed(placements)} each meet ${budgets}, a claim that errs at most once in 20 for each`;
}

/** `line_in_time is missed: p99 of transfer latency of classifier_read is 16,000 ns, at most 15,000 ns is allowed`. */
function budgetFate(row: SheetRow, facts: Facts): string {
  const verdict = textIn(row, 'verdict') || 'not decided';
  const said = verdict === 'missed' ? 'is missed' : `is ${verdict}`;
  return `budget ${textIn(row, 'budget')} ${said}: ${measuredAgainst(row, facts)}`;
}

export function measuredAgainst(row: SheetRow, facts: Facts): string {
  const unit = textIn(row, 'unit');
  return `${inUnit(numberIn(row, 'measured'), unit)} against ${boundOf(row, facts)} ${inUnit(numberIn(row, 'limit'), unit)}`;
}

/** `at most` or `at least`; where the manifest does not say, by what lies within the limit. */
export function boundOf(row: SheetRow, { platforms }: Facts): string {
  const named = platforms.flatMap(({ budgets }) => budgets).find(({ name }) => name === textIn(row, 'budget'));
  if (named !== undefined) return named.bound === 'at_most' ? 'at most' : 'at least';
  return textIn(row, 'unit') === 'MB/s' ? 'at least' : 'at most';
}

/** Of all budgets the one with the least to spare; and what each placement has to spare of the budget that sets them apart. */
function tightest(rows: readonly SheetRow[], facts: Facts): Sentence[] {
  const known = rows.filter((row) => numberIn(row, 'margin_share') !== null);
  if (known.length === 0) return [];
  const margin = (row: SheetRow) => numberIn(row, 'margin_share')!;
  const least = known.toSorted((a, b) => margin(a) - margin(b))[0]!;
  const sentences = [
    plain(
      `The tightest budget is ${textIn(least, 'budget')} in ${textIn(least, 'placement')}, ${measuredAgainst(least, facts)}: ${marginText(margin(least))}.`,
    ),
  ];
  const spreads = [...grouped(known, (row) => textIn(row, 'budget'))].map(([budget, own]) => {
    const margins = own.map(margin);
    return { budget, own, spread: Math.max(...margins) - Math.min(...margins) };
  });
  const widest = spreads.toSorted((a, b) => b.spread - a.spread)[0]!;
  if (widest.own.length > 1 && widest.spread > 0.01) {
    const each = widest.own.map(
      (row) => `${inUnit(numberIn(row, 'measured'), textIn(row, 'unit'))} in ${textIn(row, 'placement')}`,
    );
    const bound = `${boundOf(widest.own[0]!, facts)} ${inUnit(numberIn(widest.own[0]!, 'limit'), textIn(widest.own[0]!, 'unit'))}`;
    sentences.push(
      plain(`The placements differ most in ${widest.budget}: ${listed(each)}, where ${bound} is allowed.`),
    );
  }
  return sentences;
}

export const marginText = (share: number): string =>
  share >= 0 ? `${shareText(share)} of the limit to spare` : `${shareText(-share)} of the limit beyond it`;

/** What holds up the path that the first budget, or the longest tail, is about; and the busiest element. */
function bindingAnswer(facts: Facts): Sentence[] {
  const sentences = facts.looks.flatMap(({ name }) => {
    const worst = judgedPath(facts, name);
    return worst === null ? [] : waitSentence(facts, name, worst);
  });
  return [...sentences, ...busiest(facts)];
}

function judgedPath(facts: Facts, placement: string): string | null {
  const latency = pooledOf(facts, 'latency.csv').filter(
    (row) => textIn(row, 'placement') === placement && textIn(row, 'level') === 'burst',
  );
  const subjects = facts.platforms.flatMap(({ budgets }) => budgets.map(({ subject }) => subject));
  for (const subject of subjects) {
    const row = latency.find((one) => pathName(one) === subject || textIn(one, 'master') === subject);
    if (row !== undefined) return pathName(row);
  }
  const byTail = latency.toSorted((a, b) => (numberIn(b, 'p99_ns') ?? 0) - (numberIn(a, 'p99_ns') ?? 0));
  return byTail[0] === undefined ? null : pathName(byTail[0]);
}

function waitSentence(facts: Facts, placement: string, path: string): Sentence[] {
  const here = (row: SheetRow) => textIn(row, 'placement') === placement;
  const latency = pooledOf(facts, 'latency.csv').find(
    (row) => here(row) && pathName(row) === path && textIn(row, 'level') === 'burst',
  );
  const blame = pooledOf(facts, 'blame.csv').filter((row) => here(row) && textIn(row, 'victim') === path);
  const mean = latency === undefined ? null : numberIn(latency, 'mean_ns');
  const charge = (row: SheetRow) => numberIn(row, 'mean_ns_per_burst') ?? 0;
  const total = blame.reduce((sum, row) => sum + charge(row), 0);
  const first = blame.toSorted((a, b) => charge(b) - charge(a))[0];
  if (mean === null || mean === 0 || first === undefined || total === 0) return [];
  const whom =
    { '(itself)': 'behind itself', '(refresh)': 'for refresh' }[textIn(first, 'culprit')] ??
    `behind ${textIn(first, 'culprit')}`;
  return [
    plain(
      `In ${placement} a burst of ${path} takes ${nsText(mean)} on average and waits for ${shareText(total / mean)} of it, ` +
        `most of all ${whom} at ${textIn(first, 'element')} (${shareText(charge(first) / total)} of the waiting).`,
    ),
  ];
}

function busiest(facts: Facts): Sentence[] {
  const each = facts.looks.flatMap(({ name }) => {
    const rows = pooledOf(facts, 'resources.csv').filter(
      (row) => textIn(row, 'placement') === name && !textIn(row, 'element').includes(' / '),
    );
    const first = rows.toSorted((a, b) => (numberIn(b, 'utilisation') ?? 0) - (numberIn(a, 'utilisation') ?? 0))[0];
    const busy = first === undefined ? null : numberIn(first, 'utilisation');
    return busy === null ? [] : [{ name, element: textIn(first!, 'element'), busy: shareText(busy) }];
  });
  const parts = [...grouped(each, ({ element }) => element)].map(
    ([element, own]) => `${element}, ${listed(own.map(({ name, busy }) => `${busy} of the time in ${name}`))}`,
  );
  return parts.length === 0 ? [] : [plain(`The busiest element is ${parts.join('; ')}.`)];
}

/** What makes numbers mean less than they seem to. */
function alarms(facts: Facts): Sentence[] {
  const latency = pooledOf(facts, 'latency.csv').filter((row) => textIn(row, 'level') === 'burst');
  const bad = (text: string): Sentence => ({ text, tone: 'bad' });
  const states = ['overloaded', 'starved'].flatMap((state) => {
    const paths = latency.filter((row) => textIn(row, 'state') === state);
    return paths.length === 0
      ? []
      : [bad(`${state[0]!.toUpperCase()}${state.slice(1)}: ${listed(paths.map(inPlacement))}.`)];
  });
  const unfinished = latency.filter((row) => (numberIn(row, 'unfinished') ?? 0) > 0);
  const late =
    unfinished.length === 0
      ? []
      : [bad(`Some bursts had not come back at the end: ${listed(unfinished.map(inPlacement))}.`)];
  const stale = pooledOf(facts, 'cache.csv').filter((row) => (numberIn(row, 'stale_reads') ?? 0) > 0);
  const staleSaid = stale.map((row) =>
    bad(
      `${textIn(row, 'master')} met stale data in ${textIn(row, 'placement')}, ${counted(numberIn(row, 'stale_reads')!, 'access', 'accesses')} past ${textIn(row, 'cache')}.`,
    ),
  );
  return [...states, ...late, ...staleSaid];
}

const inPlacement = (row: SheetRow): string => `${pathName(row)} in ${textIn(row, 'placement')}`;

function crossingAnswer(facts: Facts): Sentence[] {
  return crossingsOf(facts).map(({ words }) => head(words));
}

/** Which assignment a search found best, and by what. */
function placeAnswer(facts: Facts): Sentence[] {
  const rows = pooledOf(facts, 'place.csv');
  const best = rows.find((row) => textIn(row, 'rank') === '1');
  if (best === undefined) {
    return rows.length === 0
      ? []
      : [{ text: 'No assignment that was tried may be taken: see what speaks against each.', tone: 'bad' }];
  }
  const { name, unit } = metricWords(textIn(best, 'goal'));
  const where = moversOf(best).map((mover) => `${mover} at ${textIn(best, ATTACH + mover)}`);
  return [head(`Best is ${listed(where)}: ${name} is ${inUnit(numberIn(best, 'value'), unit)}.`)];
}

/** What a search moved: it names columns after them. */
export const ATTACH = 'attach_';
export const moversOf = (row: SheetRow): string[] =>
  [...row.keys()].filter((column) => column.startsWith(ATTACH)).map((column) => column.slice(ATTACH.length));

function comparisonAnswer(facts: Facts): Sentence[] {
  const rows = pooledOf(facts, 'comparison.csv');
  if (rows.length === 0) return [];
  const [baseline, variant] = [textIn(rows[0]!, 'baseline'), textIn(rows[0]!, 'variant')];
  const of = (verdict: string) => rows.filter((row) => textIn(row, 'verdict') === verdict);
  const better = [
    [baseline, of('baseline_better')],
    [variant, of('variant_better')],
  ] as const;
  const open = rows.length - better[0][1].length - better[1][1].length;
  const parts = better.map(([name, own]) => `${name} is better in ${own.length}`);
  const sentences: Sentence[] = [
    head(
      `Of ${counted(rows.length, 'metric')} compared on the same draws, ${listed([...parts, `${open} show no difference or cannot be judged`])}; all of this together errs at most once in 20.`,
    ),
  ];
  for (const [name, own] of better) {
    const most = own.toSorted((a, b) => changeOf(b) - changeOf(a)).slice(0, 2);
    if (most.length > 0)
      sentences.push(
        plain(`${name} gains most in ${listed(most.map((row) => metricChange(row, name === baseline)))}.`),
      );
  }
  return sentences;
}

/** Size of a difference against the larger of the two values. */
const changeOf = (row: SheetRow): number =>
  Math.abs(numberIn(row, 'difference') ?? 0) /
  Math.max(Math.abs(numberIn(row, 'baseline_value') ?? 0), Math.abs(numberIn(row, 'variant_value') ?? 0), 1e-12);

function metricChange(row: SheetRow, baselineWins: boolean): string {
  const { name, unit } = metricWords(textIn(row, 'metric'));
  const [winner, loser] = baselineWins ? ['baseline_value', 'variant_value'] : ['variant_value', 'baseline_value'];
  return `${name} (${inUnit(numberIn(row, winner!), unit)} against ${inUnit(numberIn(row, loser!), unit)})`;
}
