import { setFlagsFromString } from 'node:v8';

/**
 * The simulation is many small functions: more of them are copied into their callers than by default, the smallest always, and
 * where they are seldom called too, as a time that is handed to one which is not becomes an object on the heap; but none of the
 * long ones, whose copies would crowd the instruction cache. What arms a carrier of the calendar is small only because what
 * places it, a little longer than the limit for one function, is never copied into it. It runs about a seventh faster so. Yet
 * more of them makes a long run of the smallest systems a tenth faster, and costs each worker seconds of compiling.
 */
export const INLINE_MORE = [
  '--max-inlined-bytecode-size-cumulative=1600',
  '--max-inlined-bytecode-size=216',
  '--max-inlined-bytecode-size-small=48',
  '--min-inlining-frequency=0.01',
];

/**
 * A short command is over before what takes care of a long run has paid for itself: a function is optimised only when it has done
 * twenty times as much as usual, nothing is collected beside the program, and collecting is no work for several threads.
 */
const SHORT = ['--interrupt-budget=1350000', '--no-incremental-marking', '--no-parallel-scavenge'];

/** Tells V8 what suits a command that is over soon, or one that simulates. Call before anything that it is to be heeded in runs. */
export function suitCompiler(command: 'short' | 'long'): void {
  setFlagsFromString((command === 'short' ? SHORT : INLINE_MORE).join(' '));
}
