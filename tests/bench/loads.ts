/** The fixed loads that speed is measured on. */
import { readFileSync } from 'node:fs';

/** A load: a scenario whose first placement is run. */
export interface Load {
  readonly name: string;
  /** What it stresses. */
  readonly about: string;
  readonly text: () => string;
}

const fileOf = (path: string) => (): string => readFileSync(new URL(path, import.meta.url), 'utf8');

export const LOADS: readonly Load[] = [
  { name: 'ladder', about: 'one dependent master, one burst in flight', text: fileOf('loads/ladder.yaml') },
  { name: 'saturated-ddr', about: '8 masters keep a DRAM channel full', text: fileOf('loads/saturated-ddr.yaml') },
  {
    name: 'demonstration',
    about: 'the shipped demonstration, coherent',
    text: fileOf('../../scenarios/grain-sorter.yaml'),
  },
  { name: '8-masters', about: '8 masters on eight ports', text: () => manyMasters(8) },
  { name: '64-masters', about: '64 masters on the same ports, as much traffic', text: () => manyMasters(64) },
  { name: '256-masters', about: '256 masters on the same ports, as much traffic', text: () => manyMasters(256) },
  { name: 'caches', about: 'cores and streams through real tags', text: fileOf('loads/caches.yaml') },
  { name: 'device', about: 'M/M/1 on an unclocked device', text: fileOf('loads/device.yaml') },
];

/** Traffic of all masters together, and their bursts in flight. */
const ALL_MB_PER_S = 3840;
const ALL_IN_FLIGHT = 256;

/** Many masters on the eight ports of the second preset, whatever their number: as much traffic, and as many in flight. */
function manyMasters(count: number): string {
  const numbers = Array.from({ length: count }, (_, n) => n);
  const master = (n: number): string => `  m${n}: { <<: *many, attach: edge${n % 8}, buffer: b${n} }`;
  return `title: ${count} masters
platform: { preset: eight-port-mobile }
buffers:
${numbers.map((n) => `  b${n}: { memory: ddr, size: 512 KiB, cached: no }`).join('\n')}
masters:
  m0: &many
    attach: edge0
    burst: 4 beats
    outstanding: ${ALL_IN_FLIGHT / count}
    buffer: b0
    operations: { read_share: 70 % }
    addresses: { pattern: random, align: 64 B }
    issue: { process: poisson, rate: ${ALL_MB_PER_S / count} MB/s }
    size: 64 B
${numbers.slice(1).map(master).join('\n')}
run: { duration: 10 ms, warmup: 0 ns, replications: 1, drain: 10 us }
`;
}
