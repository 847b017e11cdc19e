import { describe, expect, it } from 'vitest';
import { QueueSeries } from '../../src/model/queue-series.js';
import { QueueMeter, Window } from '../../src/model/window.js';

/** A meter over [100, 200) that is cut every 30 ps: at 130, 160, 190 and 200. */
function kept(): { meter: QueueMeter; series: QueueSeries } {
  const meter = new QueueMeter(new Window(100, 200));
  const series = new QueueSeries(100, 200, 30);
  meter.keep(series);
  return { meter, series };
}

describe('a queue meter with a series', () => {
  it('gives each window its part of the integral and its largest length', () => {
    const { meter, series } = kept();
    // 1 from 90, 3 from 120 to 135, 1 until 195
    meter.change(90, 1);
    meter.change(120, 2);
    meter.change(135, -2);
    meter.change(195, -1);
    meter.settle(250);
    // 20 × 1 + 10 × 3, 5 × 3 + 25 × 1, 30 × 1, 5 × 1
    expect(series.windows(meter.areaPs, meter.peak)).toEqual([
      { areaPs: 50, peak: 3 },
      { areaPs: 40, peak: 3 },
      { areaPs: 30, peak: 1 },
      { areaPs: 5, peak: 1 },
    ]);
    expect([meter.areaPs, meter.largest]).toEqual([125, 3]);
  });

  it('spans windows in which nothing changes', () => {
    const { meter, series } = kept();
    meter.change(110, 2);
    meter.change(300, -2);
    expect(series.windows(meter.areaPs, meter.peak).map(({ areaPs, peak }) => [areaPs, peak])).toEqual([
      [40, 2],
      [60, 2],
      [60, 2],
      [20, 2],
    ]);
  });

  it('counts what changes at an end in the window that begins there', () => {
    const { meter, series } = kept();
    meter.change(130, 4);
    meter.change(160, -4);
    meter.settle(200);
    expect(series.windows(meter.areaPs, meter.peak)).toEqual([
      { areaPs: 0, peak: 0 },
      { areaPs: 120, peak: 4 },
      { areaPs: 0, peak: 0 },
      { areaPs: 0, peak: 0 },
    ]);
  });

  it('is whole where the run ends with the window, before the last cut', () => {
    const { meter, series } = kept();
    meter.change(185, 1);
    meter.settle(200);
    expect(series.windows(meter.areaPs, meter.peak).map(({ areaPs }) => areaPs)).toEqual([0, 0, 5, 10]);
    expect(meter.largest).toBe(1);
  });

  it('leaves out what came and went in one instant', () => {
    const { meter, series } = kept();
    meter.change(110, 1);
    meter.change(120, 1);
    meter.change(120, -1);
    meter.settle(200);
    expect(series.windows(meter.areaPs, meter.peak).map(({ peak }) => peak)).toEqual([1, 1, 1, 1]);
  });
});
