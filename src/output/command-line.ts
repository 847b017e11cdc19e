/** Words that a shell takes as they are. */
const PLAIN_WORD = /^[\w./:=@%+-]+$/u;

/** A command as one would type it: words that a shell would take apart stand in quotes. */
export function commandLine(words: readonly string[]): string {
  return words.map((word) => (PLAIN_WORD.test(word) ? word : `'${word.replaceAll("'", `'\\''`)}'`)).join(' ');
}
