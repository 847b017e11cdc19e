import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { put, temporaryFolder, TINY } from './rig.js';

const SRC = new URL('../../src/', import.meta.url).href;
const BIN = fileURLToPath(`${SRC}cli/bin.ts`);
const TSX = import.meta.resolve('tsx');

// runs in the thread of the loader, which has its own standard error but the same descriptor
const TELLING = `
  import { writeSync } from 'node:fs';
  export function load(url, context, next) {
    writeSync(2, 'loads ' + url + '\\n');
    return next(url, context);
  }`;
const dataUrl = (code: string): string => `data:text/javascript,${encodeURIComponent(code)}`;
const REGISTERING = dataUrl(`import { register } from 'node:module'; register(${JSON.stringify(dataUrl(TELLING))});`);

interface Loaded {
  /** Files under src, such as `cli/main.ts`. */
  readonly own: readonly string[];
  /** Names of packages. */
  readonly packages: ReadonlySet<string>;
}

/** The modules that a command loads. */
function loadedBy(...argv: string[]): Loaded {
  const { stderr, status } = spawnSync(process.execPath, ['--import', TSX, '--import', REGISTERING, BIN, ...argv], {
    encoding: 'utf8',
  });
  expect(status).toBe(0);
  const urls = [...stderr.matchAll(/^loads ([^?\n]*)/gmu)].map(([, url]) => url!);
  return {
    own: urls.filter((url) => url.startsWith(SRC)).map((url) => url.slice(SRC.length)),
    packages: new Set(urls.flatMap((url) => /\/node_modules\/((?:@[^/]+\/)?[^/]+)/u.exec(url)?.[1] ?? [])),
  };
}

test('--help loads the command line and nothing of what the commands do', () => {
  const { own, packages } = loadedBy('--help');
  expect(own).toContain('cli/main.ts');
  expect(own.filter((path) => !path.startsWith('cli/') && path !== 'errors.ts')).toEqual([]);
  expect(packages).toEqual(new Set(['commander']));
}, 30_000);

test('check loads the language and the closed forms, and nothing that simulates', () => {
  const path = put(temporaryFolder(), 'tiny.yaml', TINY);
  const { own, packages } = loadedBy('check', path);
  expect(own).toContain('study/idle-path.ts');
  const simulating = ['engine/calendar.ts', 'engine/random.ts', 'model/build.ts', 'model/element.ts', 'study/crew.ts'];
  expect(own.filter((file) => simulating.includes(file))).toEqual([]);
  expect(own.filter((file) => /^(?:measure|report)\//u.test(file))).toEqual([
    'measure/path-facts.ts',
    'measure/clock-of.ts',
  ]);
  expect(packages).toEqual(new Set(['commander', 'zod', 'yaml', 'cli-table3']));
}, 30_000);
