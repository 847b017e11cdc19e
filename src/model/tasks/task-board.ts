import type { Actor } from '../../engine/calendar.js';
import type { Carrier } from '../../engine/carrier.js';
import { Phase } from '../../engine/phase.js';
import type { PartSpec, StepSpec, SystemSpec } from '../../scenario/scenario.js';
import type { Context, TaskDesk } from '../context.js';
import { Core } from '../core.js';
import type { Master } from '../master.js';
import { Agenda, Due, type Item } from './agenda.js';
import { askOf, Instance, isPoll, slotOf } from './instance.js';
import { stepDraws } from './step-draws.js';
import { TaskLine, type Waiting } from './task-line.js';
import { triggersOf } from './triggers.js';

type Doing<Name extends StepSpec['do']> = Extract<StepSpec, { do: Name }>;

/**
 * Leads every task through its steps. What comes due at one instant is dealt with once the instant is known as a whole
 * (phase `follow`), in the order of the agenda, so that the order of events decides nothing.
 */
export class TaskBoard implements Actor, TaskDesk {
  readonly lines: readonly TaskLine[];
  private readonly agenda = new Agenda();
  private readonly carrier: Carrier;
  private readonly masters: ReadonlyMap<string, Master | Core>;
  /** By slot: the instance under way there; and the slots that are free. */
  private readonly slots: (Instance | null)[] = [];
  private readonly free: number[] = [];

  constructor(
    private readonly context: Context,
    { tasks }: SystemSpec,
    masters: readonly (Master | Core)[],
  ) {
    const { seed, replication } = context;
    this.carrier = context.calendar.carrier(this, 0, Phase.follow);
    this.masters = new Map(masters.map((master) => [master.spec.name, master]));
    this.lines = tasks.map(
      (spec) => new TaskLine(spec, triggersOf(spec, seed, replication), stepDraws(spec, seed, replication)),
    );
    for (const [number, { trigger }] of tasks.entries()) {
      if (trigger.process !== 'after') continue;
      this.lines[tasks.findIndex(({ name }) => name === trigger.task)]!.followers.push(number);
    }
  }

  /** Sets the first triggers; call once. */
  start(): void {
    for (let task = 0; task < this.lines.length; task++) this.expectTrigger(task);
  }

  /** All that is due now; what follows at once is dealt with too. */
  wake(): void {
    const { now } = this.context.calendar;
    for (let item = this.agenda.take(now); item !== undefined; item = this.agenda.take(now)) this.handle(item, now);
    if (this.agenda.nextPs < Infinity) this.context.calendar.armBy(this.carrier, this.agenda.nextPs);
  }

  begun(ask: number, timePs: number): void {
    if (isPoll(ask)) this.slots[slotOf(ask)]!.poll.begunAt = timePs;
  }

  done(ask: number, timePs: number): void {
    const instance = this.slots[slotOf(ask)]!;
    if (isPoll(ask)) {
      this.flagRead(instance, timePs);
      return;
    }
    if (timePs > instance.readyAt) instance.readyAt = timePs;
    if (--instance.left === 0) this.add(instance.readyAt, Due.end, instance.task, instance.number);
  }

  /** Instances that were triggered and have not ended, by task: those under way, and those that wait. */
  *open(): Iterable<{ task: number; triggeredAt: number }> {
    for (const [task, { active, waiting }] of this.lines.entries()) {
      for (const { triggeredAt } of active.values()) yield { task, triggeredAt };
      for (const { triggeredAt } of waiting) yield { task, triggeredAt };
    }
  }

  private handle({ kind, task, instance: number }: Item, now: number): void {
    const line = this.lines[task]!;
    if (kind === Due.trigger) {
      this.triggered(task, number, now);
      return;
    }
    const instance = line.active.get(number)!;
    if (kind === Due.poll) this.readFlag(instance, now);
    else this.endStep(instance, now);
  }

  private add(timePs: number, kind: number, task: number, instance: number): void {
    this.agenda.add({ timePs, kind, task, instance });
    this.context.calendar.armBy(this.carrier, timePs);
  }

  private expectTrigger(task: number): void {
    const line = this.lines[task]!;
    if (line.triggers === null) return;
    line.triggers.next(0);
    if (line.triggers.atPs < line.spec.stopPs) this.add(line.triggers.atPs, Due.trigger, task, line.next++);
  }

  private triggered(task: number, number: number, now: number): void {
    const { context } = this;
    const line = this.lines[task]!;
    this.expectTrigger(task);
    if (line.full && line.spec.whenFull === 'drop') {
      context.probe.taskDropped(task, now);
      return;
    }
    if (context.window.holds(now)) context.tally.counted++;
    if (line.full) {
      line.waiting.push({ number, triggeredAt: now });
      context.probe.taskQueued(task, now);
    } else {
      this.begin(task, { number, triggeredAt: now }, now);
    }
  }

  private begin(task: number, { number, triggeredAt }: Waiting, now: number): void {
    const slot = this.free.pop() ?? this.slots.length;
    const instance = new Instance(task, number, slot, triggeredAt);
    this.slots[slot] = instance;
    this.lines[task]!.active.set(number, instance);
    this.enter(instance, 0, now);
  }

  /** Goes through the steps from `step` on, until one takes time. */
  private enter(instance: Instance, step: number, now: number): void {
    const { steps } = this.lines[instance.task]!.spec;
    for (instance.step = step; instance.step < steps.length; instance.step++) {
      instance.beganAt = now;
      instance.readyAt = now;
      this.startPolling(instance, now);
      if (this.takesTime(instance, steps[instance.step]!, now)) return;
    }
    this.end(instance, now);
  }

  private endStep(instance: Instance, now: number): void {
    const { steps } = this.lines[instance.task]!.spec;
    if (steps[instance.step]!.do === 'pass') instance.upkeepPs += now - instance.beganAt;
    this.enter(instance, instance.step + 1, now);
  }

  private end(instance: Instance, now: number): void {
    const { context } = this;
    const { task, number, slot, triggeredAt, upkeepPs } = instance;
    const line = this.lines[task]!;
    line.active.delete(number);
    this.slots[slot] = null;
    this.free.push(slot);
    if (context.window.holds(triggeredAt)) context.tally.counted--;
    context.probe.taskEnded(task, triggeredAt, upkeepPs);
    for (const follower of line.followers) {
      if (now < this.lines[follower]!.spec.stopPs) this.add(now, Due.trigger, follower, number);
    }
    const next = line.waiting.shift();
    if (next !== undefined) this.begin(task, next, now);
  }

  /** Begins a step; answers false if it is over at once. */
  private takesTime(instance: Instance, step: StepSpec, now: number): boolean {
    switch (step.do) {
      case 'wait':
        return this.wait(instance, now);
      case 'access':
        return this.access(instance, step);
      case 'pass':
        return this.pass(instance, step);
      case 'poll':
        // the reads have begun long since; the next one to begin finds the flag set
        instance.left = 1;
        return true;
    }
  }

  private wait(instance: Instance, now: number): boolean {
    const { task, number, step } = instance;
    const time = this.lines[task]!.draws.wait(step, number);
    if (time > 0) this.add(now + time, Due.end, task, number);
    return time > 0;
  }

  private access(instance: Instance, { master, write, part, accessBytes }: Doing<'access'>): boolean {
    const { task, number, step } = instance;
    const { draws } = this.lines[task]!;
    const start = startOf(part, number);
    const by = this.masters.get(master)!;
    instance.left = Math.ceil(part.bytes / accessBytes);
    for (let at = 0, request = 0; at < part.bytes; at += accessBytes, request++) {
      const bytes = Math.min(accessBytes, part.bytes - at);
      const service = draws.service(step, number, request);
      by.ask(write, start + at, bytes, service, askOf(instance, false), draws.key(step, number, request));
    }
    return true;
  }

  private pass(instance: Instance, { core, part, care }: Doing<'pass'>): boolean {
    if (core === null || care === 'none') return false;
    const { task, number, step } = instance;
    const { draws } = this.lines[task]!;
    const by = this.masters.get(core)!;
    if (!(by instanceof Core)) throw new Error(`task step: ${core} is no core`);
    instance.left = 1;
    const bytes = { startBytes: startOf(part, number), bytes: part.bytes };
    by.maintain(bytes, { care, ask: askOf(instance, false), draw: (line) => draws.dirty(step, number, line) });
    return true;
  }

  /** A core begins to read a flag once it has nothing else to do for the instance. */
  private startPolling(instance: Instance, now: number): void {
    const { steps } = this.lines[instance.task]!.spec;
    const poll = steps.findIndex(
      (step, at) => step.do === 'poll' && at >= instance.step && step.since === instance.step - 1,
    );
    if (poll < 0) return;
    instance.poll.step = poll;
    this.add(now, Due.poll, instance.task, instance.number);
  }

  private readFlag(instance: Instance, now: number): void {
    const { task, number, poll } = instance;
    const line = this.lines[task]!;
    const step = line.spec.steps[poll.step] as Doing<'poll'>;
    poll.askedAt = now;
    const by = this.masters.get(step.master)!;
    const { draws } = line;
    const service = draws.service(poll.step, number, poll.reads);
    const key = draws.key(poll.step, number, poll.reads++);
    by.ask(false, startOf(step.part, number), step.part.bytes, service, askOf(instance, true), key);
  }

  /** A read of the flag is back: it finds it set if it began after the step before the poll had ended. */
  private flagRead(instance: Instance, timePs: number): void {
    const { task, number, poll, step, beganAt } = instance;
    if (step === poll.step && poll.begunAt >= beganAt) {
      this.add(timePs, Due.end, task, number);
      return;
    }
    const { everyPs } = this.lines[task]!.spec.steps[poll.step] as Doing<'poll'>;
    this.add(Math.max(poll.askedAt + everyPs, timePs), Due.poll, task, number);
  }
}

/** First byte, within its memory, of the part that an instance works on. */
function startOf({ startBytes, bytes, places }: PartSpec, number: number): number {
  return startBytes + (number % places) * bytes;
}
