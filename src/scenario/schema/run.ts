import * as z from 'zod';
import { choice, count, meta, someTime, someTimeOr, time, yesNo } from './fields.js';

const seed = z
  .union([z.string().min(1), z.number()], { error: 'must be text or a number' })
  .transform(String)
  .meta({ ...meta('Start of every random stream: the same seed gives the same tables.', 'text or number', '', '2024') })
  .prefault('1');

/** How the simulation runs and what of it is measured. */
export const runSchema = z
  .strictObject({
    seed,
    replications: count('Independent repetitions, each with its own draws.', { example: '10' }).prefault(10),
    duration: someTime('Measuring window of each replication.', { example: '2 ms' }).prefault('1 ms'),
    warmup: time('Time before the window, not measured.', {
      example: '200 us',
      otherwise: 'found from a pilot replication',
    }).optional(),
    drain: time('Longest wait, after the window, for what was wanted inside it.', { example: '1 ms' }).prefault('1 ms'),
    journeys: choice(
      ['blame', 'stages', 'off'],
      'What is kept of where the time of each burst goes: its stages and whom it waited for, its stages, or nothing.',
    ).prefault('blame'),
    timeline: someTimeOr('off', 'Windows of timeline.csv and queues.csv, or none of these tables.', {
      example: '10 us',
      otherwise: '1 us, doubled until at most 1,024 windows fill the duration',
    }).optional(),
    exact: yesNo('Keep every latency instead of bins? Memory then grows with the run.').prefault('no'),
  })
  .transform((keys) => ({
    seed: keys.seed,
    replications: keys.replications,
    /** Measuring window. */
    durationPs: keys.duration,
    /** null: found from a pilot replication. */
    warmupPs: keys.warmup ?? null,
    /** Longest wait, after the window, for what was wanted inside it. */
    drainPs: keys.drain,
    /** Keep every latency instead of bins. */
    exact: keys.exact,
    /** Account for where the time of each burst goes: by stage, and of whom it waited for. */
    journeys: keys.journeys,
    /** Width of the windows of the timeline in ps, or none. */
    timeline: keys.timeline ?? ('automatic' as const),
  }));
