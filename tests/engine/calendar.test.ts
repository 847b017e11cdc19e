import { describe, expect, it } from 'vitest';
import { Calendar, type Actor } from '../../src/engine/calendar.js';
import { Phase } from '../../src/engine/phase.js';

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
});
