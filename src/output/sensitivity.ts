/** What `sensitivity` says at the end: for each placement, which element the tightest budget hangs on. */
import type { BudgetRow, SensitivityRow } from '../measure/tables/rows.js';
import type { Sensitivity } from '../study/sensitivity.js';
import { inUnit, subjectOf } from './budgets.js';
import { CAUTION } from './caution.js';
import { percent, readableSpan } from './format.js';
import { items } from './items.js';
import { type Look, PLAIN } from './look.js';
import { wrap } from './wrap.js';

/** The whole text, ending with a newline. */
export function sensitivityText(study: Sensitivity, options: Look = PLAIN): string {
  const parts = [
    heading(study, options),
    ...study.budgets.map(({ placement, worst }) =>
      section(
        placement,
        worst,
        study.rows.filter((row) => row.placement === placement),
        options,
      ),
    ),
    ...(study.rows.length === 0 ? [] : [wrap(CONFIDENCE, options.width, '').join('\n')]),
    wrap(CAUTION, options.width, '').join('\n'),
  ];
  return `${parts.join('\n\n')}\n`;
}

const CONFIDENCE =
  'Each element by itself is made a tenth faster, on the same draws; all that is said here holds together with 95.0 % confidence.';

function heading({ scenario, seed, replications, windowPs, warmupPs }: Sensitivity, options: Look): string {
  const { paint, width } = options;
  const warmup = warmupPs === null ? 'warm-up not settled' : `warm-up ${readableSpan(warmupPs)}`;
  const run = `seed ${seed}, ${replications} replications of ${readableSpan(windowPs)} each, ${warmup}`;
  return [
    paint('heading', `${scenario}: what the tightest budget hangs on`),
    ...wrap(run, width, '').map((line) => paint('faint', line)),
  ].join('\n');
}

function section(placement: string, worst: BudgetRow | null, rows: readonly SensitivityRow[], look: Look): string {
  const { paint, width } = look;
  const title = paint('heading', `Placement ${placement}`);
  if (worst === null) {
    const text = 'no budget can be followed: it must be measured, and must allow some misses';
    return [title, ...wrap(text, width, '')].join('\n');
  }
  const bound = worst.spec.kind === 'bandwidth' ? 'at least' : 'at most';
  const text = `${worst.budget}, with a margin of ${percent(worst.marginShare!)}: ${subjectOf(worst)} ${inUnit(worst, worst.measured!)}, ${bound} ${inUnit(worst, worst.limit)}`;
  return [title, ...wrap(text, width, ''), ...items(rows.map(sentence), look)].join('\n');
}

/** `ddr, busy 21.7 %: 5,472.3 ns would be 5,101.0 ns, lower by 361.2 ns to 381.4 ns: better`. */
function sentence(row: SensitivityRow): string {
  const start = `${row.element}, busy ${percent(row.utilisation ?? 0)}`;
  switch (row.verdict) {
    case 'overloaded':
      return `${start}: the path is overloaded, so its latency means nothing`;
    case 'too_few_samples':
      return `${start}: too few samples in a replication; measure for longer`;
    case 'unfinished':
      return `${start}: some had not come back at the end; allow a longer drain`;
    case 'no_change_shown': {
      const most = Math.max(Math.abs(row.low!), Math.abs(row.high!));
      const same =
        most === 0 ? 'the same in every replication' : `a change of ${share(most, row.now!)} is not excluded`;
      return `${start}: no change shown; ${same}`;
    }
    default: {
      const ends = [Math.abs(row.low!), Math.abs(row.high!)].toSorted((a, b) => a - b);
      const side = row.change! < 0 ? 'lower' : 'higher';
      const change = `${inUnit(row, row.now!)} would be ${inUnit(row, row.faster!)}, ${side} by ${inUnit(row, ends[0]!)} to ${inUnit(row, ends[1]!)}`;
      return `${start}: ${change}: ${row.verdict}`;
    }
  }
}

/** Of a value; what would be printed as nothing is not. */
function share(part: number, whole: number): string {
  const size = Math.abs(part / whole);
  return size < 0.001 ? 'less than 0.1 %' : `up to ${percent(size)}`;
}
