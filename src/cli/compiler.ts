import { setFlagsFromString } from 'node:v8';

/**
 * Tells the just-in-time compiler how much to inline: the simulation is many small functions, so more of them than by
 * default, but none of the long ones, whose copies would crowd the instruction cache. It runs about a seventh faster so. Yet
 * more of them makes a long run of the smallest systems a tenth faster, and costs each worker seconds of compiling.
 * `npm run bench` uses the same limits. Call before the model is loaded.
 */
export function letInlineMore(): void {
  setFlagsFromString('--max-inlined-bytecode-size-cumulative=1600 --max-inlined-bytecode-size=300');
}
