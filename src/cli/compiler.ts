import { setFlagsFromString } from 'node:v8';

/**
 * Lets the just-in-time compiler inline more than it does by itself: the simulation is many small functions, and runs
 * about a tenth faster so (`npm run bench` uses the same limit). Call before the model is loaded.
 */
export function letInlineMore(): void {
  setFlagsFromString('--max-inlined-bytecode-size-cumulative=4000');
}
