import fc from 'fast-check';
import type { Tree } from './tree.js';

const POLICIES = ['round_robin', 'oldest', 'fixed_priority', 'weighted', 'qos', 'time_slots'] as const;

/** What is drawn before it is known who leads to the element. */
export interface ArbitrationDraw {
  readonly policy: (typeof POLICIES)[number];
  readonly grain: number;
  readonly turn: number;
  readonly numbers: readonly number[];
  readonly ageing: number;
  readonly gap: boolean;
}

export const arbitration: fc.Arbitrary<ArbitrationDraw> = fc.record({
  policy: fc.constantFrom(...POLICIES),
  grain: fc.integer({ min: 1, max: 3 }),
  turn: fc.nat(3),
  numbers: fc.array(fc.integer({ min: 1, max: 20 }), { minLength: 3, maxLength: 3 }),
  ageing: fc.constantFrom(0, 20, 150),
  gap: fc.boolean(),
});

/** The key as it is written for an element with these inputs; `slots` says whether it may have time slots. */
export function written(draw: ArbitrationDraw, inputs: readonly string[], slots = true): Tree | string {
  const { grain, ageing, gap } = draw;
  const policy = draw.policy === 'time_slots' && (!slots || inputs.length === 0) ? 'qos' : draw.policy;
  const turned = inputs.map((_, i) => inputs[(i + draw.turn) % inputs.length]!);
  const number = (i: number): number => draw.numbers[i % draw.numbers.length]!;
  switch (policy) {
    case 'fixed_priority':
      // those that are not named follow
      return { policy, grain, priority: turned.slice(0, 2) };
    case 'weighted':
      return {
        policy,
        grain,
        weights: Object.fromEntries(turned.slice(0, 3).map((name, i) => [name, (number(i) % 4) + 1])),
      };
    case 'qos':
      return { policy, ...(ageing > 0 ? { ageing: `${ageing} ns` } : {}) };
    case 'time_slots': {
      const owned = turned.map((input, i) => ({ input, cycles: `${number(i)} cycles` }));
      return { policy, slots: gap ? [...owned, { input: 'none', cycles: '3 cycles' }] : owned };
    }
    default:
      return { policy, grain };
  }
}
