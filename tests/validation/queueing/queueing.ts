import type { Area, Depth, OutsideCheck } from '../outside-check.js';
import { type Case, readCases } from './case-file.js';
import { AREA, checksOf } from './checks.js';
import type { Experiment } from './experiment.js';
import { experimentsOf } from './experiments.js';

/** One case of each family that takes little time: what the tests run. */
const QUICK: ReadonlySet<string> = new Set([
  'mm1_r0.5',
  'md1_r0.5',
  'mek1_k4_r0.5',
  'dm1_r0.5',
  'mdc_c2_r0.5',
  'mm1k_r0.9_K4',
  'md1k_r0.9_K4',
  'erlangb_a3_c4',
  'cons_sym4',
  'mr_N08',
  'dloop_N07',
  'dloop_N08',
  'pausing_r0.9_N4',
  'cq2_N04',
  'geod1_r0.5',
  'hol_2x2',
  'sat_7_wrr',
  'sat_7_fp',
]);

/** The cases of a depth that the model can express. */
export function casesFor(depth: Depth): Case[] {
  const cases = readCases().filter((one) => experimentsOf(one).length > 0);
  return depth === 'full' ? cases : cases.filter(({ id }) => QUICK.has(id));
}

/** Runs a case in all ways there are, and judges it. */
export function checkCase(one: Case): OutsideCheck[] {
  return experimentsOf(one).flatMap((experiment) => checksOf(one, experiment, runsOf(experiment)));
}

function runsOf({ replications, run }: Experiment) {
  return Array.from({ length: replications }, (_, n) => run(n + 1));
}

export const queueing: Area = {
  name: AREA,
  title: 'queues, arbiters and crossbars against the formulas of queueing theory',
  run(depth, progress) {
    const cases = casesFor(depth);
    return cases.flatMap((one, n) => {
      const checks = checkCase(one);
      progress((n + 1) / cases.length);
      return checks;
    });
  },
};
