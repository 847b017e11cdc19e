import { describe, expect, it } from 'vitest';
import { bindingElement } from '../../src/measure/binding.js';
import type { BlameRow, LatencyRow, ResourceRow } from '../../src/measure/tables/rows.js';
import type { ReplicationResult } from '../../src/measure/results.js';

const path = { master: 'camera', operation: 'write', meanPs: 1000 } as LatencyRow;
const run = {
  paths: [
    { master: 'camera', operation: 'read', route: ['other'] },
    { master: 'camera', operation: 'write', route: ['port', 'cross', 'ddr'] },
  ],
} as ReplicationResult;
const wait = (victim: string, culprit: string, element: string, meanPs: number) =>
  ({ victim, culprit, element, meanPs }) as BlameRow;
const resources = [
  ['port', 0.2],
  ['cross', 0.6],
  ['ddr', 0.5],
  ['other', 0.9],
].map(([element, utilisation]) => ({ element, utilisation }) as ResourceRow);

describe('the element that binds a path', () => {
  it('is where most of its waiting is charged, whoever the culprits are', () => {
    const blame = [
      wait('camera write', '(itself)', 'port', 50),
      wait('camera write', 'dma', 'ddr', 30),
      wait('camera write', '(refresh)', 'ddr', 30),
      wait('dma read', 'camera', 'cross', 500),
    ];
    expect(bindingElement(path, { blame, resources }, run)).toBe('ddr');
  });

  it('is the busiest on its route where it hardly waits, or where no blame is kept', () => {
    // 99 of 1000 are less than a tenth, 100 are not
    expect(bindingElement(path, { blame: [wait('camera write', 'dma', 'ddr', 99)], resources }, run)).toBe('cross');
    expect(bindingElement(path, { blame: [wait('camera write', 'dma', 'ddr', 100)], resources }, run)).toBe('ddr');
    expect(bindingElement(path, { blame: [], resources }, run)).toBe('cross');
  });
});
