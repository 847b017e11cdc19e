import { describe, expect, it } from 'vitest';
import { Calendar, type Actor } from '../../src/engine/calendar.js';
import { Phase } from '../../src/engine/phase.js';
import { randomStream } from '../../src/engine/random.js';
import { NaiveCalendar } from './naive-calendar.js';

class Trace implements Actor {
  readonly seen: [number, number][] = [];
  constructor(private readonly calendar: Calendar) {}
  wake(tag: number): void {
    this.seen.push([tag, this.calendar.now]);
  }
}

describe('Calendar', () => {
  it('handles events in the order of time, then phase, then scheduling, however they were armed', () => {
    const armings: [number, number][] = [
      [0, 20],
      [1, 10],
      [2, 10],
      [3, 10],
      [4, 5],
    ];
    for (let turn = 0; turn < armings.length; turn++) {
      const calendar = new Calendar();
      const trace = new Trace(calendar);
      const phases = [Phase.complete, Phase.decide, Phase.arrive, Phase.complete, Phase.decide];
      const carriers = phases.map((phase, tag) => calendar.carrier(trace, tag, phase));
      const rotated = [...armings.slice(turn), ...armings.slice(0, turn)];
      for (const [tag, at] of rotated) calendar.arm(carriers[tag]!, at);
      calendar.run(Infinity);
      expect(trace.seen).toEqual([
        [4, 5],
        [3, 10],
        [2, 10],
        [1, 10],
        [0, 20],
      ]);
    }
  });

  it('handles a carrier once, at the time it was armed for last', () => {
    const calendar = new Calendar();
    const trace = new Trace(calendar);
    const carrier = calendar.carrier(trace, 7, Phase.decide);
    calendar.arm(carrier, 50);
    calendar.armBy(carrier, 80);
    calendar.armBy(carrier, 30);
    calendar.run(Infinity);
    expect(trace.seen).toEqual([[7, 30]]);
    expect(calendar.empty).toBe(true);
  });

  it('stops before what lies beyond the limit, and goes on from there', () => {
    const calendar = new Calendar();
    const trace = new Trace(calendar);
    const carrier = calendar.carrier(trace, 0, Phase.decide);
    calendar.arm(carrier, 100);
    calendar.run(99);
    expect(trace.seen).toEqual([]);
    calendar.run(100);
    expect(trace.seen).toEqual([[0, 100]]);
  });

  it('refuses the past and forgets what is disarmed', () => {
    const calendar = new Calendar();
    const trace = new Trace(calendar);
    const carrier = calendar.carrier(trace, 0, Phase.decide);
    const other = calendar.carrier(trace, 1, Phase.decide);
    calendar.arm(carrier, 10);
    calendar.arm(other, 20);
    calendar.disarm(other);
    calendar.run(Infinity);
    expect(trace.seen).toEqual([[0, 10]]);
    expect(() => calendar.arm(carrier, 5)).toThrow(/armed for 5 ps at 10 ps/);
  });

  it('lets what happens arm for the same instant, later phases and earlier ones', () => {
    const calendar = new Calendar();
    const trace = new Trace(calendar);
    const [decide, complete] = [Phase.decide, Phase.complete].map((phase, tag) => calendar.carrier(trace, tag, phase));
    const starter = calendar.carrier({ wake: () => [decide!, complete!].forEach((c) => calendar.arm(c, 40)) }, 0, 1);
    calendar.arm(starter, 40);
    calendar.run(40);
    expect(trace.seen).toEqual([
      [1, 40],
      [0, 40],
    ]);
  });

  it('stops after the event that asks for it, says so, and goes on with the next', () => {
    const calendar = new Calendar();
    const trace = new Trace(calendar);
    calendar.arm(calendar.carrier({ wake: () => calendar.stop() }, 0, Phase.complete), 10);
    calendar.arm(calendar.carrier(trace, 5, Phase.complete), 10);
    expect(calendar.run(Infinity)).toBe(true);
    expect([calendar.handled, calendar.empty, trace.seen]).toEqual([1, false, []]);
    expect(calendar.run(Infinity)).toBe(false);
    expect([calendar.handled, calendar.empty, trace.seen]).toEqual([2, true, [[5, 10]]]);
  });

  it('says until a limit is reached that it was not stopped', () => {
    const calendar = new Calendar();
    calendar.arm(calendar.carrier(new Trace(calendar), 0, Phase.complete), 10);
    expect(calendar.run(5)).toBe(false);
    expect(calendar.empty).toBe(false);
  });
});

/** What an actor may ask of a calendar. */
interface Asked<C> extends Pick<Calendar, 'now' | 'stop' | 'run' | 'empty' | 'handled'> {
  next(): C | null;
  carrier(actor: Actor, tag: number, phase: number): C;
  arm(carrier: C, timePs: number): void;
  armBy(carrier: C, timePs: number): void;
  disarm(carrier: C): void;
}

/** How far ahead things are armed: at once, within a slot, within the wheel, about its end, far beyond it. */
const AHEAD = [0, 1, 63, 64, 700, 5000, 130_000, 262_016, 262_079, 262_080, 262_081, 262_144, 900_000, 40_000_000];

/** Carriers that arm, postpone, bring forward and take back each other at random; what happened when. */
function history<C>(calendar: Asked<C>, due: (carrier: C) => number, seed: string, count: number): number[] {
  const draw = randomStream(seed, 0, 'calendar', 'test');
  const below = (n: number): number => Math.floor(draw() * n);
  const ahead = (): number => calendar.now + AHEAD[below(AHEAD.length)]! + (draw() < 0.5 ? 0 : below(200));
  const seen: number[] = [];
  const carriers: C[] = [];
  const one = (): C => carriers[below(count)]!;
  const touch = (): void => {
    const kind = below(20);
    const carrier = one();
    if (kind < 11) calendar.arm(carrier, ahead());
    else if (kind < 16) calendar.armBy(carrier, ahead());
    else if (kind < 19) calendar.disarm(carrier);
    else calendar.stop();
    const next = calendar.next();
    seen.push(due(carrier), next === null ? Infinity : due(next));
  };
  const wake = (tag: number): void => {
    seen.push(tag, calendar.now);
    for (let times = below(3); times > 0; times--) touch();
    // many things at once, sooner and sooner: more than a slot is walked for
    if (draw() < 0.02) for (let n = 30; n > 0; n--) calendar.arm(one(), calendar.now + 1000 + Math.floor(n / 2));
  };
  for (let tag = 0; tag < count; tag++) carriers.push(calendar.carrier({ wake }, tag, below(3)));
  for (const carrier of carriers) calendar.arm(carrier, ahead());
  for (let turn = 0; turn < 3000 / count; turn++) {
    seen.push(Number(calendar.run(calendar.now + below(600_000))), calendar.now, calendar.handled);
    touch();
    seen.push(Number(calendar.empty));
    for (const carrier of carriers) seen.push(due(carrier));
  }
  return seen;
}

describe('a busy calendar', () => {
  // more carriers than are made room for at first, and so few that each is touched often
  it.each([
    ['a', 150],
    ['b', 150],
    ['c', 8],
    ['d', 8],
  ])('does what a list that is searched would do, run %s of %i carriers', (seed, count) => {
    const calendar = new Calendar();
    const naive = new NaiveCalendar();
    const seen = history(calendar, ({ due }) => due, seed, count);
    expect(seen).toEqual(history(naive, (carrier) => naive.due(carrier), seed, count));
    expect(calendar.handled).toBeGreaterThan(50);
  });

  it('does so also where the order within a phase is drawn', () => {
    const drawn = (): (() => number) => randomStream('s', 0, 'calendar', 'shuffle');
    const calendar = new Calendar(drawn());
    const naive = new NaiveCalendar(drawn());
    const seen = history(calendar, ({ due }) => due, 'e', 150);
    expect(seen).toEqual(history(naive, (carrier) => naive.due(carrier), 'e', 150));
  });

  it('handles what is due at one instant and phase in the order of the draws', () => {
    const draws = [0.7, 0.2, 0.5];
    const calendar = new Calendar(() => draws.shift()!);
    const trace = new Trace(calendar);
    for (const tag of [0, 1, 2]) calendar.arm(calendar.carrier(trace, tag, Phase.arrive), 30);
    calendar.run(Infinity);
    expect(trace.seen.map(([tag]) => tag)).toEqual([1, 2, 0]);
  });
});
