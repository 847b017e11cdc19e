import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { studentQuantile } from '../../src/measure/statistics/student.js';
import { Probe } from '../../src/model/probe.js';
import { Simulation } from '../../src/model/simulation.js';
import type { SystemSpec } from '../../src/scenario/scenario.js';
import { buffer, clock, device, master, onChip, port, system } from './platform.js';
import { meanWait, type Queue, waitCdf, waitQuantile } from './queueing.js';

/** A service takes 16 us on average, so that a picosecond is as good as nothing. */
const SERVICE_PS = 16e6;
const REPLICATIONS = 30;
/** Requests of one run: the nearer to saturation, the longer a run must be; constant services vary less. */
const LOADS = [
  { load: 0.5, requests: { mm1: 20_000, md1: 20_000 } },
  { load: 0.8, requests: { mm1: 50_000, md1: 50_000 } },
  { load: 0.9, requests: { mm1: 250_000, md1: 120_000 } },
];
const COMPARISONS = 2 * LOADS.length * 4;
/** Two-sided, for one chance in a hundred that any of all comparisons fails by accident. */
const T = studentQuantile(1 - 0.01 / COMPARISONS / 2, REPLICATIONS - 1);
/** Widest half interval that is still a test: of the mean wait, and of the share beyond a quantile. */
const WIDEST = { mean: 0.06, p50: 0.06, p90: 0.16, p99: 0.45 };

/** The waits of one run: their mean, and the share of those beyond each limit. */
class Waits extends Probe {
  count = 0;
  sum = 0;
  readonly beyond: number[];
  simulation!: Simulation;

  constructor(private readonly limitsPs: readonly number[]) {
    super();
    this.beyond = limitsPs.map(() => 0);
  }

  override completed(slot: number): void {
    const { bursts } = this.simulation.context;
    if (bursts.counted[slot] !== 1) return;
    const wait = bursts.enteredAt[slot]! - bursts.wantedAt[slot]!;
    this.count++;
    this.sum += wait;
    for (const [i, limit] of this.limitsPs.entries()) if (wait > limit) this.beyond[i]!++;
  }
}

function queueSystem({ model, load }: Queue): SystemSpec {
  const service =
    model === 'mm1'
      ? { kind: 'exponential' as const, mean: SERVICE_PS }
      : { kind: 'fixed' as const, value: SERVICE_PS };
  const pace = { kind: 'every', everyPs: SERVICE_PS / load } as const;
  const source = master('source', 'server', 'data', {
    clock: null,
    maxReads: 1e9,
    size: { kind: 'fixed', value: 16 },
    issue: { process: 'poisson', pace, batch: { kind: 'fixed', value: 1 } },
  });
  return system([device('server', { service })], [buffer('data', 'server')], [source]);
}

function waits(queue: Queue, requests: number, limitsPs: number[], replication: number): Waits {
  const probe = new Waits(limitsPs);
  // it starts empty: what comes in the first 20/(1 − ρ)² services is not counted
  const warmupPs = (20 / (1 - queue.load) ** 2) * SERVICE_PS;
  const durationPs = (requests * SERVICE_PS) / queue.load;
  const options = { seed: 'theory', replication, warmupPs, durationPs, drainPs: Infinity, probe };
  probe.simulation = new Simulation(queueSystem(queue), options);
  probe.simulation.run();
  return probe;
}

/** Mean of the runs' results and the half width of its interval. */
function interval(results: number[]): { mean: number; half: number } {
  const mean = results.reduce((sum, x) => sum + x, 0) / results.length;
  const variance = results.reduce((sum, x) => sum + (x - mean) ** 2, 0) / (results.length - 1);
  return { mean, half: T * Math.sqrt(variance / results.length) };
}

/** Published means and quantiles by `model load metric`, in services of 16 cycles. */
const published = new Map(
  readFileSync(new URL('./fixtures/waits.csv', import.meta.url), 'utf8')
    .trim()
    .split('\n')
    .slice(1)
    .map((row) => {
      const [id, , metric, cycles] = row.split(',') as [string, string, string, string];
      return [`${id.slice(0, 3)} ${Number(id.slice(5))} ${metric}`, Number(cycles) / 16];
    }),
);

/** The published value where there is one (loads 0.5, 0.7, 0.9), else by formula. */
function expected({ model, load }: Queue, p: number | 'mean'): number {
  const metric = p === 'mean' ? 'mean_wait' : `wait_p${Math.round(p * 100)}`;
  const value = published.get(`${model} ${load} ${metric}`);
  return value ?? (p === 'mean' ? meanWait({ model, load }) : waitQuantile({ model, load }, p));
}

describe('the formulas', () => {
  it('give the published values, as far as doubles carry the series', () => {
    expect(published.size).toBe(24);
    for (const model of ['mm1', 'md1'] as const) {
      for (const load of [0.5, 0.7, 0.9]) {
        const queue = { model, load };
        expect(meanWait(queue)).toBeCloseTo(expected(queue, 'mean'), 10);
        for (const p of [0.5, 0.9, 0.99]) {
          expect(waitCdf(queue, expected(queue, p))).toBeCloseTo(Math.max(p, 1 - load), 5);
          if (load < 0.9) expect(waitQuantile(queue, p)).toBeCloseTo(expected(queue, p), 6);
        }
      }
    }
  });
});

describe('a device with Poisson arrivals', () => {
  for (const model of ['mm1', 'md1'] as const) {
    for (const { load, requests } of LOADS) {
      it(`waits as ${model === 'mm1' ? 'M/M/1' : 'M/D/1'} does at load ${load}`, () => {
        const queue = { model, load };
        const levels = [0.5, 0.9, 0.99];
        const limits = levels.map((p) => expected(queue, p) * SERVICE_PS);
        const runs = Array.from({ length: REPLICATIONS }, (_, r) => waits(queue, requests[model], limits, r));

        const exact = expected(queue, 'mean') * SERVICE_PS;
        const mean = interval(runs.map(({ sum, count }) => sum / count));
        expect(mean.half / exact).toBeLessThan(WIDEST.mean);
        expect(Math.abs(mean.mean - exact)).toBeLessThan(mean.half);

        for (const [i, p] of levels.entries()) {
          const share = interval(runs.map(({ beyond, count }) => beyond[i]! / count));
          const widest = [WIDEST.p50, WIDEST.p90, WIDEST.p99][i]!;
          expect(share.half / (1 - p)).toBeLessThan(widest);
          expect(Math.abs(share.mean - (1 - p))).toBeLessThan(share.half);
        }
      }, 180_000);
    }
  }
});

describe('a saturated link', () => {
  it('carries exactly its peak: every cycle of the window a beat', () => {
    for (const readShare of [1, 0]) {
      // 4 bytes a ns between port and memory; the window is 10 us
      const masters = [
        master('m', 'p', 'data', { issue: { process: 'greedy' }, readShare, maxReads: 16, maxWrites: 16 }),
      ];
      const elements = [
        port('p', ['ram'], { maxReads: 16, maxWrites: 16, widthBytes: 4 }),
        onChip('ram', { clock: 'fabric', widthBytes: 4, queueDepth: 8 }),
      ];
      const spec = system(elements, [buffer('data', 'ram')], masters, [clock('fabric', 1000), clock('bus', 1000)]);
      const options = { seed: '1', replication: 1, warmupPs: 1e6, durationPs: 1e7, drainPs: 0 };
      const simulation = new Simulation(spec, options);
      simulation.run();
      const use = (element: number, name: string): number => {
        const channels = [...simulation.model.elements[element]!.channels()];
        return channels.find((channel) => channel.name === name)!.busy.totalPs;
      };
      const link = readShare === 1 ? use(1, 'p read data') : use(0, 'ram write');
      expect(link).toBe(1e7);
      const [{ reads, writes }] = simulation.model.masters as [(typeof simulation.model.masters)[0]];
      const moved = reads.movedBytes + writes.movedBytes;
      // between master and port a beat carries 16 bytes, so that the edges of the window may cut one burst off
      if (readShare === 1) expect(moved).toBe(40_000);
      else expect(Math.abs(moved - 40_000)).toBeLessThanOrEqual(64);
    }
  });
});
