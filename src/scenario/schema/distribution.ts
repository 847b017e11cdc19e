import * as z from 'zod';
import { DIMENSIONS, type Dimension } from '../quantity.js';
import { count, meta, plainNumber, quantity, report, time, type QuantityOptions } from './fields.js';

/** What a distribution is of: a dimension, or a bare number of things. */
type Of = Extract<Dimension, 'time' | 'size'> | 'count';

function valueOf(of: Of, about: string, options: QuantityOptions) {
  if (of === 'count') return count(about, { example: '4' });
  return of === 'time' ? time(about, options) : quantity(of, about, options);
}

/** A distribution with its parameters in the canonical unit. */
export type Distribution =
  | { kind: 'fixed'; value: number }
  | { kind: 'uniform'; low: number; high: number }
  | { kind: 'exponential'; mean: number }
  | { kind: 'geometric'; mean: number; unit: number }
  | { kind: 'lognormal'; mean: number; spread: number }
  | { kind: 'table'; values: number[]; weights: number[] };

const KINDS = ['uniform', 'exponential', 'geometric', 'lognormal', 'table'] as const;

/**
 * A distribution: a bare quantity is fixed; else a mapping with one of the kinds. `spread` of a lognormal is its
 * coefficient of variation (standard deviation over mean). A geometric takes the values unit, 2 unit, 3 unit …
 */
export function distribution(of: Of, description: string, options: QuantityOptions = {}) {
  const example = options.example ?? (of === 'count' ? '4' : DIMENSIONS[of].example);
  const { otherwise, ...limits } = options;
  const value = (about: string) => valueOf(of, about, { ...limits, example });
  const forms = z
    .strictObject({
      uniform: z
        .tuple([value('Least.'), value('Most.')], { error: `must be a pair [least, most]` })
        .meta({
          ...meta('Every value between two is equally likely.', 'pair [least, most]', '', `[${example}, ${example}]`),
        })
        .optional(),
      exponential: z
        .strictObject({ mean: value('Mean.') })
        .meta({ ...meta('Without memory.', 'mapping', '', `{mean: ${example}}`) })
        .optional(),
      geometric: z
        .strictObject({
          mean: value('Mean; at least the unit.'),
          unit: value('The values are its multiples, from one on.'),
        })
        .meta({
          ...meta('Whole multiples of a unit, without memory.', 'mapping', '', `{mean: ${example}, unit: ${example}}`),
        })
        .optional(),
      lognormal: z
        .strictObject({
          mean: value('Mean.'),
          spread: plainNumber('Coefficient of variation: standard deviation over mean.', '0.5'),
        })
        .meta({ ...meta('Skewed, with a long tail.', 'mapping', '', `{mean: ${example}, spread: 0.5}`) })
        .optional(),
      table: z
        .array(
          z.tuple([value('A value.'), plainNumber('Its weight.', '3')], { error: 'must be a pair [value, weight]' }),
        )
        .meta({ ...meta('Values with their weights.', 'list of [value, weight]', '', `[[${example}, 3]]`) })
        .optional(),
    })
    .transform((keys, ctx): Distribution => {
      const given = KINDS.filter((kind) => keys[kind] !== undefined);
      const fault = formFault(given, keys);
      if (fault !== null) report(ctx, { code: 'conflict', ...fault }, keys);
      return distributionOf(keys);
    });
  const fixed = value('Always the same.').transform((fixedValue): Distribution => ({
    kind: 'fixed',
    value: fixedValue,
  }));
  const kind = `distribution of ${of === 'count' ? 'whole numbers' : `${of}s`}`;
  const unit = of === 'count' ? '' : [...DIMENSIONS[of].units.keys()].filter((name) => !/^[µμ]/.test(name)).join(', ');
  return z.union([fixed, forms]).meta({ ...meta(description, kind, unit, example, otherwise) });
}

interface Forms {
  uniform?: [number, number] | undefined;
  exponential?: { mean: number } | undefined;
  geometric?: { mean: number; unit: number } | undefined;
  lognormal?: { mean: number; spread: number } | undefined;
  table?: [number, number][] | undefined;
}

function formFault(
  given: string[],
  { uniform, geometric, exponential, lognormal, table }: Forms,
): { message: string; hint: string } | null {
  if (given.length !== 1) {
    return { message: 'must be one kind of distribution', hint: `write one of ${KINDS.join(', ')}, or a fixed value` };
  }
  if (uniform !== undefined && uniform[0] > uniform[1]) {
    return { message: 'uniform must have the least value first', hint: 'swap the two' };
  }
  if (geometric !== undefined && !(geometric.unit > 0 && geometric.mean >= geometric.unit)) {
    return { message: 'geometric must have a mean of at least its unit, both above zero', hint: 'raise the mean' };
  }
  if (exponential?.mean === 0 || lognormal?.mean === 0) {
    return { message: 'the mean must be above zero', hint: 'write a fixed value for zero' };
  }
  return table?.length === 0 ? { message: 'the table must not be empty', hint: 'write [[value, weight], …]' } : null;
}

function distributionOf({ uniform, exponential, geometric, lognormal, table }: Forms): Distribution {
  if (uniform !== undefined) return { kind: 'uniform', low: uniform[0], high: uniform[1] };
  if (exponential !== undefined) return { kind: 'exponential', ...exponential };
  // kept as a number of units, which is what the draw counts
  if (geometric !== undefined)
    return { kind: 'geometric', mean: geometric.mean / geometric.unit, unit: geometric.unit };
  if (lognormal !== undefined) return { kind: 'lognormal', ...lognormal };
  const rows = table ?? [];
  return { kind: 'table', values: rows.map(([value]) => value), weights: rows.map(([, weight]) => weight) };
}
