/** What each command does, loaded when it is called. A build makes one file of it (bundle.ts). */
export const commands = {
  run: async () => (await import('./run.js')).runCommand,
  compare: async () => (await import('./compare.js')).compareCommand,
  report: async () => (await import('./report.js')).reportCommand,
  place: async () => (await import('./place.js')).placeCommand,
  sweep: async () => (await import('./sweep.js')).sweepCommand,
  sensitivity: async () => (await import('./sensitivity.js')).sensitivityCommand,
  check: async () => (await import('./check.js')).checkCommand,
  new: async () => (await import('./language.js')).newCommand,
  explain: async () => (await import('./language.js')).explainCommand,
  schema: async () => (await import('./language.js')).schemaCommand,
};

export type Commands = typeof commands;
