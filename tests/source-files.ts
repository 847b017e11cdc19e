import { readdirSync, readFileSync } from 'node:fs';

const SRC = new URL('../src/', import.meta.url);

/** The TypeScript files under src: text by path from there, such as `engine/clock.ts`. */
export function sourceFiles(): Map<string, string> {
  const paths = readdirSync(SRC, { recursive: true, encoding: 'utf8' })
    .map((path) => path.replaceAll('\\', '/'))
    .filter((path) => path.endsWith('.ts'))
    .toSorted();
  return new Map(paths.map((path) => [path, readFileSync(new URL(path, SRC), 'utf8')]));
}
