/** What the program's exit code says. */
export const ExitCode = {
  done: 0,
  /** A problem in the scenario or its data, or a budget missed. */
  problem: 1,
  /** The program was called in a wrong way. */
  usage: 2,
  /** The data do not decide a budget. */
  undecided: 3,
  /** Ctrl-C, as shells have it: 128 and the number of the signal. */
  stopped: 130,
  /** A fault of ours. */
  fault: 70,
} as const;
