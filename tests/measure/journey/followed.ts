import { Recorder } from '../../../src/measure/recorder.js';
import { PARTS, STAGES, STAGE_OF, WAITS } from '../../../src/measure/journey/stage.js';
import { Simulation } from '../../../src/model/simulation.js';
import { readScenario } from '../../../src/scenario/read.js';
import type { SystemSpec } from '../../../src/scenario/scenario.js';
import { settingsTo } from '../recorder-settings.js';

/** Where the time of one burst went, in ns, by stage; and its waiting by `culprit @ element`. */
export interface Followed {
  readonly wantedNs: number;
  readonly latencyNs: number;
  readonly stages: Record<string, number>;
  readonly blame: Record<string, number>;
}

/** A trace file of reads of eight bytes, at so many ns each. */
export const readsAt = (...ns: readonly number[]): string =>
  ['time_ns,operation,address,bytes', ...ns.map((at) => `${at},read,0,8`)].join('\n');

/** Runs a scenario, with the trace files that it names, and follows the bursts of a master in the order in which they end. */
export function follow(text: string, name: string, traces: Record<string, string> = {}): Followed[] {
  const system = readScenario(text, 'test.yaml', { readFile: (file) => traces[file]! }).systems[0]!;
  const { durationPs, drainPs } = system.run;
  const recorder = new Follower(
    system,
    system.masters.findIndex((master) => master.name === name),
  );
  const options = { seed: system.run.seed, replication: 1, warmupPs: 0, durationPs, drainPs, probe: recorder };
  const simulation = new Simulation(system, options);
  recorder.watch(simulation);
  simulation.run();
  return recorder.followed;
}

/** Sum of each stage, or charge, over some bursts, in ns. */
export function totals(parts: readonly Record<string, number>[]): Record<string, number> {
  const sums = new Map<string, number>();
  for (const part of parts) for (const [key, ns] of Object.entries(part)) sums.set(key, (sums.get(key) ?? 0) + ns);
  return Object.fromEntries(sums);
}

class Follower extends Recorder {
  readonly followed: Followed[] = [];
  private simulated!: Simulation;

  constructor(
    private readonly system: SystemSpec,
    private readonly master: number,
  ) {
    super(system, settingsTo(system.run.durationPs, 'blame'));
  }

  protected override get followsAll(): boolean {
    return true;
  }

  override watch(simulation: Simulation): void {
    super.watch(simulation);
    this.simulated = simulation;
  }

  override completed(slot: number): void {
    super.completed(slot);
    const { bursts } = this.simulated.context;
    if (bursts.master[slot] !== this.master || bursts.number[slot]! < 0) return;
    const chain = this.chains!.of(slot);
    const times = Array.from({ length: PARTS }, () => 0);
    const blame: Record<string, number> = {};
    let { from } = chain;
    for (let link = 0; link < chain.count; link++) {
      const part = chain.partOf(link);
      const ns = (chain.untilOf(link) - from) / 1000;
      from = chain.untilOf(link);
      times[part]! += ns;
      if (WAITS[part] === 0) continue;
      const key = `${this.nameOf(chain.culpritOf(link))} @ ${this.elementOf(chain.elementOf(link))}`;
      blame[key] = (blame[key] ?? 0) + ns;
    }
    const stages: Record<string, number> = {};
    for (const [part, ns] of times.entries()) {
      const { name } = STAGES[STAGE_OF[part]!]!;
      if (ns > 0) stages[name] = (stages[name] ?? 0) + ns;
    }
    const wantedAt = bursts.wantedAt[slot]!;
    const latencyNs = (bursts.doneAt[slot]! - wantedAt) / 1000;
    this.followed.push({ wantedNs: wantedAt / 1000, latencyNs, stages, blame });
  }

  private nameOf(culprit: number): string {
    return culprit < 0 ? 'refresh' : this.system.masters[culprit]!.name;
  }

  private elementOf(element: number): string {
    return this.simulated.model.elements[element]!.base.name;
  }
}
