import * as z from 'zod';
import { metricSchema } from './budget.js';
import { meta, yesNo } from './fields.js';

const ELEMENT = 'must be the name of a port, coherence unit or device';

const elements = z
  .array(z.string({ error: ELEMENT }), { error: 'must be a list of names' })
  .min(1, { error: 'must name an element' })
  .meta({
    ...meta(
      'Where every master of this group, or the master of this name, may attach.',
      'list of names of elements',
      '',
      '[coherent0, fabric0]',
    ),
  });

/** What `place` tries and by what it ranks; whether the names exist is checked later. */
export const placeSchema = z
  .strictObject({
    may_attach: z.record(z.string(), elements).meta({
      ...meta(
        'Who is moved, and where to.',
        'mapping by name of a group or master',
        '',
        '{sorter: [coherent0, fabric0]}',
      ),
    }),
    best: metricSchema.meta({
      ...meta(
        'By what assignments are ranked: less latency, less utilisation or more bandwidth is better.',
        'mapping, as a metric of compare',
        '',
        '{kind: latency, master: sorter, percentile: 99 %}',
      ),
    }),
    share: yesNo('May several groups or masters take the same element?').prefault('no'),
  })
  .transform((keys) => ({
    mayAttach: new Map(Object.entries(keys.may_attach)),
    best: keys.best,
    share: keys.share,
  }));
