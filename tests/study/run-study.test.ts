import { describe, expect, it } from 'vitest';
import { CommandLog } from '../../src/measure/logs/command-log.js';
import { Alone, type Crew, type Job, Stopped } from '../../src/study/crew.js';
import { runStudy } from '../../src/study/run-study.js';
import { TINY } from '../cli/rig.js';
import { read } from '../scenario/reading.js';

const scenario = read(TINY.replace('replications: 2', 'replications: 4'));
const alone = new Alone();

/** A crew that is stopped when it has finished some of its jobs: those whose place passes. */
const stoppedAfter = (isFinished: (place: number) => boolean): Crew => ({
  settle: (pilots) => alone.settle(pilots),
  async run(jobs, _onProgress, watch) {
    if (watch !== undefined) return alone.run(jobs, undefined, watch);
    const results = await alone.run(jobs);
    throw new Stopped(results.map((result, place) => (isFinished(place) ? result : null)));
  },
});

const study = (crew: Crew, placements: string[] = []) => runStudy(scenario, { placements, version: 'test', crew });

describe('a study', () => {
  it('gives out the first replication of each placement, then the second of each', async () => {
    const given: string[] = [];
    const crew: Crew = {
      settle: (pilots) => alone.settle(pilots),
      run(jobs) {
        given.push(...jobs.map(({ system, replication }: Job) => `${system.placement} ${replication}`));
        return alone.run(jobs);
      },
    };
    const { placements, stopped } = await study(crew);
    expect(given.slice(0, 4)).toEqual(['direct 1', 'coherent 1', 'direct 2', 'coherent 2']);
    expect(placements.map(({ replications }) => replications.map((one) => one.replication))).toEqual([
      [1, 2, 3, 4],
      [1, 2, 3, 4],
    ]);
    expect(stopped).toBe(false);
  });

  it('that is stopped is one of the replications which all placements have finished', async () => {
    // the second replication of the second placement is open, the third of both is there
    const kept = await study(stoppedAfter((place) => place < 3 || place === 4 || place === 5));
    const [shorter] = (await study(alone)).placements;
    expect(kept.stopped).toBe(true);
    expect(kept.placements.map(({ replications }) => replications.length)).toEqual([1, 1]);
    expect(kept.placements[0]!.replications).toEqual(shorter!.replications.slice(0, 1));
    expect(kept.warnings[0]).toEqual({ text: 'stopped after 1 of 4 replications', count: 1 });
  });

  it('that is stopped too soon has no result', async () => {
    await expect(study(stoppedAfter((place) => place > 0))).rejects.toBeInstanceOf(Stopped);
  });

  it('whose commands are kept has them with what is left when it is stopped', async () => {
    const commandLog = new CommandLog();
    const crew = stoppedAfter((place) => place < 2);
    const kept = await runStudy(scenario, { placements: [], version: 'test', crew, logs: { commandLog } });
    expect(kept.placements.map(({ replications }) => replications.length)).toEqual([2, 2]);
    expect([...commandLog.rows('tiny')].length).toBeGreaterThan(0);
  });
});
