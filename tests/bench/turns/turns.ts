import { type ChildProcess, fork } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { type Comparison, compared } from './compared.js';

/** What is compared: a build of the project, and the account that it keeps of where bursts spend their time. */
export interface Side {
  readonly name: string;
  /** The folder of the build. */
  readonly dist: string;
  readonly journeys: string;
}

/** What a turn cost: processor time in us, and the bursts that were done in it. */
interface Turn {
  readonly us: number;
  readonly bursts: number;
}

const SIDE = fileURLToPath(new URL('side.mjs', import.meta.url));

/** Turns that each side has in a launch. */
const TURNS = 40;

/**
 * Runs the same load on several sides in turns of a tenth of a second, so that what slows the machine down for a while slows
 * down all of them. Only one runs at a time, each in a process of its own, and all are launched anew again and again, since no
 * two launches compile quite alike.
 *
 * @param file the load
 * @param flags of Node, for each side
 * @param launches at least two, as their spread is what the interval is from
 * @returns each side but the first, compared with the first
 */
export async function inTurns(
  file: string,
  sides: readonly Side[],
  flags: readonly string[],
  launches: number,
): Promise<Comparison[]> {
  if (!(launches >= 2)) throw new Error(`${launches} rounds tell no interval; write --rounds 2 or more`);
  const costs: number[][] = [];
  while (costs.length < launches) costs.push(await launched(file, sides, flags));
  return sides.slice(1).map(({ name }, place) => compared(name, costs, place + 1));
}

/** Processor time of a burst on each side, in us, in one launch. */
async function launched(file: string, sides: readonly Side[], flags: readonly string[]): Promise<number[]> {
  const processes: ChildProcess[] = [];
  const [us, bursts] = [sides.map(() => 0), sides.map(() => 0)];
  try {
    // one after the other, since each simulates once to warm up
    for (const { dist, journeys } of sides) {
      const side = fork(SIDE, [file, dist, journeys], { execArgv: [...flags] });
      processes.push(side);
      await answerOf(side);
    }
    for (let turn = 0; turn < TURNS;) {
      const round: (Turn | null)[] = [];
      for (const side of processes) round.push(await turnOf(side));
      // one ended a simulation in its turn, and so had less to do
      if (round.includes(null)) continue;
      for (const [side, cost] of round.entries()) {
        us[side]! += cost!.us;
        bursts[side]! += cost!.bursts;
      }
      turn++;
    }
    return us.map((time, side) => time / bursts[side]!);
  } finally {
    for (const side of processes) side.kill();
  }
}

function turnOf(side: ChildProcess): Promise<Turn | null> {
  const answer = answerOf(side);
  side.send('go');
  return answer as Promise<Turn | null>;
}

/** What a side says next; an error where it ends instead, whose own words stand above. */
function answerOf(side: ChildProcess): Promise<unknown> {
  return new Promise((resolve, reject) => {
    const ended = (): void => reject(new Error(`${side.spawnargs.slice(-2).join(', journeys ')}: ended out of turn`));
    side.once('exit', ended);
    side.once('message', (answer) => {
      side.off('exit', ended);
      resolve(answer);
    });
  });
}
