/** The known name that is closest to what was written, or undefined where none is close. */
export function nearest(written: string, known: Iterable<string>): string | undefined {
  let best: string | undefined;
  let bestDistance = Math.max(1, Math.floor(written.length / 3)) + 0.5;
  for (const name of known) {
    const distance = editDistance(written.toLowerCase(), name.toLowerCase());
    if (distance >= bestDistance) continue;
    best = name;
    bestDistance = distance;
  }
  return best;
}

/** Insertions, deletions, replacements and swaps of neighbours (restricted Damerau–Levenshtein). */
function editDistance(a: string, b: string): number {
  let before: number[] = [];
  let last = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) {
      const replace = last[j - 1]! + (a[i - 1] === b[j - 1] ? 0 : 1);
      row[j] = Math.min(replace, last[j]! + 1, row[j - 1]! + 1);
      const swapped = i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1];
      if (swapped) row[j] = Math.min(row[j]!, before[j - 2]! + 1);
    }
    before = last;
    last = row;
  }
  return last[b.length]!;
}
