import { COMMAND_NAMES } from '../measure/logs/command-log.js';
import type { WaveChange, WaveSignal } from '../measure/logs/wave.js';
import type { SystemWave } from '../measure/logs/wave-log.js';
import { whole } from './format.js';

/** A change in the text, of a signal that has an identifier. */
interface Dumped extends WaveChange {
  readonly id: string;
  readonly bits: number;
}

/** Inner scopes by the names that the model gives them, and signals in order. */
interface Scope {
  /** Legal, and told apart from others around it. */
  readonly name: string;
  readonly scopes: Map<string, Scope>;
  readonly signals: { name: string; bits: number; id: string }[];
}

/** Lines that become text together. */
const BATCH = 10_000;

/**
 * Signals as a value change dump (IEEE Std 1364-2005, clause 18): times in ps from the start of the run, a module for each
 * placement, element and part of one. No date, so that equal runs give equal bytes.
 */
export function* valueChangeDump(systems: readonly SystemWave[]): Generator<string> {
  const { fromPs, toPs } = systems[0]!.wave;
  const root = newScope('');
  const initial: Dumped[] = [];
  const later: Dumped[][] = [];
  let count = 0;
  for (const { placement, wave } of systems) {
    const ids = wave.signals.map((signal) => {
      const id = identifier(count++);
      place(root, [placement, ...signal.scope], signal, id);
      return id;
    });
    const dumped = (change: WaveChange): Dumped => {
      return { ...change, id: ids[change.signal]!, bits: wave.signals[change.signal]!.bits };
    };
    const { initial: values, changes } = wave.read();
    for (const [signal, value] of values.entries()) initial.push(dumped({ timePs: fromPs, signal, value }));
    later.push(changes.map(dumped));
  }
  yield `${[...header(systems), ...declarations(root), '$enddefinitions $end', `#${whole(fromPs)}`].join('\n')}\n`;
  yield `${['$dumpvars', ...initial.map(line), '$end'].join('\n')}\n`;
  yield* changeLines(later);
  yield `#${whole(toPs)}\n`;
}

function* header(systems: readonly SystemWave[]): Generator<string> {
  yield '$version Burstyard $end';
  yield '$comment';
  yield '  time is from the start of the run; master: 0 nobody, else by number';
  for (const { placement, masters } of systems) {
    yield `  placement ${placement}: ${masters.map((name, index) => `${index + 1} ${name}`).join(', ')}`;
  }
  yield `  command: 0 none, ${[...COMMAND_NAMES].map(([code, name]) => `${code} ${name}`).join(', ')}`;
  yield '$end';
  yield '$timescale 1 ps $end';
}

function* declarations({ scopes, signals }: Scope): Generator<string> {
  for (const { name, bits, id } of signals) {
    const type = bits === 1 ? 'wire' : bits === 32 ? 'integer' : 'reg';
    yield `$var ${type} ${bits} ${id} ${name} $end`;
  }
  for (const inner of scopes.values()) {
    yield `$scope module ${inner.name} $end`;
    yield* declarations(inner);
    yield '$upscope $end';
  }
}

/** Changes of all systems in the order of time. */
function* changeLines(bySystem: readonly (readonly Dumped[])[]): Generator<string> {
  const next = bySystem.map(() => 0);
  let lines: string[] = [];
  let atPs = -1;
  for (;;) {
    let first = -1;
    for (const [system, changes] of bySystem.entries()) {
      const timePs = changes[next[system]!]?.timePs ?? Infinity;
      if (timePs < (first < 0 ? Infinity : bySystem[first]![next[first]!]!.timePs)) first = system;
    }
    if (first < 0) break;
    const change = bySystem[first]![next[first]!++]!;
    if (change.timePs !== atPs) lines.push(`#${whole(change.timePs)}`);
    atPs = change.timePs;
    lines.push(line(change));
    if (lines.length < BATCH) continue;
    yield `${lines.join('\n')}\n`;
    lines = [];
  }
  if (lines.length > 0) yield `${lines.join('\n')}\n`;
}

/** A scalar stands against its identifier, a vector before it (18.2.1). */
function line({ value, bits, id }: Dumped): string {
  return bits === 1 ? `${value}${id}` : `b${value.toString(2)} ${id}`;
}

/** A short code of printable characters, `!` to `~` (18.2.1). */
function identifier(number: number): string {
  let text = '';
  for (let rest = number; ; rest = Math.floor(rest / 94) - 1) {
    text = String.fromCharCode(33 + (rest % 94)) + text;
    if (rest < 94) return text;
  }
}

const newScope = (name: string): Scope => ({ name, scopes: new Map(), signals: [] });

function place(root: Scope, path: readonly string[], { name, bits }: WaveSignal, id: string): void {
  let scope = root;
  for (const part of path) {
    let inner = scope.scopes.get(part);
    if (inner === undefined) scope.scopes.set(part, (inner = newScope(apart(legal(part), scope))));
    scope = inner;
  }
  scope.signals.push({ name: legal(name), bits, id });
}

/** A name that no scope or signal around it has: `a-b` and `a_b` would become one. */
function apart(name: string, { scopes, signals }: Scope): string {
  const taken = new Set([...[...scopes.values()].map((scope) => scope.name), ...signals.map((signal) => signal.name)]);
  let free = name;
  for (let n = 2; taken.has(free); n++) free = `${name}_${n}`;
  return free;
}

/** A simple identifier of the language (3.7): letters, digits and `_`, no digit first. */
function legal(name: string): string {
  const text = name.replace(/[^A-Za-z0-9_]/g, '_');
  return /^[0-9]/.test(text) ? `_${text}` : text;
}
