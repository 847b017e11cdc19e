import { describe, expect, it } from 'vitest';
import { at, changed, placesOf, problemsOf, read, sentencesOf, SMALL } from './reading.js';

describe('routes', () => {
  it('a master without a route to its buffer is told, with what it reaches', () => {
    const text = changed('to: [ddr, near]', 'to: near');
    expect(placesOf(text)).toEqual([`${at(text, 'p0, operations')} no_route masters.camera.attach`]);
    expect(sentencesOf(text)).toContain(`no route from 'p0' to 'ddr', where buffer 'lines' lies; it reaches near`);
  });

  it('routes that wait for one another in a ring are refused, with the ring', () => {
    const text = ring(['ma', 'mb', 'mc'], { pa: 'mc', pb: 'ma', pc: 'mb' });
    expect(placesOf(text)).toEqual([`${at(text, '[b, ma]')} cycle platform.switches.a.to`]);
    expect(sentencesOf(text)).toContain('a → b → c → a');
  });

  it('links in a ring are no mistake where no routes use all of it', () => {
    expect(read(ring(['ma', 'mb', 'mc'], { pa: 'mb', pb: 'mc' })).systems).toHaveLength(1);
  });

  it('two routes may cross a pair of switches in opposite directions', () => {
    const text = `platform:
  clocks: { c: 100 MHz }
  ports: { pa: { clock: c, width: 64 bit, to: a }, pb: { clock: c, width: 64 bit, to: b } }
  switches:
    a: { clock: c, width: 64 bit, to: [b, ma] }
    b: { clock: c, width: 64 bit, to: [a, mb] }
  memories: { ma: ${MEMORY}, mb: ${MEMORY} }
buffers: { in_a: { memory: ma, size: 4 KiB }, in_b: { memory: mb, size: 4 KiB } }
masters:
  x: { attach: pa, buffer: in_b, operations: read, issue: greedy }
  y: { attach: pb, buffer: in_a, operations: read, issue: greedy }
`;
    expect(read(text).systems).toHaveLength(1);
  });
});

const MEMORY = '{ kind: onchip, clock: c, width: 64 bit, size: 64 KiB, access: 1 cycle }';

/** Three switches in a ring, each with a port and a memory; which port uses which memory is given. */
function ring(memories: readonly string[], uses: Readonly<Record<string, string>>): string {
  const masters = Object.entries(uses).map(
    ([port, memory]) => `  m_${port}: { attach: ${port}, buffer: in_${memory}, operations: read, issue: greedy }\n`,
  );
  return `platform:
  clocks: { c: 100 MHz }
  ports:
    pa: { clock: c, width: 64 bit, to: a }
    pb: { clock: c, width: 64 bit, to: b }
    pc: { clock: c, width: 64 bit, to: c }
  switches:
    a: { clock: c, width: 64 bit, to: [b, ma] }
    b: { clock: c, width: 64 bit, to: [c, mb] }
    c: { clock: c, width: 64 bit, to: [a, mc] }
  memories: { ${memories.map((memory) => `${memory}: ${MEMORY}`).join(', ')} }
buffers: { ${memories.map((memory) => `in_${memory}: { memory: ${memory}, size: 4 KiB }`).join(', ')} }
masters:
${masters.join('')}`;
}

describe('buffers', () => {
  it('a buffer must lie within its memory', () => {
    const text = changed('lines: { memory: ddr, size: 1 MiB }', 'lines: { memory: near, size: 65537 B }');
    expect(placesOf(text)).toEqual([`${at(text, '65537 B')} outside_memory buffers.lines.size`]);
  });

  it('two buffers must not overlap, and may touch', () => {
    const second = (base: string): string =>
      SMALL.replace('masters:', `  more: { memory: ddr, base: ${base}, size: 4 KiB }\nmasters:`);
    const text = second('1023 KiB');
    expect(placesOf(text)).toEqual([`${at(text, '1023 KiB')} overlap buffers.more.base`]);
    expect(read(second('0x100000')).systems[0]!.buffers[1]!.baseBytes).toBe(1024 * 1024);
  });

  it('one byte is an overlap whichever buffer comes first', () => {
    const pair = (size: string): string =>
      changed('lines: { memory: ddr,', 'lines: { memory: ddr, base: 4 KiB,').replace(
        'masters:',
        `  low: { memory: ddr, base: 0 B, size: ${size} }\nmasters:`,
      );
    expect(placesOf(pair('4097 B'))).toEqual([`${at(pair('4097 B'), '0 B')} overlap buffers.low.base`]);
    expect(read(pair('4096 B')).systems).toHaveLength(1);
  });

  it('a buffer without base starts at the next 4 KiB', () => {
    const text = SMALL.replace(
      'masters:',
      '  a: { memory: near, size: 100 B }\n  b: { memory: near, size: 1 KiB }\nmasters:',
    );
    expect(read(text).systems[0]!.buffers.map(({ baseBytes }) => baseBytes)).toEqual([0, 0, 4096]);
  });

  it('a request that the buffer cannot hold is told', () => {
    const text = changed('issue: greedy', 'issue: greedy, size: { uniform: [1 B, 2 MiB] }');
    expect(placesOf(text)).toEqual([`${at(text, '{ uniform')} out_of_range masters.camera.size`]);
  });
});

describe('sources', () => {
  it('a greedy one at a device that loses is refused, as it would lose without end', () => {
    const text = (queue: string, issue: string): string => `platform:
  devices: { box: { service: 100 ns, full: lose, queue_depth: ${queue} } }
buffers: { words: { memory: box, size: 4 KiB } }
masters: { source: { attach: box, buffer: words, operations: read, issue: ${issue} } }
`;
    const greedy = text('4', 'greedy');
    expect(placesOf(greedy)).toEqual([`${at(greedy, 'greedy')} conflict masters.source.issue`]);
    expect(sentencesOf(greedy)).toContain(`'box' loses what finds it full`);
    expect(read(text('unlimited', 'greedy')).systems).toHaveLength(1);
    expect(read(text('4', '{ process: poisson, every: 90 ns }')).systems).toHaveLength(1);
  });
});

describe('address mapping', () => {
  it('one that does not cover the address is told, with the bits that it has and needs', () => {
    // 1 GiB on 32 bit of x16 devices: 4 KiB rows, 8 banks, 32 B bursts: 15 + 3 + 7 = 25 bits
    const text = changed('bus: 32 bit', 'bus: 32 bit, mapping: [{ row: 13 }, bank, column]');
    expect(placesOf(text)).toEqual([`${at(text, '[{ row')} bad_mapping platform.memories.ddr.mapping`]);
    expect(sentencesOf(text)).toContain(
      'must cover 25 address bits above a DRAM burst of 32 B, covers 23 (row 13 of 15)',
    );
  });

  it('a field that is left out, or has too many bits, is told', () => {
    for (const mapping of ['[row, column]', '[row, bank, { bank: 4 }, column]']) {
      expect(problemsOf(changed('bus: 32 bit', `bus: 32 bit, mapping: ${mapping}`)).map(({ code }) => code)).toEqual([
        'bad_mapping',
      ]);
    }
  });

  it('names take the bits of the geometry, and fields may be split', () => {
    const mapping = (written: string): unknown => {
      const [, , ddr] = read(changed('bus: 32 bit', `bus: 32 bit, mapping: ${written}`)).systems[0]!.elements;
      return ddr?.kind === 'ddr' ? ddr.mapping.map(({ field, bits }) => [field, bits]) : null;
    };
    expect(mapping('[row, bank, column]')).toEqual([
      ['row', 15],
      ['bank', 3],
      ['column', 7],
    ]);
    expect(mapping('[row, { column: 5 }, bank, column]')).toEqual([
      ['row', 15],
      ['column', 5],
      ['bank', 3],
      ['column', 2],
    ]);
  });
});

describe('memory controllers', () => {
  it.each([
    ['refresh: per_bank', 'per_bank', 'conflict platform.memories.ddr.refresh'],
    ['size: 2 GiB', '2 GiB', 'out_of_range platform.memories.ddr.size'],
    ['write_entries: 8, high_mark: 9', '9 }', 'out_of_range platform.memories.ddr.high_mark'],
    ['device: 64 bit', 'DDR3-1600K', 'bad_timing platform.memories.ddr.grade'],
    ['channels: 2, interleave: 40 B', '40 B', 'out_of_range platform.memories.ddr.interleave'],
    ['timing: { tRCD: 13 }', '13 }', 'missing_unit platform.memories.ddr.timing.tRCD'],
  ])('%s is refused here', (keys, piece, expected) => {
    const text = changed('bus: 32 bit', `bus: 32 bit, ${keys}`);
    expect(placesOf(text)).toEqual([`${at(text, piece)} ${expected}`]);
  });

  it('without a grade every parameter must be given', () => {
    const text = changed('grade: DDR3-1600K', 'timing: { tCK: 1.25 ns, CL: 11 }, size: 1 MiB');
    const problems = problemsOf(text);
    expect(problems.map(({ path }) => path)).toEqual(['platform.memories.ddr.device', 'platform.memories.ddr.timing']);
    expect(problems[1]!.message).toContain('CWL, tRCD, tRP');
  });
});

describe('coherence', () => {
  const platform = (change: string): string => `platform:
  preset: quad-core-fabric
  coherence: { cluster: { ${change} } }
buffers: { heap: { memory: ddr, size: 1 MiB } }
masters: { c0: { core: yes, buffer: heap, operations: read, issue: greedy } }
`;

  it('the statistical model needs the hit ratio of whoever looks up', () => {
    const text = platform('model: statistical');
    expect(placesOf(text)).toEqual([`${at(text, 'c0')} missing_key masters.c0.hit_ratio`]);
  });

  it('a cache is a whole number of sets', () => {
    const text = platform('l2: { size: 1000 KiB, ways: 3 }');
    expect(placesOf(text)).toEqual([`${at(text, '1000 KiB')} out_of_range platform.coherence.cluster.l2.size`]);
  });

  it('there are miss entries for the minimum of every requester', () => {
    const text = platform('miss_entries: 3');
    expect(placesOf(text)).toEqual([`${at(text, '3 }')} out_of_range platform.coherence.cluster.miss_entries`]);
  });
});
