/**
 * Speed on one core: fixed loads, with their event counts asserted, so that a faster number is the same work; and the event
 * list beside one compiled from C++. `npm run bench [-- LOAD… | yardstick]` with `--rounds N`, `--json FILE`, `--against FILE`
 * (ratios to an earlier JSON), `--profile` (where the time goes, by part), `--heap` (what is left on the heap, by function;
 * nothing is timed then), `--journeys stages` or `blame` (keep account of
 * where bursts spend their time as well), `--timeline on` (of the course over time). `UPDATE=1` renews the event counts.
 * `--turns SIDE,SIDE…` compares instead: each side is an account of journeys (`off`, `stages`, `blame`) or the folder of another
 * build, and all run in turns of some milliseconds, so that what slows the machine down slows down each of them.
 */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { INLINE_MORE, suitCompiler } from '../../src/cli/compiler.js';
import { type Figures, figuresOf, type Measured } from './figures.js';
import { type Load, LOADS } from './loads.js';
import { profiled, profileFlags } from './profile.js';
import { inTurns, type Side } from './turns/turns.js';
import { type Holds, yardstick } from './yardstick/yardstick.js';

/** What a run leaves as JSON. */
interface Results {
  readonly journeys: string;
  readonly loads: Record<string, Figures>;
  readonly holds: readonly Holds[];
}

const YARDSTICK = 'yardstick';
const EXPECTED = new URL('./expected-events.json', import.meta.url);
const OWN = fileURLToPath(new URL('../../dist', import.meta.url));
const MEASURE = fileURLToPath(new URL('./measure.mjs', import.meta.url));
const HEAP = fileURLToPath(new URL('./heap.mjs', import.meta.url));
/** Parts of a profile that are shown, or functions. */
const SHOWN = 20;

const { values, positionals } = parseArgs({
  options: {
    json: { type: 'string' },
    against: { type: 'string' },
    rounds: { type: 'string', default: '7' },
    journeys: { type: 'string', default: 'off' },
    timeline: { type: 'string', default: 'off' },
    profile: { type: 'boolean', default: false },
    heap: { type: 'boolean', default: false },
    turns: { type: 'string' },
  },
  allowPositionals: true,
});
const known = [...LOADS.map(({ name }) => name), YARDSTICK];
const unknown = positionals.find((name) => !known.includes(name));
if (unknown !== undefined) throw new Error(`unknown load ${unknown}; write one of ${known.join(', ')}`);
const isChosen = (name: string): boolean => positionals.length === 0 || positionals.includes(name);
const earlier = values.against === undefined ? null : (JSON.parse(readFileSync(values.against, 'utf8')) as Results);
const flags = [...INLINE_MORE, '--expose-gc'];

suitCompiler('long');
const { length: cores } = cpus();
console.log(`${cores} cores, ${cpus()[0]!.model}, Node ${process.version}; one core used, ${values.rounds} rounds`);
console.log(`journeys: ${values.journeys}\n`);
const loads: Record<string, Figures> = {};
const chosen = LOADS.filter(({ name }) => isChosen(name));
if (values.heap) for (const load of chosen) await allocatedBy(load);
else if (values.turns === undefined) for (const load of chosen) loads[load.name] = await benched(load);
else for (const load of chosen) await inTurnsOn(load, values.turns.split(',').map(sideOf));
const isTimed = !values.profile && !values.heap && values.turns === undefined;
const holds = isChosen(YARDSTICK) && isTimed ? held() : [];
if (values.json !== undefined) {
  const results: Results = { journeys: values.journeys, loads, holds };
  writeFileSync(values.json, `${JSON.stringify(results, null, 2)}\n`);
}

/** A side by its name: an account of journeys, or the folder of a build. */
function sideOf(name: string): Side {
  const isAccount = ['off', 'stages', 'blame'].includes(name);
  return { name, dist: isAccount ? OWN : name, journeys: isAccount ? name : values.journeys };
}

/** Prints how many bytes a burst are left on the heap, and by whom. */
async function allocatedBy(load: Load): Promise<void> {
  const answer = await withFile(load, (file) =>
    execFileSync(process.execPath, [...flags, HEAP, file, values.journeys], { encoding: 'utf8' }),
  );
  const { bursts, functions } = JSON.parse(answer) as { bursts: number; functions: { name: string; bytes: number }[] };
  const total = functions.reduce((sum, { bytes }) => sum + bytes, 0);
  console.log(`${load.name}: ${(total / bursts).toFixed(1)} bytes a burst on the heap, of ${bursts} bursts`);
  for (const { name, bytes } of functions.slice(0, SHOWN)) {
    console.log(`  ${(bytes / bursts).toFixed(1).padStart(6)}  ${name}`);
  }
}

/** Compares sides on a load, each launched anew some times, since no two launches compile quite alike. */
async function inTurnsOn(load: Load, sides: readonly Side[]): Promise<void> {
  console.log(`${load.name}: processor time of a burst, as a multiple of that of ${sides[0]!.name}`);
  for (const { name, ratio, low, high } of await withFile(load, (file) =>
    inTurns(file, sides, flags, Number(values.rounds)),
  )) {
    console.log(`  ${name}: ${ratio.toFixed(3)} (95 %: ${low.toFixed(3)} to ${high.toFixed(3)})`);
  }
}

/** Measures a load and prints its line. */
async function benched(load: Load): Promise<Figures> {
  const measured = await measuredApart(load);
  expectEvents(load.name, measured.events);
  const figures = figuresOf(measured);
  console.log(`${load.name}: ${load.about}; ${measured.bursts} bursts, ${measured.events} events`);
  const { bursts_per_s_median: median, bursts_per_s_best: best, spread } = figures;
  console.log(`  ${median} bursts/s in the median, ${best} at best, spread ${Math.round(100 * spread)} %`);
  console.log(
    `  ${figures.column_accesses_per_s} column accesses/s, ${figures.lookups_per_s} lookups/s, ${figures.events_per_s} events/s`,
  );
  console.log(
    `  ${figures.ns_per_burst} ns a burst, ${figures.ns_per_event} ns an event, ${figures.events_per_burst} events a burst, ${figures.peak_mb} MB, young generation collected ${figures.young_collections} times`,
  );
  const before = earlier?.loads[load.name];
  if (before !== undefined)
    console.log(`  ${(median / before.bursts_per_s_median).toFixed(3)} times as fast as before`);
  return figures;
}

/** A load in a process of its own: in one process the loads would share compiled code and slow each other. */
function measuredApart(load: Load): Promise<Measured> {
  return withFile(load, (file) => {
    const run = (more: readonly string[]): string =>
      execFileSync(
        process.execPath,
        [...flags, ...more, MEASURE, file, values.rounds, values.journeys, values.timeline],
        {
          encoding: 'utf8',
        },
      );
    if (!values.profile) return JSON.parse(run([])) as Measured;
    let answer = '';
    const parts = profiled((profiles) => (answer = run(profileFlags(profiles))));
    for (const { part, share } of parts.slice(0, SHOWN)) {
      console.log(`  ${(100 * share).toFixed(1).padStart(5)} %  ${part}`);
    }
    return JSON.parse(answer) as Measured;
  });
}

/** Does something with a load as a file, which is gone afterwards. */
async function withFile<T>({ name, text }: Load, use: (file: string) => T | Promise<T>): Promise<T> {
  const folder = mkdtempSync(join(tmpdir(), 'burstyard-bench-'));
  try {
    const file = join(folder, `${name}.yaml`);
    writeFileSync(file, text());
    return await use(file);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function expectEvents(name: string, events: number): void {
  const expected = JSON.parse(readFileSync(EXPECTED, 'utf8')) as Record<string, number>;
  if (process.env['UPDATE'] === '1') {
    writeFileSync(EXPECTED, `${JSON.stringify({ ...expected, [name]: events }, null, 2)}\n`);
  } else if (expected[name] !== events) {
    throw new Error(`${name}: ${events} events, expected ${expected[name]}`);
  }
}

/** The yardstick's table; beside it what a saturated burst costs in holds of C++ at 256 pending. */
function held(): Holds[] {
  console.log('\nhold model, ns a hold: ours, std::priority_queue in C++ (-O3), ratio');
  const all = yardstick(flags, ({ grid, pending, ours_ns: ours, cpp_ns: cpp }) => {
    const beside = cpp === null ? 'no C++ compiler here' : `${cpp.toFixed(1)}  ${(ours / cpp).toFixed(2)}`;
    console.log(`  ${grid.padEnd(12)}${String(pending).padStart(6)}  ${ours.toFixed(1).padStart(6)}  ${beside}`);
  });
  const one = all.find(({ grid, pending }) => grid === 'picoseconds' && pending === 256)?.cpp_ns ?? null;
  const burst = loads['saturated-ddr']?.ns_per_burst;
  if (one !== null && burst !== undefined) console.log(`a saturated burst costs ${(burst / one).toFixed(1)} holds`);
  return all;
}
