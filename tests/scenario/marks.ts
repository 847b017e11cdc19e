import type { Problem } from '../../src/errors.js';
import { problemsOf } from './reading.js';

/** Takes the marks `¦` out of a text; each stands before the character that a problem must point at. */
export function marked(text: string): { text: string; places: { line: number; column: number }[] } {
  const places: { line: number; column: number }[] = [];
  const lines = text.split('\n').map((line, row) => {
    const [first, ...others] = line.split('¦');
    let before = first!;
    for (const part of others) {
      places.push({ line: row + 1, column: before.length + 1 });
      before += part;
    }
    return before;
  });
  return { text: lines.join('\n'), places };
}

/** The problems of a text with its marks taken out. */
export function problemsMarked(text: string): readonly Problem[] {
  return problemsOf(marked(text).text);
}
