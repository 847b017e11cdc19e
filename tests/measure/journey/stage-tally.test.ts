import { describe, expect, it } from 'vitest';
import { BlameTally } from '../../../src/measure/journey/blame-tally.js';
import { Chains } from '../../../src/measure/journey/chains.js';
import { Part, STAGES } from '../../../src/measure/journey/stage.js';
import { allBursts, slowest, StageTally } from '../../../src/measure/journey/stage-tally.js';
import { Strata } from '../../../src/measure/journey/strata.js';

/** A burst that waits for so long in the memory queue for master 1, and takes 1,000 ps for its data. */
function burst(chains: Chains, waitPs: number): void {
  chains.start(0, 500);
  chains.reach(0, Part.memoryQueue, 1, 2, 500 + waitPs);
  chains.reach(0, Part.data, 0, 2, 1500 + waitPs);
}

/** Counts that burst, and splits it as one of so many. */
function count(strata: Strata, tally: StageTally | BlameTally, chains: Chains, weight = 1): void {
  const { from, end } = chains.of(0);
  strata.count(end - from);
  if (weight > 0) tally.record(chains.of(0), weight);
}

const of = (means: { sumsPs: readonly number[] }, name: string): number =>
  means.sumsPs[STAGES.findIndex((stage) => stage.name === name)]!;

describe('StageTally', () => {
  it('adds up each stage, and tells the slowest apart', () => {
    const chains = new Chains();
    const strata = new Strata();
    const tally = new StageTally('path', strata);
    for (let i = 0; i < 990; i++) {
      burst(chains, 0);
      count(strata, tally, chains);
    }
    for (let i = 0; i < 10; i++) {
      burst(chains, 1_000_000);
      count(strata, tally, chains);
    }
    const plain = tally.toPlain();
    const all = allBursts([plain, plain]);
    expect(all.count).toBe(2000);
    expect(of(all, 'memory_queue')).toBe(20_000_000);
    expect(of(all, 'data')).toBe(2_000_000);
    const slow = slowest([plain, plain], 0.01);
    expect(slow.count).toBe(20);
    expect(of(slow, 'memory_queue') / slow.count).toBe(1_000_000);
    expect(of(slow, 'data') / slow.count).toBe(1000);
    // half of the slow ones, and of a bin that is needed in part its share
    expect(of(slowest([plain], 0.005), 'memory_queue')).toBe(5_000_000);
    expect(of(slowest([plain], 0.02), 'data')).toBeCloseTo(20_000, 6);
  });

  it('splits the latencies of bursts that are not followed as those of the bursts of their bin that are, or of the nearest bin', () => {
    const chains = new Chains();
    const strata = new Strata();
    const tally = new StageTally('path', strata);
    burst(chains, 3000);
    count(strata, tally, chains, 2);
    burst(chains, 3004);
    count(strata, tally, chains, 0);
    burst(chains, 99_000);
    count(strata, tally, chains, 0);
    const plain = tally.toPlain();
    expect([plain.count, plain.followed, plain.counts]).toEqual([3, 1, [2, 1]]);
    const all = allBursts([plain]);
    // three quarters of 4,000, of 4,004 and of 100,000 ps
    expect(of(all, 'memory_queue')).toBeCloseTo(0.75 * 108_004, 6);
    expect(of(all, 'data')).toBeCloseTo(0.25 * 108_004, 6);
    expect(plain.histograms[STAGES.findIndex(({ name }) => name === 'data')]!.count).toBe(2);
  });

  it('counts a burst that is followed as often as it stands for others', () => {
    const chains = new Chains();
    const strata = new Strata();
    const tally = new StageTally('path', strata);
    const blame = new BlameTally(0, ['a', 'b'], ['port', 'switch', 'ddr'], strata);
    burst(chains, 3000);
    count(strata, tally, chains, 1);
    blame.record(chains.of(0), 1);
    // as long, but it does not wait, and stands for itself and two that are not followed
    chains.start(0, 500);
    chains.reach(0, Part.data, 0, 2, 4500);
    count(strata, tally, chains, 3);
    blame.record(chains.of(0), 3);
    count(strata, tally, chains, 0);
    count(strata, tally, chains, 0);
    const plain = tally.toPlain();
    expect(of(allBursts([plain]), 'memory_queue')).toBe(3000);
    expect(of(allBursts([plain]), 'data')).toBe(1000 + 3 * 4000);
    const data = plain.histograms[STAGES.findIndex(({ name }) => name === 'data')]!;
    expect([data.counts, data.minPs]).toEqual([[1, 3], 1000]);
    expect(blame.toPlain()).toEqual({ count: 4, charged: 2, charges: [{ culprit: 'b', element: 'ddr', ps: 3000 }] });
  });

  it('counts the bursts that spend no time in a stage in its distribution', () => {
    const chains = new Chains();
    const strata = new Strata();
    const tally = new StageTally('path', strata);
    for (const waitPs of [0, 0, 0, 4000]) {
      burst(chains, waitPs);
      count(strata, tally, chains);
    }
    const queue = tally.toPlain().histograms[STAGES.findIndex(({ name }) => name === 'memory_queue')]!;
    expect([queue.count, queue.zeros, queue.minPs, queue.maxPs]).toEqual([4, 3, 0, 4000]);
  });
});

describe('BlameTally', () => {
  it('adds up by culprit and place, the own master and refresh by their words', () => {
    const chains = new Chains();
    const strata = new Strata();
    const tally = new BlameTally(0, ['a', 'b'], ['port', 'switch', 'ddr'], strata);
    const waits = (waitPs: number): void => {
      burst(chains, waitPs);
      chains.reach(0, Part.refresh, -1, 2, 5000);
      chains.reach(0, Part.returnArbitration, 0, 1, 5100);
    };
    for (const waitPs of [300, 700]) {
      waits(waitPs);
      count(strata, tally, chains);
    }
    expect(tally.toPlain().charges).toEqual([
      { culprit: '(refresh)', element: 'ddr', ps: 3200 + 2800 },
      { culprit: '(itself)', element: 'switch', ps: 200 },
      { culprit: 'b', element: 'ddr', ps: 1000 },
    ]);
    // one of the same 4,600 ps that is not charged stands beside them; and one ten times as long, which is charged twice over
    waits(300);
    count(strata, tally, chains, 0);
    burst(chains, 45_000);
    count(strata, tally, chains, 2);
    const { count: all, charged, charges } = tally.toPlain();
    expect([all, charged]).toEqual([4, 3]);
    expect(charges).toEqual([
      { culprit: '(refresh)', element: 'ddr', ps: 6000 * 1.5 },
      { culprit: '(itself)', element: 'switch', ps: 200 * 1.5 },
      { culprit: 'b', element: 'ddr', ps: 1000 * 1.5 + 45_000 },
    ]);
  });
});

describe('Chains', () => {
  it('joins links of one kind, keeps what stood before a mark, and counts milestones that come too early', () => {
    const chains = new Chains();
    chains.start(3, 100);
    chains.reach(3, Part.transfer, 0, 1, 200);
    chains.reach(3, Part.transfer, 0, 1, 250);
    expect([chains.of(3).count, chains.end(3)]).toEqual([1, 250]);
    expect(chains.mark(3)).toBe(true);
    chains.reach(3, Part.transfer, 0, 1, 400);
    expect([chains.of(3).count, chains.of(3).untilOf(0), chains.of(3).untilOf(1)]).toEqual([2, 250, 400]);
    chains.cutBack(3);
    expect([chains.of(3).count, chains.end(3), chains.mark(3)]).toEqual([1, 250, false]);
    chains.add(3, Part.data, -1, 4095, 300);
    expect([chains.of(3).partOf(1), chains.of(3).culpritOf(1), chains.of(3).elementOf(1)]).toEqual([
      Part.data,
      -1,
      4095,
    ]);
    expect(chains.faults).toBe(0);
    chains.add(3, Part.data, 0, 1, 299);
    expect([chains.faults, chains.end(3)]).toEqual([1, 300]);
  });

  it('grows in both directions without losing a link', () => {
    const chains = new Chains();
    chains.start(0, 0);
    for (let i = 1; i <= 100; i++) chains.reach(0, i % 2, i, 0, i);
    chains.start(500, 7);
    expect([chains.of(0).count, chains.of(0).untilOf(99), chains.of(0).culpritOf(49), chains.end(500)]).toEqual([
      100, 100, 50, 7,
    ]);
  });
});
