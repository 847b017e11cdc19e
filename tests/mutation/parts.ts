/** What is mutated together, and the tests that its mutants are put to. */
export interface Part {
  readonly name: string;
  readonly mutate: readonly string[];
  /** Files or globs; those that fail soonest first, since a mutant runs until the first test fails. */
  readonly tests: readonly string[];
}

/** Scripts of single commands and bursts first, whole runs last. */
const DRAM_TESTS = [
  'tests/scenario/{dram-timing,dram-gaps}.test.ts',
  'tests/model/dram/{access-queue,arrivals,entries,entry-ages,planner,planner-ties,drain,channel,hazards}.test.ts',
  'tests/model/dram/{bank-state,hazard-counts,slow-commands}.test.ts',
  'tests/model/dram/{data-bus,dram-use,dram-use-window,mapping}.test.ts',
  'tests/model/dram/{refresh,refresh-turns,id-order,id-order-streams,front-end}.test.ts',
  'tests/model/dram/scheduler-short.test.ts',
];

export const PARTS: readonly Part[] = [
  {
    name: 'engine',
    mutate: ['src/engine/**/*.ts'],
    tests: ['tests/engine/**/*.test.ts'],
  },
  {
    name: 'arbiter',
    mutate: ['src/model/arbiter.ts'],
    tests: ['tests/model/arbiter.test.ts'],
  },
  {
    name: 'cache-arrays',
    mutate: [
      'src/model/coherence/{tag-store,replacement,private-cache,directory,miss-entries,write-back-buffer}.ts',
      'src/model/coherence/{line-map,cache-counts,tag-pipeline,held-requests,combining-buffer}.ts',
    ],
    tests: [
      'tests/model/coherence/{tag-store,replacement,private-cache,parts,directory,miss-entries,cache-counts}.test.ts',
      'tests/model/coherence/{tag-pipeline,held-requests,combining-buffer,write-back-buffer}.test.ts',
    ],
  },
  {
    name: 'coherence',
    mutate: [
      'src/model/coherence/{structural-model,coherence-unit,model-of,statistical-model,draws,stale-finder}.ts',
      'src/model/coherence/{burst-lines,written-lines,data-array}.ts',
    ],
    tests: [
      'tests/model/coherence/{unit-lookups,snoops,non-inclusive,statistical-model,stale-finder}.test.ts',
      'tests/model/coherence/{coherence-unit,cached-core}.test.ts',
    ],
  },
  {
    name: 'dram-timing',
    mutate: [
      'src/model/dram/{bank,bank-state,data-bus,hazards,refresh,refresh-phase,slow-commands}.ts',
      'src/scenario/{dram-timing,dram-gaps}.ts',
    ],
    tests: DRAM_TESTS,
  },
  {
    name: 'dram-scheduling',
    mutate: ['src/model/dram/{planner,drain,arrivals,entries,entry-ages,id-order}.ts'],
    tests: DRAM_TESTS,
  },
  {
    name: 'dram-queue',
    mutate: ['src/model/dram/{access-queue,access,side}.ts'],
    tests: DRAM_TESTS,
  },
  {
    name: 'dram-channel',
    mutate: ['src/model/dram/{channel,forecast}.ts'],
    tests: DRAM_TESTS,
  },
  {
    name: 'dram-controller',
    mutate: ['src/model/dram/{controller,front-end,mapping,read-pieces,dram-use,entry-watch}.ts'],
    tests: [...DRAM_TESTS, 'tests/model/dram/controller.test.ts'],
  },
  {
    name: 'dram-idle',
    mutate: ['src/model/dram/{idle-dram,unloaded}.ts'],
    tests: ['tests/model/dram/unloaded.test.ts'],
  },
];

/** The part of that name. Throws a RangeError that lists the names. */
export function partOf(name: string): Part {
  const part = PARTS.find((one) => one.name === name);
  if (part === undefined) throw new RangeError(`no part ${name}; there are ${PARTS.map((one) => one.name).join(', ')}`);
  return part;
}
