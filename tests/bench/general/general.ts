/**
 * The same M/M/1 here and on a general-purpose simulation library in Python (SimPy): `npm run bench:general`. Prints customers
 * per second of both and their ratio; says so where the library is not installed (Debian: python3-simpy).
 */
import { execFileSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { INLINE_MORE } from '../../../src/cli/compiler.js';
import type { Measured } from '../figures.js';

const CUSTOMERS = 100_000;
/** Mean time in system, in ns: 1 / (1/100 − 1/110). */
const MEAN_NS = 1100;
/** Interpreters that may have the library. */
const PYTHONS = ['python3', '/usr/bin/python3'];

interface Theirs {
  readonly version: string;
  readonly seconds: number;
  readonly mean: number;
}

const pathOf = (name: string): string => fileURLToPath(new URL(name, import.meta.url));
const run = (program: string, args: readonly string[]): string =>
  execFileSync(program, args, { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] });

const theirs = PYTHONS.map(theirsOn).find((found) => found !== null);
if (theirs === undefined) {
  console.log('skipped: neither SimPy 3 nor SimPy 2 is installed; on Debian: apt-get install python3-simpy');
} else {
  const args = [...INLINE_MORE, '--expose-gc', pathOf('../measure.mjs'), pathOf('../loads/device.yaml'), '3', 'off'];
  const { seconds, bursts } = JSON.parse(run(process.execPath, args)) as Measured;
  const ours = bursts / Math.min(...seconds);
  const other = CUSTOMERS / theirs.seconds;
  console.log(`here: ${Math.round(ours)} customers/s, the latency of each and the queue recorded`);
  console.log(`SimPy ${theirs.version}: ${Math.round(other)} customers/s, mean ${Math.round(theirs.mean)} ns`);
  console.log(`theory: mean ${MEAN_NS} ns; ratio ${(ours / other).toFixed(1)}`);
}

function theirsOn(python: string): Theirs | null {
  try {
    return JSON.parse(run(python, [pathOf('mm1.py'), String(CUSTOMERS)])) as Theirs;
  } catch {
    return null;
  }
}
