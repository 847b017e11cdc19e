import * as z from 'zod';
import { choice, meta, nameOf, rate, report, share, someTime } from './fields.js';

const kind = <const Name extends string>(name: Name, about: string) =>
  z.literal(name).meta({ ...meta(about, name, '', name) });

// one text for each key, whatever the kind: the reference has one line for it
const master = () => nameOf('a master', 'Whose; of a bandwidth, it or an element must be named.', 'camera');
const element = () => nameOf('an element', 'Which; of a bandwidth, a DRAM memory: what its data buses carry.', 'ddr');
const limitMeta = () => ({
  ...meta('The limit: a time; of a utilisation a share.', 'time or share', 'ps, ns, us, ms, s; %', '2 us'),
});
const operation = choice(['read', 'write'], 'Which of its paths.', 'both together').optional();
const level = choice(
  ['burst', 'port', 'transfer'],
  'From when to when: burst, wanted to done; port, first offered at the port to done; transfer, request wanted to its last burst done.',
).prefault('burst');

/** Keys of what is looked at, in the form in which it is looked up. */
const ofMaster = (keys: { master: string; operation?: 'read' | 'write' | undefined }) => ({
  master: keys.master,
  /** null: both. */
  operation: keys.operation ?? null,
});

/** Bandwidth is that of a master, or what a DRAM moves on its data buses: one of the two must be named. */
const someBytes = {
  master: master().optional(),
  operation,
  element: element().optional(),
};

type SomeBytes = z.output<z.ZodObject<typeof someBytes>>;

const oneOfBoth = (keys: SomeBytes, ctx: z.core.$RefinementCtx) => {
  if ((keys.master === undefined) === (keys.element === undefined)) {
    const fault = { code: 'conflict' as const, message: `must name one of 'master' and 'element'`, hint: 'name one' };
    report(ctx, fault, keys);
  }
  return {
    /** null: that of `element`. */
    master: keys.master ?? null,
    operation: keys.operation ?? null,
    /** null: that of `master`. */
    element: keys.element ?? null,
  };
};

const kept = () =>
  share('Share of the samples that must keep the limit; of 100 %, only a miss can be shown.', {
    min: 0.5,
    example: '99 %',
  });

const latencyBudget = z
  .strictObject({
    kind: kind('latency', 'A percentile of latency must not pass a limit.'),
    master: master(),
    operation,
    level,
    percentile: kept(),
    at_most: someTime('').meta(limitMeta()),
  })
  .transform((keys) => ({
    kind: 'latency' as const,
    ...ofMaster(keys),
    level: keys.level,
    /** 0.5 to 1. */
    percentile: keys.percentile,
    limitPs: keys.at_most,
  }));

const bandwidthBudget = z
  .strictObject({
    kind: kind('bandwidth', 'Bytes that move per second must reach a limit.'),
    ...someBytes,
    at_least: rate('The limit.'),
  })
  .transform((keys, ctx) => ({
    kind: 'bandwidth' as const,
    ...oneOfBoth(keys, ctx),
    limitBytesPerS: keys.at_least,
  }));

const utilisationBudget = z
  .strictObject({
    kind: kind('utilisation', 'The share of time in which an element is busy must not pass a limit.'),
    element: element(),
    at_most: share('').meta(limitMeta()),
  })
  .transform((keys) => ({ kind: 'utilisation' as const, element: keys.element, limitShare: keys.at_most }));

const task = () => nameOf('a task', 'Which task.', 'sort');

const taskBudget = z
  .strictObject({
    kind: kind('task', 'A share of the instances of a task must end within a limit; what is dropped does not.'),
    task: task(),
    percentile: kept(),
    at_most: someTime('')
      .meta({ ...limitMeta(), otherwise: 'of a task its deadline' })
      .optional(),
  })
  .transform((keys) => ({
    kind: 'task' as const,
    task: keys.task,
    percentile: keys.percentile,
    level: 'task' as const,
    /** Once the deadline is known: that where nothing is written. */
    limitPs: keys.at_most ?? 0,
  }));

/** What a system must keep to. */
export const budgetSchema = z.discriminatedUnion('kind', [
  latencyBudget,
  bandwidthBudget,
  utilisationBudget,
  taskBudget,
]);

const percentile = () =>
  share('Which percentile.', { min: 0.5, max: 0.9999, example: '99 %', otherwise: 'none: the mean' });

const latencyMetric = z
  .strictObject({
    kind: kind('latency', 'The mean of the latency, or a percentile of it.'),
    master: master(),
    operation,
    level,
    percentile: percentile().optional(),
  })
  .transform((keys) => ({
    kind: 'latency' as const,
    ...ofMaster(keys),
    level: keys.level,
    /** null: the mean. */
    percentile: keys.percentile ?? null,
  }));

const bandwidthMetric = z
  .strictObject({ kind: kind('bandwidth', 'Bytes that move per second.'), ...someBytes })
  .transform((keys, ctx) => ({ kind: 'bandwidth' as const, ...oneOfBoth(keys, ctx) }));

const utilisationMetric = z
  .strictObject({
    kind: kind('utilisation', 'The share of time in which an element is busy.'),
    element: element(),
  })
  .transform((keys) => ({ kind: 'utilisation' as const, element: keys.element }));

const taskMetric = z
  .strictObject({
    kind: kind('task', 'The mean time of a task from its trigger to its end, or a percentile of it.'),
    task: task(),
    percentile: percentile().optional(),
  })
  .transform((keys) => ({
    kind: 'task' as const,
    task: keys.task,
    level: 'task' as const,
    percentile: keys.percentile ?? null,
  }));

/** What two systems are compared by. */
export const metricSchema = z.discriminatedUnion('kind', [
  latencyMetric,
  bandwidthMetric,
  utilisationMetric,
  taskMetric,
]);
