import { expect, test } from 'vitest';
import { readScenario } from '../../src/scenario/read.js';
import { replicate } from '../../src/study/replicate.js';

// one short read at the start of 400 us: the memory then idles to the end
const RARE = `title: a memory that nearly idles
platform: { preset: quad-core-fabric }
buffers:
  samples: { memory: ddr, size: 64 KiB, cached: no }
masters:
  reader:
    attach: fabric0
    burst: 8 beats
    operations: read
    buffer: samples
    issue: { process: periodic, block: 64 B, every: 900 us }
run: { seed: 1, replications: 1, duration: 400 us, warmup: 1 us }
placements:
  direct: {}
`;

test('an idle memory is refreshed to the end of the window', () => {
  const [system] = readScenario(Buffer.from(RARE), 'rare.yaml', { readFile: () => '' }).systems;
  const options = { seed: '1', replication: 1, replications: 1, warmupPs: 1e6 };
  const { channels, windowPs } = replicate(system!, options);
  const ddr = system!.elements.find((element) => element.kind === 'ddr')!;
  const { nRFC, tckNumerator, tckDenominator, tREFIps } = ddr.timing;
  const refreshPs = (nRFC * tckNumerator) / tckDenominator;
  // the ends of the window may cut one refresh
  expect(Math.abs(channels[0]!.refreshPs / refreshPs - windowPs / tREFIps)).toBeLessThanOrEqual(1);
});
