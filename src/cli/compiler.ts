import { setFlagsFromString } from 'node:v8';

/**
 * Tells the just-in-time compiler how much to inline: the simulation is many small functions, so more of them than by
 * default, but none of the long ones, whose copies would crowd the instruction cache. It runs about a seventh faster so.
 * `npm run bench` uses the same limits. Call before the model is loaded.
 */
export function letInlineMore(): void {
  setFlagsFromString('--max-inlined-bytecode-size-cumulative=4000 --max-inlined-bytecode-size=300');
}
