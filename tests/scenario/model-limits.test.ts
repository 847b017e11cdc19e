import { describe, expect, it } from 'vitest';
import { marked, problemsMarked } from './marks.js';

/** A scenario on the first preset, with changes to its coherence unit and its masters. */
const scenario = (unit: string, masters: string): string => `platform:
  preset: quad-core-fabric
  coherence: { cluster: { ${unit} } }
buffers:
  lines: { memory: ddr, size: 1 MiB }
masters:
${masters}
run: { duration: 1 ms }
`;
const CORE = '  cpu: { core: yes, operations: read, buffer: lines, issue: { process: greedy } }';

describe('what the model could not build is refused while reading', () => {
  it('an L2 of tree_plru whose ways are no power of two', () => {
    const text = scenario('l2: { size: 768 KiB, ways: ¦12, replacement: tree_plru }', CORE);
    expect(problemsMarked(text)).toMatchObject([
      { code: 'out_of_range', path: 'platform.coherence.cluster.l2.ways', ...marked(text).places[0] },
    ]);
  });

  it('an L1 of tree_plru whose ways are no power of two', () => {
    const core = CORE.replace('core: yes', 'core: { l1: { size: 24 KiB, ways: 3, replacement: tree_plru } }');
    expect(problemsMarked(scenario('', core))).toMatchObject([{ code: 'out_of_range', path: 'masters.cpu.core' }]);
  });

  it('lines that are not whole beats', () => {
    const text = scenario('line: ¦16 B, width: 256 bit', CORE);
    expect(problemsMarked(text)).toMatchObject([
      { code: 'out_of_range', path: 'platform.coherence.cluster.line', ...marked(text).places[0] },
    ]);
  });

  it('a master that is called as an element', () => {
    const text = scenario(
      '',
      `  ¦fabric1: { attach: fabric0, operations: read, buffer: lines, issue: { process: greedy } }`,
    );
    expect(problemsMarked(text)).toMatchObject([
      { code: 'name_clash', path: 'masters.fabric1', ...marked(text).places[0] },
    ]);
  });
});
