import { posix } from 'node:path';
import { expect, test } from 'vitest';
import { sourceFiles } from './source-files.js';

/** Folders in the order of the data; values are imported from a folder itself and from those before it. */
const ORDER = ['engine', 'scenario', 'traffic', 'model', 'measure', 'study', 'output', 'report', 'cli'];

/** Each `import type` against the order, as `from → to`, with its reason. None is needed today. */
const TYPES_AGAINST_THE_ORDER = new Map<string, string>([]);

interface Import {
  readonly from: string;
  readonly to: string;
  readonly typeOnly: boolean;
}

// clauses of names, across lines; what is loaded for its effect alone; what is loaded when it is needed
const NAMED = /^(?:import|export)\s+(type\s+)?(?:[\w$*\s,]+|[\w$\s,]*\{[^}]*\}\s*)from\s+'(\.[^']+)'/gmu;
const OTHER = /(?:^import\s+|\bimport\(\s*)'(\.[^']+)'/gmu;

/** Every import and re-export of our own files. */
function importsOf(files: ReadonlyMap<string, string>): Import[] {
  return [...files].flatMap(([from, text]) => {
    const target = (name: string) => posix.join(posix.dirname(from), name).replace(/\.js$/u, '.ts');
    return [
      ...[...text.matchAll(NAMED)].map(([, type, name]) => ({ from, to: target(name!), typeOnly: type !== undefined })),
      ...[...text.matchAll(OTHER)].map(([, name]) => ({ from, to: target(name!), typeOnly: false })),
    ];
  });
}

/** Whether the order of the folders lets one file import values from another. */
function isAllowed({ from, to }: Import): boolean {
  if (to === 'errors.ts') return true;
  if (from === 'index.ts') return !to.startsWith('cli/');
  const [own, other] = [from, to].map((path) => ORDER.indexOf(path.split('/')[0]!));
  return own !== -1 && other !== -1 && other! <= own!;
}

const shown = ({ from, to }: Import): string => `${from} → ${to}`;

/** The first ring of value imports found, as the files along it; null where there is none. */
function ringOf(imports: readonly Import[]): string[] | null {
  const next = new Map<string, string[]>();
  for (const { from, to, typeOnly } of imports) {
    if (!typeOnly) next.set(from, [...(next.get(from) ?? []), to]);
  }
  const clear = new Set<string>();
  const visit = (file: string, way: readonly string[]): string[] | null => {
    const start = way.indexOf(file);
    if (start !== -1) return [...way.slice(start), file];
    if (clear.has(file)) return null;
    for (const to of next.get(file) ?? []) {
      const ring = visit(to, [...way, file]);
      if (ring !== null) return ring;
    }
    clear.add(file);
    return null;
  };
  for (const file of next.keys()) {
    const ring = visit(file, []);
    if (ring !== null) return ring;
  }
  return null;
}

const files = sourceFiles();
const imports = importsOf(files);

test('values are imported from folders before the own one only', () => {
  expect(imports.filter((one) => !one.typeOnly && !isAllowed(one)).map(shown)).toEqual([]);
});

test('types are imported against the order only where the table says why', () => {
  const against = imports.filter((one) => one.typeOnly && !isAllowed(one)).map(shown);
  expect(new Set(against)).toEqual(new Set(TYPES_AGAINST_THE_ORDER.keys()));
});

test('no ring of value imports', () => {
  expect(ringOf(imports)).toBeNull();
});

test('every import leads to a file that is there', () => {
  expect(imports.filter(({ to }) => !files.has(to)).map(shown)).toEqual([]);
});

test('the reader of imports misses none: each name of a module in the sources is one of them', () => {
  const named = [...files.values()].flatMap((text) => [...text.matchAll(/'\.{1,2}\/[^']*\.js'/gu)]).length;
  expect(imports.length).toBe(named);
  expect(named).toBeGreaterThan(300);
});

test('every folder under src has its place in the order', () => {
  const folders = [...files.keys()].filter((path) => path.includes('/')).map((path) => path.split('/')[0]!);
  expect([...new Set(folders)].toSorted()).toEqual(ORDER.toSorted());
});

test('the reader tells values from types, over several lines and when loaded late', () => {
  const text = [
    "import type { A } from './a.js';",
    "import {\n  b,\n  type B,\n} from '../model/b.js';",
    "export { c } from './c.js';",
    "export * from './d.js';",
    "import './e.js';",
    "const f = await import('../cli/f.js');",
    "import g, { type G } from './g.js';",
    "import * as h from './h.js';",
  ].join('\n');
  const found = importsOf(new Map([['engine/x.ts', text]])).map((one) => `${shown(one)}${one.typeOnly ? ' type' : ''}`);
  expect(found.toSorted()).toEqual([
    'engine/x.ts → cli/f.ts',
    'engine/x.ts → engine/a.ts type',
    'engine/x.ts → engine/c.ts',
    'engine/x.ts → engine/d.ts',
    'engine/x.ts → engine/e.ts',
    'engine/x.ts → engine/g.ts',
    'engine/x.ts → engine/h.ts',
    'engine/x.ts → model/b.ts',
  ]);
});

test('the rule forbids what it should', () => {
  const allowed = (from: string, to: string) => isAllowed({ from, to, typeOnly: false });
  expect(allowed('engine/a.ts', 'scenario/b.ts')).toBe(false);
  expect(allowed('measure/a.ts', 'study/b.ts')).toBe(false);
  expect(allowed('model/dram/a.ts', 'engine/b.ts')).toBe(true);
  expect(allowed('engine/a.ts', 'errors.ts')).toBe(true);
  expect(allowed('index.ts', 'output/a.ts')).toBe(true);
  expect(allowed('index.ts', 'cli/main.ts')).toBe(false);
  expect(allowed('errors.ts', 'engine/a.ts')).toBe(false);
  expect(allowed('cli/a.ts', 'index.ts')).toBe(false);
});

test('a ring is found through values and not through types', () => {
  const ring = (typeOnly: boolean) =>
    ringOf([
      { from: 'a', to: 'b', typeOnly: false },
      { from: 'b', to: 'c', typeOnly },
      { from: 'c', to: 'b', typeOnly: false },
    ]);
  expect(ring(false)).toEqual(['b', 'c', 'b']);
  expect(ring(true)).toBeNull();
});
