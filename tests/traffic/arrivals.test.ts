import { describe, expect, it } from 'vitest';
import {
  BatchArrivals,
  BlockArrivals,
  OnOffArrivals,
  SteadyArrivals,
  type Arrivals,
} from '../../src/traffic/arrivals.js';
import { ExactTime } from '../../src/traffic/exact-time.js';

const cycle = (...values: number[]): (() => number) => {
  let next = 0;
  return () => values[next++ % values.length]!;
};

const none = (): number => 0;

const every300 = (): Arrivals => new SteadyArrivals(0, new ExactTime(300, 1), false, none);

/** [time, bytes] of each request for which the given size is drawn. */
const trace = (arrivals: Arrivals, sizes: number[]): [number, number][] =>
  sizes.map((bytes) => {
    arrivals.next(bytes);
    return [arrivals.atPs, arrivals.bytes];
  });

const times = (arrivals: Arrivals, count: number): number[] =>
  trace(
    arrivals,
    Array.from({ length: count }, () => 64),
  ).map(([at]) => at);

describe('SteadyArrivals', () => {
  it('by bytes, wants a request when those before it have passed at the rate', () => {
    // 4 bytes a nanosecond
    const arrivals = new SteadyArrivals(100, ExactTime.perByte(4e9), true, none);
    expect(trace(arrivals, [64, 8, 128, 4])).toEqual([
      [100, 64],
      [100 + 16_000, 8],
      [100 + 18_000, 128],
      [100 + 50_000, 4],
    ]);
  });

  it('by count, wants one every so often whatever the sizes', () => {
    const arrivals = new SteadyArrivals(7, new ExactTime(1000, 1), false, none);
    expect(trace(arrivals, [64, 8, 1]).map(([at]) => at)).toEqual([7, 1007, 2007]);
  });

  it('rounds each time for itself: three bytes at 3 bytes a second take a second', () => {
    const arrivals = new SteadyArrivals(0, ExactTime.perByte(3), true, none);
    expect(trace(arrivals, [1, 1, 1, 1]).map(([at]) => at)).toEqual([0, 333333333333, 666666666667, 1000000000000]);
  });

  it('delays by the jitter without passing it on, and never wants a request before the one ahead', () => {
    const arrivals = new SteadyArrivals(0, new ExactTime(1000, 1), false, cycle(0, 500, 2500, 100));
    // 0, 1500, 4500, then 3100 would be before 4500; 4000 too; 5500 is not
    expect(times(arrivals, 6)).toEqual([0, 1500, 4500, 4500, 4500, 5500]);
  });
});

describe('BatchArrivals', () => {
  it('wants all requests of a batch at its instant, one gap after the batch before', () => {
    const arrivals = new BatchArrivals(50, cycle(10, 30), cycle(2, 1, 3));
    expect(times(arrivals, 7)).toEqual([60, 60, 90, 100, 100, 100, 130]);
  });
});

describe('BlockArrivals', () => {
  it('cuts each block into the drawn sizes, all wanted at its instant, the last taking what is left', () => {
    const arrivals = new BlockArrivals(200, new ExactTime(10_000, 1), 100, cycle(0, 40));
    expect(trace(arrivals, [64, 64, 30, 60, 50, 100])).toEqual([
      [200, 64],
      [200, 36],
      [10_240, 30],
      [10_240, 60],
      [10_240, 10],
      [20_200, 100],
    ]);
  });
});

describe('OnOffArrivals', () => {
  it('keeps the pace over time spent on, and wants nothing while off', () => {
    // on 0–1000, off to 1500, on 1500–2500, off to 3000: the fifth is wanted 1200 into time spent on
    const arrivals = new OnOffArrivals(every300(), cycle(1000), cycle(500), 0, 0);
    expect(times(arrivals, 8)).toEqual([0, 300, 600, 900, 1700, 2000, 2300, 3100]);
  });

  it('starts at a place in its first cycle: on for what is left, or off until the next one', () => {
    // 600 of 1500 over: on 0–400, off to 900, on 900–1900
    const on = new OnOffArrivals(every300(), cycle(1000), cycle(500), 0, 0.4);
    expect(times(on, 4)).toEqual([0, 300, 1100, 1400]);
    // 1200 of 1500 over: off until 300
    const off = new OnOffArrivals(every300(), cycle(1000), cycle(500), 5000, 0.8);
    expect(times(off, 3)).toEqual([5300, 5600, 5900]);
  });

  it('draws one on and one off period a cycle, and passes over periods without a request', () => {
    // on 0–100, off to 150, on to 250, off to 350, on to 450 (300 into time spent on: at its end, so the next)
    const arrivals = new OnOffArrivals(every300(), cycle(100), cycle(50, 100), 0, 0);
    expect(times(arrivals, 2)).toEqual([0, 500]);
  });
});
