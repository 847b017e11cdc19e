import type { Problem, ProblemCode } from '../errors.js';
import type { Parsed, ParsedSystem, TaskKeys } from './parse-system.js';
import { pathOf } from './paths.js';
import { problemAt } from './problem.js';
import type { BufferSpec, Care, MasterSpec, PartSpec, StepSpec, SystemSpec, TaskSpec } from './scenario.js';
import { suggestion } from './suggestion.js';
import { child, textOf, type Tree } from './tree.js';

/** Bytes of a core's access where a step does not say. */
const CORE_ACCESS_BYTES = 8;

type StepKeys = TaskKeys['steps'][number];
type AccessKeys = Extract<StepKeys, { do: 'read' | 'write' | 'fetch' | 'doorbell' | 'poll' }>;
type PassKeys = Extract<StepKeys, { do: 'hand_over' | 'take_back' }>;

/**
 * A task as the placement has it: who does each step, where, and what a hand-over costs there. What is wrong goes to
 * `problems`, and the answer is then undefined. Masters are told what is asked of them.
 */
export function resolveTask(
  { name, tree, keys }: Parsed<TaskKeys>,
  parsed: ParsedSystem,
  system: SystemSpec,
  problems: Problem[],
): TaskSpec | undefined {
  if (keys === undefined) return undefined;
  const resolver = new Resolver(child(tree, 'steps') ?? tree, keys.steps, writtenIn(parsed), system, problems);
  const steps = keys.steps.map((_, at) => resolver.step(at));
  if (steps.some((step) => step === undefined)) return undefined;
  return { name, ...keys, steps: steps as StepSpec[] };
}

/** Reports triggers that name no task, or that wait for one another in a ring. */
export function checkTriggers({ tasks }: ParsedSystem, problems: Problem[]): void {
  const before = new Map(tasks.map(({ name, tree }) => [name, textOf(child(child(tree, 'trigger'), 'task'))]));
  for (const { name, tree } of tasks) {
    const at = child(child(tree, 'trigger'), 'task');
    const other = before.get(name);
    if (at === undefined || other === undefined) continue;
    if (!before.has(other)) {
      const hint = suggestion(other, before.keys());
      problems.push(problemAt(at.place, 'unknown_name', `unknown task '${other}'`, other, hint));
      continue;
    }
    const ring = [name];
    for (let one: string | undefined = other; one !== undefined && !ring.includes(one); one = before.get(one)) {
      ring.push(one);
      if (before.get(one) !== name) continue;
      const message = `tasks must not wait for one another in a ring: ${[...ring, name].join(' → ')}`;
      problems.push(problemAt(at.place, 'cycle', message, other, 'give one of them a trigger of its own'));
    }
    if (other === name) {
      problems.push(problemAt(at.place, 'cycle', 'must not come after itself', other, 'name another task'));
    }
  }
}

/** Names that are written, whether or not what they name has a mistake of its own: that is told where it stands. */
interface Written {
  /** Of masters and groups: how many masters bear the name. */
  readonly masters: ReadonlyMap<string, number>;
  readonly buffers: ReadonlySet<string>;
}

function writtenIn({ masters, buffers }: ParsedSystem): Written {
  const counts = new Map<string, number>();
  for (const { name, tree } of masters) {
    for (const one of new Set([name, textOf(child(tree, 'group')) ?? name]))
      counts.set(one, (counts.get(one) ?? 0) + 1);
  }
  return {
    masters: counts,
    buffers: new Set(buffers.map(({ name }) => name)),
  };
}

class Resolver {
  private place: Tree;

  constructor(
    private readonly tree: Tree,
    private readonly steps: readonly StepKeys[],
    private readonly written: Written,
    private readonly system: SystemSpec,
    private readonly problems: Problem[],
  ) {
    this.place = tree;
  }

  step(at: number): StepSpec | undefined {
    this.place = child(this.tree, String(at)) ?? this.tree;
    const keys = this.steps[at]!;
    switch (keys.do) {
      case 'compute':
        return { do: 'wait', time: keys.time };
      case 'interrupt':
        return this.core(keys.core) === undefined ? undefined : { do: 'wait', time: keys.latency };
      case 'hand_over':
      case 'take_back':
        return this.pass(keys);
      case 'poll':
        return this.poll(keys, at);
      default:
        return this.access(keys);
    }
  }

  private access(keys: Exclude<AccessKeys, { do: 'poll' }>): StepSpec | undefined {
    const write = keys.do === 'write' || keys.do === 'doorbell';
    const bell = keys.do === 'doorbell';
    const master = bell ? this.core(keys.master) : this.worker(keys.master, write);
    const part = master && this.part(keys, this.bufferOf(keys, master), master, bell ? 'core' : 'master');
    if (master === undefined || part === undefined) return undefined;
    if (bell && this.buffer(part.buffer)!.cached !== 'no') {
      return this.fault(
        'buffer',
        'conflict',
        'a doorbell must go to a buffer that is not cached',
        `write 'cached: no' there`,
      );
    }
    ask(master, write);
    return { do: 'access', master: master.name, write, part, accessBytes: accessOf(keys.access, master, part) };
  }

  private poll(keys: Extract<AccessKeys, { do: 'poll' }>, at: number): StepSpec | undefined {
    const master = this.core(keys.master);
    const part = master && this.part(keys, this.bufferOf(keys, master), master, 'core');
    if (master === undefined || part === undefined) return undefined;
    const writers = this.steps.slice(0, at).filter((step) => this.sets(step, part, keys));
    if (writers.length === 0) {
      const hint = `write the flag in a step before, e.g. '{do: write, master: …, buffer: ${part.buffer}, bytes: 4 B}'`;
      return this.fault('do', 'conflict', `nothing sets the flag in '${part.buffer}' before it is polled`, hint);
    }
    ask(master, false);
    const since = this.steps.slice(0, at).findLastIndex((step) => this.names(step).includes(master.name));
    const other = this.steps.findIndex((step, i) => step.do === 'poll' && i > since && i < at);
    if (other >= 0) return this.fault('do', 'conflict', 'two polls must not be under way at once', 'leave one out');
    return { do: 'poll', master: master.name, part, everyPs: keys.everyPs, since };
  }

  /** Does a step write to the part that is polled? */
  private sets(step: StepKeys, flag: PartSpec, keys: Stretch): boolean {
    if (step.do !== 'write') return false;
    return this.bufferOf(step, this.masters(step.master)[0]) === flag.buffer && overlap(step, keys);
  }

  private names(step: StepKeys): string[] {
    switch (step.do) {
      case 'compute':
        return [];
      case 'interrupt':
        return [step.core];
      case 'hand_over':
      case 'take_back':
        return [step.from, step.to];
      default:
        return [step.master];
    }
  }

  private pass(keys: PassKeys): StepSpec | undefined {
    const from = this.side(keys.from, 'from');
    const to = this.side(keys.to, 'to');
    const buffer = this.buffer(keys.buffer);
    if (buffer === undefined) return this.unknownBuffer(keys.buffer);
    if (keys.from === keys.to) {
      return this.fault(
        'to',
        'conflict',
        'must be another than who has it',
        'name who has it next, or leave the step out',
      );
    }
    if (from === undefined || to === undefined) return undefined;
    const gives = keys.do === 'hand_over';
    const [own, other] = gives ? [from, to] : [to, from];
    if (!isCore(own) && isCore(other)) {
      const word = gives ? 'take_back' : 'hand_over';
      const rule = gives ? 'a hand-over must be from a core, or between others' : 'a core must take it back';
      return this.fault('do', 'conflict', rule, `write '${word}' or swap the sides`);
    }
    const parts = [...own, ...other].map((master) =>
      this.part(keys, keys.buffer, master, gives ? 'to' : 'from', isCore([master])),
    );
    if (parts.some((part) => part === undefined)) return undefined;
    const core = isCore(own) ? own[0]! : null;
    const care = core === null ? 'none' : this.care(keys, buffer, core, other);
    return { do: 'pass', core: core?.name ?? null, part: parts[0]!, care };
  }

  /** What the core has to do, by who is on the other side, how the buffer is marked, and what it is used for. */
  private care(keys: PassKeys, buffer: BufferSpec, own: MasterSpec, other: readonly MasterSpec[]): Care {
    if (buffer.cached !== 'yes') return 'barrier';
    const past = other.filter((master) => !this.isCoherent(master, buffer, own));
    if (past.length === 0) return 'barrier';
    const writes = keys.use === null ? this.writes(past, keys) : keys.use !== 'read' && mayWrite(past, other);
    if (keys.do === 'take_back') return writes ? 'invalidate' : 'barrier';
    return writes ? 'clean_invalidate' : 'clean';
  }

  /** Do steps of this task have one of the masters write to what is handed over? */
  private writes(others: readonly MasterSpec[], keys: PassKeys): boolean {
    return this.steps.some((step) => {
      if (step.do !== 'write') return false;
      const masters = this.masters(step.master).filter((master) => master.readShare < 1);
      return masters.some((master) => {
        return others.includes(master) && this.bufferOf(step, master) === keys.buffer && overlap(step, keys);
      });
    });
  }

  /** Do the accesses of a master meet those of a core, in the caches of one unit? Behind another one they do not. */
  private isCoherent(master: MasterSpec, buffer: BufferSpec, core: MasterSpec): boolean {
    const end = pathOf(this.system, { ...master, buffer: buffer.name })?.at(-1);
    return end?.way === 'lookup' && end.element.name === core.attach;
  }

  /** The bytes that a step is about, where the master can reach them on its own way. */
  private part(
    keys: Pick<AccessKeys, 'offset' | 'bytes' | 'rotate'>,
    name: string,
    master: MasterSpec,
    key: string,
    onItsWay = true,
  ): PartSpec | undefined {
    const buffer = this.buffer(name);
    if (buffer === undefined) return this.unknownBuffer(name);
    if (onItsWay && !this.isOnWay(master, buffer)) {
      const own = this.buffer(master.buffer)!;
      const rule = `'${master.name}' does not reach buffer '${name}' on its way to '${own.name}'`;
      const hint = `name a master that works in '${name}', or give this one a buffer of that memory and marking`;
      return this.fault(child(this.place, 'buffer') === undefined ? key : 'buffer', 'no_route', rule, hint);
    }
    if (pathOf(this.system, { ...master, buffer: name }) === undefined) {
      const rule = `'${master.name}' does not reach '${buffer.memory}', where buffer '${name}' lies`;
      return this.fault(key, 'no_route', rule, 'attach it elsewhere');
    }
    const memory = this.system.elements.find((element) => element.name === buffer.memory)!;
    if (memory.kind === 'device' && memory.full === 'lose' && memory.queueDepth < Infinity) {
      return this.fault('buffer', 'conflict', `'${memory.name}' loses what finds it full`, `write 'full: hold' there`);
    }
    const bytes = keys.bytes ?? buffer.bytes - keys.offset;
    if (bytes < 1 || keys.offset + bytes > buffer.bytes) {
      const rule = `must lie within buffer '${name}' of ${buffer.bytes} B`;
      return this.fault(keys.bytes === null ? 'offset' : 'bytes', 'out_of_range', rule, 'make it smaller');
    }
    const places = keys.rotate ? Math.floor((buffer.bytes - keys.offset) / bytes) : 1;
    return { buffer: name, startBytes: buffer.baseBytes + keys.offset, bytes, places };
  }

  /** A master has one way: to the memory of its own buffer, through the caches or past them. */
  private isOnWay(master: MasterSpec, buffer: BufferSpec): boolean {
    const own = this.buffer(master.buffer);
    if (own === undefined || own.memory !== buffer.memory) return false;
    if (master.core !== null) return own.cached === buffer.cached;
    const end = (name: string) => pathOf(this.system, { ...master, buffer: name })?.at(-1);
    return end(own.name)?.element === end(buffer.name)?.element;
  }

  private core(name: string): MasterSpec | undefined {
    const [found] = this.masters(name);
    if (found === undefined) return this.unknown('core', name);
    if (found.name === name && found.core !== null) return found;
    return this.fault('core', 'conflict', `'${name}' must be a core`, `write 'core: yes' there or name a core`);
  }

  /** The master of that name; of a group the only one that does such things. */
  private worker(name: string, write: boolean): MasterSpec | undefined {
    const all = this.masters(name);
    if (all.length === 0) return this.unknown('master', name);
    // one of the group has a mistake of its own
    if (all.length < (this.written.masters.get(name) ?? 0)) return undefined;
    if (all.length === 1 && all[0]!.name === name) return all[0];
    const able = all.filter(({ readShare }) => (write ? readShare < 1 : readShare > 0));
    if (able.length === 1) return able[0];
    const rule = `group '${name}' has ${able.length} masters that ${write ? 'write' : 'read'}`;
    const names = (able.length > 0 ? able : all).map((master) => master.name).join(', ');
    return this.fault('master', 'conflict', rule, `name one: ${names}`);
  }

  private side(name: string, key: 'from' | 'to'): MasterSpec[] | undefined {
    const all = this.masters(name);
    return all.length > 0 ? all : this.unknown(key, name);
  }

  private masters(name: string): MasterSpec[] {
    const one = this.system.masters.filter((master) => master.name === name);
    return one.length > 0 ? one : this.system.masters.filter(({ group }) => group === name);
  }

  private bufferOf({ buffer }: { buffer: string | null }, master: MasterSpec | undefined): string {
    return buffer ?? master?.buffer ?? '';
  }

  private buffer(name: string): BufferSpec | undefined {
    return this.system.buffers.find((buffer) => buffer.name === name);
  }

  private unknown(key: string, name: string): undefined {
    const { masters } = this.written;
    if (masters.has(name) || masters.size === 0) return undefined;
    return this.fault(key, 'unknown_name', `unknown master or group '${name}'`, suggestion(name, masters.keys()));
  }

  private unknownBuffer(name: string): undefined {
    const { buffers } = this.written;
    if (buffers.has(name) || buffers.size === 0) return undefined;
    return this.fault('buffer', 'unknown_name', `unknown buffer '${name}'`, suggestion(name, buffers));
  }

  private fault(key: string, code: ProblemCode, message: string, hint: string): undefined {
    const written = child(this.place, key);
    const { place } = written ?? this.place;
    this.problems.push(problemAt(place, code, message, textOf(written) ?? null, hint));
    return undefined;
  }
}

/** What a step says of where in a buffer it works. */
type Stretch = Pick<AccessKeys, 'offset' | 'bytes' | 'rotate'>;

/** May two steps meet the same bytes of one buffer? */
function overlap(a: Stretch, b: Stretch): boolean {
  const end = ({ offset, bytes, rotate }: Stretch): number => (rotate || bytes === null ? Infinity : offset + bytes);
  return a.offset < end(b) && b.offset < end(a);
}

function isCore(masters: readonly MasterSpec[]): boolean {
  return masters.length === 1 && masters[0]!.core !== null;
}

/** Of a group that is coherent in part: what is written may be what its coherent masters write. */
function mayWrite(past: readonly MasterSpec[], all: readonly MasterSpec[]): boolean {
  return past.length === all.length || past.some(({ readShare }) => readShare < 1);
}

function ask({ asked }: MasterSpec, write: boolean): void {
  if (write) asked.writes = true;
  else asked.reads = true;
}

function accessOf(stated: number | null, { core }: MasterSpec, { bytes }: PartSpec): number {
  return Math.min(bytes, stated ?? (core === null ? bytes : CORE_ACCESS_BYTES));
}
