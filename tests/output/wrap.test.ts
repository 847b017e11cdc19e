import fc from 'fast-check';
import { expect, it } from 'vitest';
import { wrap } from '../../src/output/wrap.js';

it('lines are as full as they can be', () => {
  expect(wrap('aa bb cc dd', 5, '')).toEqual(['aa bb', 'cc dd']);
  expect(wrap('aa bb cc dd', 5, '  ')).toEqual(['aa bb', '  cc', '  dd']);
  expect(wrap('  ', 5, '')).toEqual([]);
});

it('no line passes the width unless one word does, and no word is lost', () => {
  fc.assert(
    fc.property(fc.array(fc.stringMatching(/^[a-z]{1,12}$/)), fc.integer({ min: 4, max: 20 }), (words, width) => {
      const lines = wrap(words.join(' '), width, ' ');
      expect(lines.flatMap((line) => line.trim().split(' ')).filter((word) => word !== '')).toEqual(words);
      for (const line of lines) expect(line.length <= width || !line.trim().includes(' ')).toBe(true);
    }),
    { seed: 51 },
  );
});
