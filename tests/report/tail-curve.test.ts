import { expect, test } from 'vitest';
import { sheetOf } from '../../src/report/sheet.js';
import { latencyAt, tailCurve } from '../../src/report/tail-curve.js';

/** Ten samples: four in [10, 20), five in [20, 30), none in [30, 50), one in [50, 60). */
const rows = sheetOf('d.csv', 'bin_low_ns,bin_high_ns,count\n10,20,4\n20,30,5\n50,60,1\n').rows;

test('the curve falls from all samples by each bin, and is level where no sample lies', () => {
  expect(tailCurve(rows)).toEqual({
    count: 10,
    points: [
      { ns: 10, share: 1 },
      { ns: 20, share: 0.6 },
      { ns: 30, share: 0.1 },
      { ns: 50, share: 0.1 },
      { ns: 60, share: 0 },
    ],
  });
});

test('the latency that a share exceeds is read within a bin, evenly', () => {
  const curve = tailCurve(rows);
  expect(latencyAt(curve, 1)).toBe(10);
  expect(latencyAt(curve, 0.8)).toBeCloseTo(15, 9);
  expect(latencyAt(curve, 0.35)).toBeCloseTo(25, 9);
  expect(latencyAt(curve, 0.05)).toBeCloseTo(55, 9);
  expect(latencyAt(curve, 0)).toBe(60);
  expect(latencyAt({ count: 0, points: [] }, 0.5)).toBeNull();
});
