import { describe, expect, it } from 'vitest';
import { at, placesOf, read, sentencesOf, SMALL } from './reading.js';

const timed = (run: string): string => `${SMALL}run: { ${run} }\n`;

describe('the windows of the timeline', () => {
  it('have a width, none, or one that is worked out', () => {
    const of = (text: string) => read(text).systems[0]!.run.timeline;
    expect(of(timed('timeline: 10 us'))).toBe(10_000_000);
    expect(of(timed('timeline: off'))).toBe('off');
    expect(of(SMALL)).toBe('automatic');
  });

  it('are refused where their tables would have more than 100,000 rows', () => {
    // four elements and one master: 25,000 windows of 40 ns fill 1 ms, and one more does not
    expect(read(timed('duration: 1 ms, timeline: 40 ns')).systems).toHaveLength(1);
    const text = timed('duration: 1000001 ns, timeline: 40 ns');
    expect(placesOf(text)).toEqual([`${at(text, '40 ns')} out_of_range run.timeline`]);
    expect(sentencesOf(text)).toContain(
      `must give at most 100000 rows over the duration, gives 100004, got 40 ns; write '41 ns' or more, or 'off'`,
    );
  });

  it('must be a time that is not zero', () => {
    for (const wrong of ['0 ns', '-1 us', '10', 'never']) {
      expect(placesOf(timed(`timeline: ${wrong}`)).map((place) => place.split(' ').at(-1))).toEqual(['run.timeline']);
    }
  });
});
