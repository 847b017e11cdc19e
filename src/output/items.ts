import type { Look } from './look.js';
import { wrap } from './wrap.js';

/** Sentences as the lines of a list, each with a dash in front. */
export function items(sentences: readonly string[], { width }: Pick<Look, 'width'>): string[] {
  return sentences.flatMap((sentence) =>
    wrap(sentence, width - 2, '  ').map((line, i) => (i === 0 ? `- ${line}` : line)),
  );
}

/** A list under its title; empty where there is nothing to list. */
export function list(title: string, sentences: readonly string[], look: Look): string {
  return sentences.length === 0 ? '' : [look.paint('heading', title), ...items(sentences, look)].join('\n');
}
