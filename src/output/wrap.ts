/** Characters of a text, counted by code point. */
export function visibleLength(text: string): number {
  return Array.from(text).length;
}

/**
 * Breaks a text at spaces into lines of at most `width` characters; a longer word stands alone. Lines after the first
 * begin with `indent`.
 */
export function wrap(text: string, width: number, indent: string): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(/\s+/)) {
    if (word === '') continue;
    const joined = line === '' ? word : line === indent ? indent + word : `${line} ${word}`;
    if (line !== '' && line !== indent && visibleLength(joined) > width) {
      lines.push(line);
      line = indent + word;
    } else {
      line = joined;
    }
  }
  return line === '' ? lines : [...lines, line];
}
