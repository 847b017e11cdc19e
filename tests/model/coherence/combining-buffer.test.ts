import { expect, test } from 'vitest';
import { CombiningBuffer } from '../../../src/model/coherence/combining-buffer.js';

type Range = readonly [offset: number, bytes: number];

/** Is a store taken by a buffer of lines of 64 bytes from `base` on that holds another? */
function takes(base: number, held: Range | null, [offset, bytes]: Range): boolean {
  const buffer = new CombiningBuffer(64, base);
  const fields = { wantedPs: 0, thinkPs: 0, serviceDraw: 0, ask: -1 };
  if (held !== null) buffer.add({ ...fields, offset: held[0], bytes: held[1] });
  return buffer.takes(offset, bytes);
}

test.each<[string, base: number, held: Range | null, store: Range, taken: boolean]>([
  ['anything while it is empty', 0, null, [500, 8], true],
  ['anything, also over the end of a line', 0, null, [60, 8], true],
  ['what ends with its line', 0, [48, 8], [56, 8], true],
  ['nothing that ends in the next line', 32, [24, 8], [28, 8], false],
  ['nothing that begins in the line before', 0, [64, 8], [60, 8], false],
  ['nothing that touches it from another line of the memory', 32, [32, 8], [24, 8], false],
  ['nothing below that leaves a gap', 0, [40, 8], [8, 8], false],
  ['nothing above that leaves a gap', 0, [8, 8], [17, 8], false],
  ['what touches it from below', 0, [40, 8], [32, 8], true],
  ['what touches it from above', 0, [8, 8], [16, 8], true],
])('takes %s', (_, base, held, store, taken) => {
  expect(takes(base, held, store)).toBe(taken);
});
