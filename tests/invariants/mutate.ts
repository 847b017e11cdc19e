/**
 * Plants faults in a copy of the tree, one at a time, and reports which invariants find each:
 * `npm run faults -- [--platforms N] [--seed S] [--only TEXT]`. The table goes to standard output.
 */
import { spawnSync } from 'node:child_process';
import { cpSync, mkdtempSync, readFileSync, realpathSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { INVARIANTS } from './all.js';
import { type Mutant, MUTANTS } from './mutants.js';

const ROOT = fileURLToPath(new URL('../../', import.meta.url));
/** A fault that makes a run go on for ever counts as found by whoever waits for it. */
const LIMIT_MS = 180_000;

const { values } = parseArgs({
  options: {
    platforms: { type: 'string', default: '100' },
    seed: { type: 'string', default: '2027' },
    only: { type: 'string', default: '' },
  },
});

const copy = mkdtempSync(join(tmpdir(), 'mutants-'));
for (const part of ['src', 'tests', 'package.json', 'tsconfig.json'])
  cpSync(join(ROOT, part), join(copy, part), { recursive: true });
symlinkSync(realpathSync(join(ROOT, 'node_modules')), join(copy, 'node_modules'));
try {
  const healthy = killersOf();
  if (Object.keys(healthy).length > 0) throw new Error(`without a fault these fail: ${JSON.stringify(healthy)}`);
  const chosen = MUTANTS.filter(({ name, file }) => `${file} ${name}`.includes(values.only));
  let found = 0;
  for (const mutant of chosen) {
    const killed = withMutant(mutant, killersOf);
    if (Object.keys(killed).length > 0) found++;
    console.log(`${mutant.name} (${mutant.file}): ${shown(killed)}`);
  }
  console.log(
    `\n${found} of ${chosen.length} faults found on ${values.platforms} platforms from seed ${values.seed}, in kept/ and planted/`,
  );
} finally {
  rmSync(copy, { recursive: true });
}

/** What is found while a fault is in the copy. */
function withMutant<T>({ name, file, search, replace }: Mutant, look: () => T): T {
  const path = join(copy, 'src', file);
  const text = readFileSync(path, 'utf8');
  if (text.split(search).length !== 2) throw new Error(`${name}: “${search}” must stand once in ${file}`);
  writeFileSync(
    path,
    text.replace(search, () => replace),
  );
  try {
    return look();
  } finally {
    writeFileSync(path, text);
  }
}

/** Invariants that the copy breaks, each with the first platform or kept scenario that shows it. */
function killersOf(): Record<string, string> {
  const args = ['--import', 'tsx', join(copy, 'tests/invariants/killers.ts'), values.platforms, values.seed];
  const { stdout, stderr, status, signal } = spawnSync(process.execPath, args, {
    cwd: copy,
    encoding: 'utf8',
    timeout: LIMIT_MS,
    killSignal: 'SIGKILL',
    maxBuffer: 1e8,
  });
  const last = stdout.trimEnd().split('\n').at(-1)!;
  const killed = (last === '' ? {} : JSON.parse(last)) as Record<string, string>;
  if (signal !== null) return { ...killed, 'time limit': `${LIMIT_MS / 1000} s` };
  if (status !== 0) throw new Error(stderr);
  return killed;
}

function shown(killed: Record<string, string>): string {
  const names = [...INVARIANTS.map(({ name }) => name), 'time limit'].filter((name) => name in killed);
  if (names.length === 0) return 'NOT FOUND';
  return names.map((name) => `${name} (${killed[name]})`).join(', ');
}
