/**
 * Speed of fixed loads: bursts and events per second on one core, the event counts asserted so that a faster number is
 * the same work. `npm run bench`, `npm run bench -- --json FILE`, `npm run bench -- --rounds N NAME…`, `--journeys stages` or
 * `blame` to keep account of where the time goes as well; `UPDATE=1` renews
 * the event counts.
 */
import { execFileSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { cpus } from 'node:os';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';

const LOADS = {
  ladder: './loads/ladder.yaml',
  'saturated-ddr': './loads/saturated-ddr.yaml',
  demonstration: '../../scenarios/grain-sorter.yaml',
  '64-masters': './loads/64-masters.yaml',
} as const;
type Load = keyof typeof LOADS;
const EXPECTED = new URL('./expected-events.json', import.meta.url);
const MEASURE = fileURLToPath(new URL('./measure.mjs', import.meta.url));

interface Measured {
  seconds: number;
  bursts: number;
  events: number;
  peakBytes: number;
}

interface Figures {
  bursts_per_s: number;
  events_per_s: number;
  ns_per_event: number;
  peak_mb: number;
}

const { values, positionals } = parseArgs({
  options: {
    json: { type: 'string' },
    rounds: { type: 'string', default: '3' },
    journeys: { type: 'string', default: 'off' },
  },
  allowPositionals: true,
});
const names = Object.keys(LOADS) as Load[];
const unknown = positionals.find((name) => !names.includes(name as Load));
if (unknown !== undefined) throw new Error(`unknown load ${unknown}; known: ${names.join(', ')}`);
const expected = JSON.parse(readFileSync(EXPECTED, 'utf8')) as Record<Load, number>;
const loads: Partial<Record<Load, Figures>> = {};

console.log(
  `${cpus().length} cores, ${cpus()[0]!.model}, Node ${process.version}; one core used, best of ${values.rounds}`,
);
for (const name of names.filter((one) => positionals.length === 0 || positionals.includes(one))) {
  const measured = measuredApart(name);
  const { bursts, events } = measured;
  if (process.env['UPDATE'] === '1') expected[name] = events;
  if (expected[name] !== events) throw new Error(`${name}: ${events} events, expected ${expected[name]}`);
  const figures = figuresOf(measured);
  loads[name] = figures;
  const cells = [
    `${figures.bursts_per_s} bursts/s`,
    `${figures.events_per_s} events/s`,
    `${figures.ns_per_event} ns/event`,
    `${figures.peak_mb} MB`,
  ];
  console.log(
    `${name.padEnd(16)} ${cells.map((cell) => cell.padStart(18)).join('')}  ${bursts} bursts, ${events} events`,
  );
}
if (process.env['UPDATE'] === '1') writeFileSync(EXPECTED, `${JSON.stringify(expected, null, 2)}\n`);
if (values.json !== undefined) writeFileSync(values.json, `${JSON.stringify({ loads }, null, 2)}\n`);

/** A load in a process of its own: in one process the loads would share compiled code and slow each other. */
function measuredApart(name: Load): Measured {
  const file = fileURLToPath(new URL(LOADS[name], import.meta.url));
  const flags = process.execArgv.filter((flag) => flag.startsWith('--max-inlined') || flag === '--expose-gc');
  const text = execFileSync(process.execPath, [...flags, MEASURE, file, values.rounds, values.journeys], {
    encoding: 'utf8',
  });
  return JSON.parse(text) as Measured;
}

function figuresOf({ seconds, bursts, events, peakBytes }: Measured): Figures {
  return {
    bursts_per_s: Math.round(bursts / seconds),
    events_per_s: Math.round(events / seconds),
    ns_per_event: Math.round((seconds * 1e10) / events) / 10,
    peak_mb: Math.round(peakBytes / 1e6),
  };
}
