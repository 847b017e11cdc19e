/** `npm run place-trial -- [SEEDS]`: how often the search picks as well as trying all, and what it spends. */
import { tryPlacing } from './trial.js';

const seeds = Number(process.argv[2] ?? 20);
let good = 0;
let most = 0;
for (let seed = 1; seed <= seeds; seed++) {
  const trial = await tryPlacing(String(seed));
  if (trial.good) good++;
  most = Math.max(most, trial.share);
  const figures = `off by ${(100 * trial.loss).toFixed(2)} %, ${(100 * trial.share).toFixed(1)} % of the time`;
  console.log(`seed ${trial.seed}: ${trial.good ? 'good' : 'WRONG'}, ${trial.pick}, ${figures}`);
}
console.log(`${good} of ${seeds} good, at most ${(100 * most).toFixed(1)} % of the simulated time`);
