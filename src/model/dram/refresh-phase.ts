import { randomStream } from '../../engine/random.js';

/** When each rank's first refresh is due: uniform over tREFI, drawn by (seed, replication, memory, rank), whole ps. */
export function refreshPhases(
  seed: string,
  replication: number,
  memory: string,
  ranks: number,
  tREFIps: number,
): number[] {
  return Array.from({ length: ranks }, (_, rank) => {
    const draw = randomStream(seed, replication, memory, `refresh ${rank}`);
    return Math.floor(draw() * tREFIps);
  });
}
