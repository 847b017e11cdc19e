import type { ReplicationResult } from '../../src/measure/results.js';
import { Simulation } from '../../src/model/simulation.js';
import type { SystemSpec } from '../../src/scenario/scenario.js';
import { Watch } from './watch.js';

/** A run that was watched until nothing more could happen. */
export interface Observation {
  readonly system: SystemSpec;
  readonly watch: Watch;
  readonly simulation: Simulation;
  /** What the tables are made from, as it was at the end of the window and its drain. */
  readonly result: ReplicationResult;
}

/** No source of a random platform wants anything this long after the window. */
const REST_PS = 20_000_000_000;
const SLICE_PS = 1_000_000_000;

/** Runs a system as `burstyard run` does, then on until all that is in flight is back. */
export function observe(system: SystemSpec, shuffle?: () => number): Observation {
  const { seed, durationPs, drainPs } = system.run;
  const warmupPs = system.run.warmupPs ?? 0;
  const watch = new Watch(system, warmupPs, warmupPs + durationPs);
  const simulation = new Simulation(system, {
    seed,
    replication: 1,
    warmupPs,
    durationPs,
    drainPs,
    probe: watch,
    ...(shuffle === undefined ? {} : { shuffle }),
  });
  watch.watch(simulation);
  simulation.run();
  const result = watch.result(1);
  const { calendar } = simulation.context;
  const limit = calendar.now + REST_PS;
  while (!calendar.empty && calendar.now < limit) calendar.run(calendar.now + SLICE_PS);
  return { system, watch, simulation, result };
}
