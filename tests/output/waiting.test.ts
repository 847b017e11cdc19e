import { expect, it } from 'vitest';
import type { BlameRow } from '../../src/measure/tables/rows.js';
import { waitingSentences } from '../../src/output/waiting.js';

const row = (victim: string, culprit: string, element: string, ns: number): BlameRow => ({
  scenario: 's',
  placement: 'p',
  replication: 'all',
  victim,
  culprit,
  element,
  meanPs: ns * 1000,
  totalPs: ns * 1e6,
  chargedShare: 1,
});

it('says of each path how long it waits and for whom most, and nothing of one that hardly waits', () => {
  const rows = [
    row('camera write', 'logger', 'ddr', 292.5),
    row('camera write', '(refresh)', 'ddr', 100),
    row('camera write', '(itself)', 'port', 19.5),
    row('dma read', '(itself)', 'ddr', 95),
    row('dma read', 'camera', 'ddr', 5),
    row('poll read', 'camera', 'ddr', 0.9),
  ];
  expect(waitingSentences(rows)).toEqual([
    'camera write waits 412.0 ns a burst on average, 71.0 % of it behind logger at ddr, 24.3 % of it for refresh at ddr',
    'dma read waits 100.0 ns a burst on average, 95.0 % of it behind itself at ddr',
  ]);
});
