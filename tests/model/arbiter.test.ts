import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Arbiter } from '../../src/model/arbiter.js';
import { Bursts } from '../../src/model/bursts.js';
import type { Route } from '../../src/model/route.js';
import type { ArbitrationSpec } from '../../src/scenario/scenario.js';
import { roundRobin } from './platform.js';

const NOWHERE = { hops: [] } as unknown as Route;

interface Asking {
  input: number;
  since?: number;
  qos?: number;
  cycles?: number;
  master?: number;
  number?: number;
}

/** An arbiter on its own; each decision is one cycle of 100 ps unless the time is said. */
class Contest {
  private readonly bursts = new Bursts(1, 1);
  private readonly arbiter: Arbiter;
  private decisions = 0;

  constructor(spec: Partial<ArbitrationSpec>, inputs = ['a', 'b', 'c']) {
    this.arbiter = new Arbiter({ ...roundRobin, ...spec }, inputs, this.bursts);
  }

  /** Which of those who ask is granted; −1 for none. */
  decide(asking: Asking[], nowPs = this.decisions * 100): number {
    const slots = asking.map((who) => {
      const slot = this.bursts.allocate(NOWHERE);
      this.bursts.qos[slot] = who.qos ?? 0;
      this.bursts.master[slot] = who.master ?? who.input;
      this.bursts.number[slot] = who.number ?? 0;
      return slot;
    });
    this.arbiter.begin({ now: nowPs }, this.decisions++);
    for (const [i, who] of asking.entries()) {
      this.arbiter.consider(who.input, slots[i]!, Float64Array.of(who.since ?? 0), 0, who.cycles ?? 1);
    }
    return slots.indexOf(this.arbiter.pick());
  }

  /** Inputs granted in `count` decisions in which the same always ask. */
  grants(count: number, asking: Asking[]): number[] {
    return Array.from({ length: count }, () => asking[this.decide(asking)]?.input ?? -1);
  }

  /** Input of the last grant, −1 where none was. */
  get picked(): number {
    return this.arbiter.picked;
  }

  opensIn(input: number, cycles: number): number {
    return this.arbiter.opensIn(input, cycles);
  }
}

const all: Asking[] = [{ input: 0 }, { input: 1 }, { input: 2 }];
const counts = (grants: number[]): number[] => [0, 1, 2].map((input) => grants.filter((g) => g === input).length);

describe('round robin', () => {
  it('gives equal grants to all who keep asking, in turn', () => {
    const grants = new Contest({}).grants(300, all);
    expect(grants.slice(0, 7)).toEqual([0, 1, 2, 0, 1, 2, 0]);
    expect(counts(grants)).toEqual([100, 100, 100]);
  });

  it('grants an input again at once when nobody else asks, and lets each other input pass once at most', () => {
    const contest = new Contest({});
    expect(contest.grants(3, [{ input: 1 }])).toEqual([1, 1, 1]);
    // from 1 on: 2, then 0, then 1 again
    expect(contest.grants(3, all)).toEqual([2, 0, 1]);
  });

  it('goes on from the last grant also after an edge at which nobody asked', () => {
    const contest = new Contest({});
    expect(contest.grants(3, [])).toEqual([-1, -1, -1]);
    expect(contest.decide(all)).toBe(0);
    expect([contest.decide([]), contest.picked]).toEqual([-1, -1]);
    expect([contest.decide(all), contest.picked]).toEqual([1, 1]);
  });

  it('gives as many bursts in a row as its grain says', () => {
    expect(new Contest({ grain: 2 }).grants(8, all)).toEqual([0, 0, 1, 1, 2, 2, 0, 0]);
  });
});

describe('fixed priority', () => {
  const spec: Partial<ArbitrationSpec> = { policy: 'fixed_priority', priority: ['c', 'a'] };

  it('starves the lower while a higher one asks', () => {
    expect(counts(new Contest(spec).grants(1000, all))).toEqual([0, 0, 1000]);
  });

  it('goes down the list, then on to the inputs that are not named', () => {
    const contest = new Contest(spec);
    expect(contest.grants(1, [{ input: 0 }, { input: 1 }])).toEqual([0]);
    expect(contest.grants(1, [{ input: 1 }])).toEqual([1]);
    expect(new Contest({ policy: 'fixed_priority', priority: ['c'] }).grants(1, [{ input: 1 }, { input: 0 }])).toEqual([
      0,
    ]);
  });
});

describe('weighted', () => {
  const spec = { policy: 'weighted', weights: new Map([['a', 3]]) } as const;

  it('grants in proportion to the weights, 1 where none is given', () => {
    const grants = new Contest(spec).grants(500, all);
    expect(grants.slice(0, 10)).toEqual([0, 0, 0, 1, 2, 0, 0, 0, 1, 2]);
    expect(counts(grants)).toEqual([300, 100, 100]);
  });

  it('counts its weights in grains', () => {
    expect(new Contest({ ...spec, grain: 2 }).grants(12, all)).toEqual([0, 0, 0, 0, 0, 0, 1, 1, 2, 2, 0, 0]);
  });

  it('lets nobody wait for more than the weights of the others', () => {
    const contest = new Contest(spec);
    // b alone for a while earns it nothing against a
    contest.grants(50, [{ input: 1 }]);
    expect(contest.grants(5, all)).toEqual([2, 0, 0, 0, 1]);
  });
});

describe('oldest first', () => {
  it('grants whoever arrived first; ties go to the lower input, then the lower master, then the earlier burst', () => {
    const contest = new Contest({ policy: 'oldest' });
    const at = (input: number, since: number, master = 0, number = 0): Asking => ({ input, since, master, number });
    expect(contest.decide([at(0, 30), at(1, 20), at(2, 25)])).toBe(1);
    expect(contest.decide([at(2, 20), at(1, 20)])).toBe(1);
    expect(contest.decide([at(1, 20, 5), at(1, 20, 4)])).toBe(1);
    expect(contest.decide([at(1, 20, 4, 9), at(1, 20, 4, 8)])).toBe(1);
  });

  it('takes fills and write-backs, numbered from −1 down, in turn, and before a master’s own bursts', () => {
    const contest = new Contest({ policy: 'oldest' });
    const first = (numbers: number[]): number =>
      numbers[contest.decide(numbers.map((number) => ({ input: 1, since: 20, master: 4, number })))]!;
    for (const [numbers, earliest] of [
      [[-1, -2], -1],
      [[3, -1], -1],
      [[0, -1], -1],
      [[-2, 0], -2],
      [[5, 0], 0],
    ] as const) {
      expect(first([...numbers])).toBe(earliest);
      expect(first(numbers.toReversed())).toBe(earliest);
    }
  });

  it('starves nobody: a request is granted once all that came before it are', () => {
    const contest = new Contest({ policy: 'oldest' });
    // input 2 asks since 450; inputs 0 and 1 come anew every 100 ps: five of each are older
    const waiting = [...Array(40).keys()].map((i) => ({ input: i % 2, since: Math.floor(i / 2) * 100 }));
    const grants: number[] = [];
    for (let turn = 0; turn < 12; turn++) {
      const heads = [0, 1].flatMap((input) => waiting.filter((who) => who.input === input).slice(0, 1));
      const asking = [...heads, { input: 2, since: 450 }];
      const granted = asking[contest.decide(asking)]!;
      grants.push(granted.input);
      if (granted.input === 2) break;
      waiting.splice(waiting.indexOf(granted), 1);
    }
    expect(grants).toEqual([0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 2]);
  });
});

describe('QoS', () => {
  /** Decision in which a request of QoS 0, waiting since 0, is granted against ever new ones of QoS `rival`. */
  function grantedAfter(ageingPs: number, rival: number): number {
    const contest = new Contest({ policy: 'qos', ageingPs });
    for (let turn = 0; turn < 1000; turn++) {
      const asking = [
        { input: 0, qos: rival, since: turn * 100 },
        { input: 1, qos: 0, since: 0 },
      ];
      if (contest.decide(asking) === 1) return turn;
    }
    return Infinity;
  }

  it('grants the most urgent, of these the oldest', () => {
    const contest = new Contest({ policy: 'qos' });
    const asking = [
      { input: 0, qos: 3, since: 0 },
      { input: 1, qos: 9, since: 20 },
      { input: 2, qos: 9, since: 10 },
    ];
    expect(contest.decide(asking)).toBe(2);
  });

  it('holds all that are as urgent as can be for equal, however long they have waited: the oldest goes first', () => {
    // at 5000 ps, 100 ps a step: 50 steps for one, 10 + 49 for the other
    const contest = new Contest({ policy: 'qos', ageingPs: 100 });
    const asking = [
      { input: 0, qos: 10, since: 50 },
      { input: 1, qos: 0, since: 0 },
    ];
    expect(contest.decide(asking, 5000)).toBe(1);
  });

  it('starves the less urgent without ageing', () => {
    expect(grantedAfter(0, 1)).toBe(Infinity);
  });

  it('starves nobody with ageing: a request rises by one each time it has waited so long', () => {
    // 200 ps a step, 100 ps a decision: urgency 12 after 2400 ps, where the tie goes to the older
    expect(grantedAfter(200, 12)).toBe(24);
    // it stops at 15, where the oldest of the most urgent is next
    expect(grantedAfter(200, 15)).toBe(30);
  });
});

describe('time slots', () => {
  const slots = [
    { input: 'a', cycles: 4 },
    { input: null, cycles: 2 },
    { input: 'b', cycles: 2 },
  ];
  const spec = { policy: 'time_slots', slots } as const;

  it('gives each input its own cycles of the frame, used or not', () => {
    const grants = new Contest(spec).grants(16, all);
    expect(grants).toEqual([0, 0, 0, 0, -1, -1, 1, 1, 0, 0, 0, 0, -1, -1, 1, 1]);
    expect(new Contest(spec).grants(8, [{ input: 1 }])).toEqual([-1, -1, -1, -1, -1, -1, 1, 1]);
  });

  it('starts a burst only where it still fits; one longer than its slot only at the first cycle', () => {
    expect(new Contest(spec).grants(8, [{ input: 0, cycles: 3 }])).toEqual([0, 0, -1, -1, -1, -1, -1, -1]);
    expect(new Contest(spec).grants(9, [{ input: 1, cycles: 5 }])).toEqual([-1, -1, -1, -1, -1, -1, 1, -1, -1]);
  });

  it('says how long an input must wait for its slot, and that one without a slot waits for ever', () => {
    const contest = new Contest(spec);
    contest.grants(2, []);
    // the last decision was at cycle 1 of the frame: b opens at 6, a burst of 4 at a's next start, 8
    expect(contest.opensIn(0, 1)).toBe(0);
    expect(contest.opensIn(1, 2)).toBe(5);
    expect(contest.opensIn(0, 4)).toBe(7);
    expect(contest.opensIn(2, 1)).toBe(Infinity);
  });

  it('waits for the nearest of several slots', () => {
    const turns = ['a', 'b', 'a', 'b'].map((input) => ({ input, cycles: 2 }));
    const contest = new Contest({ policy: 'time_slots', slots: turns });
    const waits = Array.from({ length: 8 }, () => {
      contest.decide([]);
      return contest.opensIn(1, 2);
    });
    expect(waits).toEqual([2, 1, 0, 3, 2, 1, 0, 3]);
  });
});

describe('every policy', () => {
  const candidate = fc.record({
    input: fc.nat(2),
    since: fc.nat(3).map((n) => n * 100),
    qos: fc.nat(3),
    cycles: fc.integer({ min: 1, max: 4 }),
    master: fc.nat(1),
  });
  const policies = ['round_robin', 'fixed_priority', 'weighted', 'oldest', 'qos', 'time_slots'] as const;

  it('says whether length matters, and whether the longest wait of one input wins', () => {
    const facts = (policy: (typeof policies)[number], inputs: string[]): boolean[] => {
      const { weighsLength, byAge } = new Arbiter({ ...roundRobin, policy }, inputs, new Bursts(1, 1));
      return [weighsLength, byAge];
    };
    expect(policies.map((policy) => facts(policy, ['a']))).toEqual([
      [false, true],
      [false, true],
      [false, true],
      [false, true],
      [false, false],
      [true, false],
    ]);
    for (const policy of policies) expect(facts(policy, ['a', 'b'])[1]).toBe(false);
  });

  it('opens at once but for time slots, and has picked nobody before its first decision', () => {
    for (const policy of policies.slice(0, -1)) expect(new Contest({ policy }).opensIn(0, 4)).toBe(0);
    for (const policy of policies) {
      const arbiter = new Arbiter({ ...roundRobin, policy }, ['a'], new Bursts(1, 1));
      expect([arbiter.pick(), arbiter.picked]).toEqual([-1, -1]);
    }
  });

  it('decides the same in whatever order the candidates are put to it', () => {
    const rounds = fc.array(fc.uniqueArray(candidate, { maxLength: 5, selector: (c) => `${c.input} ${c.master}` }), {
      minLength: 1,
      maxLength: 8,
    });
    fc.assert(
      fc.property(rounds, fc.constantFrom(...policies), fc.nat(), (asked, policy, turn) => {
        const slots = [
          { input: 'a', cycles: 3 },
          { input: 'c', cycles: 2 },
        ];
        const spec = { policy, ageingPs: 100, weights: new Map([['b', 2]]), slots };
        const [plain, turned] = [new Contest(spec), new Contest(spec)];
        for (const [round, asking] of asked.entries()) {
          const by = asking.length === 0 ? 0 : (turn + round) % asking.length;
          const other = [...asking.slice(by), ...asking.slice(0, by)].toReversed();
          expect(other[turned.decide(other)]).toBe(asking[plain.decide(asking)]);
        }
      }),
      { seed: 11, numRuns: 300 },
    );
  });
});
