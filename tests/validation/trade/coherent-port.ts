import { Probe } from '../../../src/model/probe.js';
import { Simulation } from '../../../src/model/simulation.js';
import { parse, systemOf } from '../../scenarios/shipped.js';
import type { Comparison, Depth } from '../outside-check.js';
import { COMMON_PRACTICE } from './common-practice.js';

/** Requests of one size at a coherent port, hitting in L2, and by the central interconnect to DDR, each alone. */

const US = 1_000_000;
const SIZES = [8, 64, 256, 1024];
const BUFFER_BYTES = 4096;
/** Reads that bring all of the buffer into L2 before those that count. */
const warmUp = (bytes: number): number => BUFFER_BYTES / bytes;
const READS = { quick: 100, full: 1000 };

/** The longest hit at the coherent port against the shortest of the other way, which finds its row open. */
export function coherentPortChecks(depth: Depth): Comparison[] {
  return SIZES.flatMap((bytes): Comparison[] => {
    const coherent = latencies('coherent0', 'cached', bytes, READS[depth]);
    const central = latencies('general0', 'uncached', bytes, READS[depth]);
    return [
      {
        check: `coherent port: longest unloaded read of ${bytes} B that hits, against the shortest by the central interconnect`,
        source: COMMON_PRACTICE,
        unit: 'ns',
        expected: Math.min(...central.ns),
        measured: Math.max(...coherent.ns),
        relation: 'at_most',
      },
      {
        check: `coherent port: lookups of these reads of ${bytes} B that miss`,
        source: 'so that the check above means something',
        unit: 'lookups',
        expected: 0,
        measured: coherent.misses,
      },
    ];
  });
}

/** Latencies of dependent reads, a microsecond apart, after the warm-up. */
class Latencies extends Probe {
  readonly ns: number[] = [];
  misses = 0;
  simulation!: Simulation;
  private done = 0;

  constructor(
    private readonly uncounted: number,
    private readonly most: number,
  ) {
    super();
  }

  override lookup(_element: number, _cache: number, _master: number, _line: number, hit: boolean): void {
    if (!hit && this.done >= this.uncounted) this.misses++;
  }

  override completed(slot: number): void {
    const { bursts, calendar } = this.simulation.context;
    if (bursts.number[slot]! < 0) return;
    if (this.done++ >= this.uncounted) this.ns.push((bursts.doneAt[slot]! - bursts.wantedAt[slot]!) / 1000);
    if (this.ns.length === this.most) calendar.stop();
  }
}

function latencies(port: string, buffer: string, bytes: number, most: number): Latencies {
  const scenario = parse(`
platform: { preset: quad-core-fabric }
buffers:
  cached: { memory: ddr, size: ${BUFFER_BYTES} B }
  uncached: { memory: ddr, size: ${BUFFER_BYTES} B, cached: no }
masters:
  reader:
    attach: ${port}
    width: 64 bit
    burst: 128 beats
    outstanding: 1
    operations: read
    buffer: ${buffer}
    size: ${bytes} B
    addresses: { pattern: strided, stride: ${bytes} B }
    issue: { process: dependent, think: 1 us }
`);
  const probe = new Latencies(warmUp(bytes), most);
  const options = { seed: '1', replication: 1, warmupPs: 0, durationPs: 1e6 * US, drainPs: 0, probe };
  const simulation = new Simulation(systemOf(scenario, 'base'), options);
  probe.simulation = simulation;
  for (const master of simulation.model.masters) master.start();
  simulation.context.calendar.run(Infinity);
  return probe;
}
