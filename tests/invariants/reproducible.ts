import seedrandom from 'seedrandom';
import { pathOf } from '../../src/scenario/paths.js';
import type { MasterSpec, SystemSpec } from '../../src/scenario/scenario.js';
import type { Invariant } from './invariant.js';
import { observe, type Observation } from './observation.js';
import type { Wanted } from './watch.js';

/**
 * 7. A run is a function of its inputs: the same bytes a second time and in any order of events within a phase; a master
 * that never issues changes nothing; other masters, and where one is attached, change nobody's draws.
 */
export const reproducible: Invariant = {
  number: 7,
  name: 'reproducible',
  states: 'a run is a function of its inputs, and nobody else changes what a master draws',
  *breaches({ system, observation }) {
    const plain = digest(observation);
    yield* difference('the second time', plain, digest(observe(system)));
    const draws = seedrandom.xor4096(`order ${system.run.seed}`);
    yield* difference('in another order within the phases', plain, digest(observe(system, () => draws.double())));
    yield* difference('with a silent master more', plain, digest(observe(withSilent(system))));
    yield* draw(system, observation);
  },
};

/** All that a run found, a line each, in an order of its own. */
function digest({ watch, result, simulation }: Observation): string[] {
  const { events: _, ...found } = result;
  const bursts = watch.records
    .filter(({ number }) => number >= 0)
    .toSorted((a, b) => a.master - b.master || Number(a.write) - Number(b.write) || a.number - b.number)
    .map(({ serial: _serial, route: _route, ...rest }) => JSON.stringify(rest));
  const own = watch.records
    .filter(({ number }) => number < 0)
    .map(({ address, bytes, write, acceptedAt, grantedAt, doneAt }) =>
      JSON.stringify([acceptedAt, doneAt, address, bytes, write, grantedAt]),
    );
  const commands = watch.commands.map((command) => JSON.stringify(command)).toSorted();
  const tables = Object.entries(found).map(([name, part]) => `${name}: ${JSON.stringify(part)}`);
  const ends = [`at rest at ${watch.records.reduce((last, { doneAt }) => Math.max(last, doneAt), 0)}`];
  const warnings = [...simulation.context.warnings].map((warning) => warning.join(' × '));
  return [...tables, ...bursts, ...own.toSorted(), ...commands, ...ends, ...warnings.toSorted()];
}

function* difference(when: string, expected: readonly string[], got: readonly string[]): Iterable<string> {
  const at = expected.findIndex((line, i) => line !== got[i]);
  if (at < 0 && got.length === expected.length) return;
  const [was, is] = [
    expected[at < 0 ? expected.length : at] ?? 'nothing',
    got[at < 0 ? expected.length : at] ?? 'nothing',
  ];
  let from = 0;
  while (from < was.length && was[from] === is[from]) from++;
  const part = (text: string): string => text.slice(Math.max(0, from - 80), from + 120);
  yield `${when}: “${part(is)}” where it was “${part(was)}”`;
}

/** A further master that never issues, beside the first one. At a coherence unit it would be a requester, with its own share. */
function withSilent(system: SystemSpec): SystemSpec {
  const neighbour = system.masters.find(({ core }) => core === null);
  if (neighbour === undefined) return system;
  const silent: MasterSpec = {
    ...neighbour,
    name: 'silent',
    issue: { process: 'silent' },
    asked: { reads: false, writes: false },
  };
  return { ...system, masters: [...system.masters, silent] };
}

/** Takes the first master away and moves the others to other ports: what each of them wants must stay as it was. */
function* draw(system: SystemSpec, observation: Observation): Iterable<string> {
  const others = system.masters.slice(1).map((master) => movedOn(system, master));
  if (others.length === 0) return;
  // tasks may need the first: without them only what nobody is asked for must stay
  const elsewhere = observe({ ...system, masters: others, tasks: [] });
  for (const [index, master] of others.entries()) {
    if (master.asked.reads || master.asked.writes) continue;
    const now = wantsOf(elsewhere, index, master);
    for (const [what, list] of wantsOf(observation, index + 1, master)) {
      const other = now.get(what);
      // one that loses something in either run has no such list there
      if (other === undefined) continue;
      const length = Math.min(list.length, other.length);
      yield* difference(`${master.name}'s ${what} among others`, list.slice(0, length), other.slice(0, length));
    }
  }
}

function movedOn(system: SystemSpec, master: MasterSpec): MasterSpec {
  const ports = system.elements.filter(({ kind }) => kind === 'port').map(({ name }) => name);
  const at = ports.indexOf(master.attach);
  if (at < 0) return master;
  const attach = ports
    .slice(at + 1)
    .concat(ports.slice(0, at))
    .find((port) => usable(system, { ...master, attach: port }));
  return { ...master, attach: attach ?? master.attach };
}

/** Does a way lead from where it is attached to its buffer, and would it be served there? */
function usable(system: SystemSpec, master: MasterSpec): boolean {
  const at = system.elements.find(({ name }) => name === master.attach)!;
  // time slots belong to whom the port knows by name
  return pathOf(system, master) !== undefined && at.kind === 'port' && at.arbitration.policy !== 'time_slots';
}

/**
 * What a master wanted, as far as nobody's doing but its own, by name: by request, and by burst where it lost none. An open
 * source also wants at the same times. Of stores that a core merges, neither is its own.
 */
function wantsOf({ watch, system }: Observation, index: number, master: MasterSpec): Map<string, string[]> {
  const open = master.issue.process !== 'greedy' && master.issue.process !== 'dependent';
  const drops = master.whenFull === 'drop';
  const buffer = system.buffers.find(({ name }) => name === master.buffer)!;
  const merges = buffer.cached === 'combine' && master.core !== null;
  const lists = new Map<string, string[]>();
  for (const write of merges ? [false] : [false, true]) {
    const own = (one: { master: number; write: boolean }): boolean => one.master === index && one.write === write;
    const name = write ? 'writes' : 'reads';
    const bursts = watch.records.filter((record) => record.number >= 0 && own(record));
    // of a full device's sender it is told neither which bursts it would have had nor which requests it dropped
    if (bursts.some(({ lost }) => lost)) continue;
    const dropped = watch.lostRequests.filter(own);
    lists.set(`requests, ${name}`, requestLines([...watch.wanted.filter(own), ...dropped], open, drops));
    if (dropped.length > 0) continue;
    const ordered = bursts.toSorted((a, b) => a.number - b.number);
    lists.set(
      `bursts, ${name}`,
      ordered.map(({ address, bytes, serviceDraw }) => `${bytes} bytes at ${address}, ${serviceDraw}`),
    );
  }
  return lists;
}

function requestLines(requests: Wanted[], open: boolean, drops: boolean): string[] {
  if (!open) return requests.map(({ bytes }) => `${bytes} bytes`);
  const inTime = requests.toSorted((a, b) => a.wantedPs - b.wantedPs);
  // of several of one instant, some dropped and some not, either may be told first
  const alone = (i: number): boolean =>
    inTime[i]!.wantedPs !== inTime[i - 1]?.wantedPs && inTime[i]!.wantedPs !== inTime[i + 1]?.wantedPs;
  return inTime.filter((_, i) => !drops || alone(i)).map(({ bytes, wantedPs }) => `${bytes} bytes at ${wantedPs}`);
}
