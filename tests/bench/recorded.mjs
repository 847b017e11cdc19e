/**
 * One replication of a system, recorded as in a study, ready to run: `{ simulation, recorder }`. `build` is the project's
 * index, whichever build of it is measured.
 */
export function recorded({ Recorder, Simulation }, system, journeys, timelinePs) {
  const { durationPs, drainPs, seed } = system.run;
  const warmupPs = system.run.warmupPs ?? 0;
  const recorder = new Recorder(system, {
    fromPs: warmupPs,
    toPs: warmupPs + durationPs,
    batched: false,
    keepAtMost: 0,
    limits: new Map(),
    overCapacity: new Set(),
    journeys,
    timelinePs,
  });
  const simulation = new Simulation(system, { seed, replication: 1, warmupPs, durationPs, drainPs, probe: recorder });
  recorder.watch(simulation);
  return { simulation, recorder };
}
