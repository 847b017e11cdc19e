import * as z from 'zod';
import { choice, count, cycles, meta, nameOf, report, someTime } from './fields.js';

const POLICIES = ['round_robin', 'fixed_priority', 'weighted', 'oldest', 'qos', 'time_slots'] as const;

const policy = choice(POLICIES, 'Who is next when several ask for one output.');

const slot = z
  .strictObject({
    input: z
      .string()
      .meta({
        ...meta('Who owns the slot; none for a slot that nobody owns.', `name of an input or 'none'`, '', 'fabric0'),
      })
      .transform((name) => (name === 'none' ? null : name)),
    cycles: cycles('Length of the slot.', { min: 1, example: '16 cycles' }),
  })
  .meta({ ...meta('A slot of the frame.', 'mapping', '', '{input: fabric0, cycles: 16 cycles}') });

const settings = z
  .strictObject({
    policy,
    grain: count('Bursts in a row that one turn gives to the same input.', { example: '1' }).prefault(1),
    priority: z
      .array(nameOf('an input', 'An input.', 'fabric0'))
      .meta({
        ...meta(
          'fixed_priority: inputs (names of elements or masters that lead here), most urgent first; others follow in order.',
          'list of names',
          '',
          '[fabric0, fabric1]',
        ),
      })
      .optional(),
    weights: z
      .record(z.string(), count('Grants in a row.', { example: '3' }))
      .meta({
        ...meta(
          'weighted: grants in a row for each input; inputs not named have 1.',
          'mapping of names to whole numbers',
          '',
          '{fabric0: 3}',
        ),
      })
      .optional(),
    ageing: someTime('qos: a request rises by one each time it has waited this long; never without it.', {
      example: '200 ns',
      otherwise: 'never',
    }).optional(),
    slots: z
      .array(slot)
      .meta({
        ...meta(
          'time_slots: the frame, slot by slot, in cycles of the element.',
          'list',
          '',
          '[{input: fabric0, cycles: 16 cycles}]',
        ),
      })
      .optional(),
  })
  .transform((keys, ctx) => {
    for (const [key, owner] of OWNERS) {
      if (keys[key] === undefined || keys.policy === owner) continue;
      report(
        ctx,
        { code: 'conflict', message: `needs 'policy: ${owner}'`, hint: 'delete it or change the policy' },
        keys,
        [key],
      );
    }
    if (keys.policy === 'time_slots' && (keys.slots ?? []).length === 0) {
      report(
        ctx,
        { code: 'missing_key', message: 'time_slots needs slots', hint: `write 'slots: [{input: …, cycles: …}]'` },
        keys,
      );
    }
    return {
      policy: keys.policy,
      grain: keys.grain,
      priority: keys.priority ?? [],
      weights: new Map(Object.entries(keys.weights ?? {})),
      ageingPs: keys.ageing ?? 0,
      slots: keys.slots ?? [],
    };
  });

const OWNERS = [
  ['priority', 'fixed_priority'],
  ['weights', 'weighted'],
  ['ageing', 'qos'],
  ['slots', 'time_slots'],
] as const;

/** Arbitration at the outputs of an element: a policy, or a policy with its settings. */
export function arbitration(usual: (typeof POLICIES)[number] = 'round_robin') {
  const short = policy.transform((name) => ({
    policy: name,
    grain: 1,
    priority: [] as string[],
    weights: new Map<string, number>(),
    ageingPs: 0,
    slots: [] as { input: string | null; cycles: number }[],
  }));
  return z
    .union([short, settings])
    .meta({ ...meta('Arbitration at each output and direction.', 'policy, or mapping', '', 'oldest') })
    .prefault(usual);
}
