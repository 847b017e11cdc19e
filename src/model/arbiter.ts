// Hot path: one decision per burst and output. The policy is a small integer chosen when the model is built; nothing is
// allocated per decision.
import type { Calendar } from '../engine/calendar.js';
import type { ArbitrationSpec } from '../scenario/scenario.js';
import type { Bursts } from './bursts.js';

const Policy = { roundRobin: 0, fixedPriority: 1, weighted: 2, oldest: 3, qos: 4, timeSlots: 5 } as const;

const CODES: Record<ArbitrationSpec['policy'], number> = {
  round_robin: Policy.roundRobin,
  fixed_priority: Policy.fixedPriority,
  weighted: Policy.weighted,
  oldest: Policy.oldest,
  qos: Policy.qos,
  time_slots: Policy.timeSlots,
};

/** The highest AXI4 QoS value; ageing does not go beyond it, so that the oldest of the most urgent is next. */
const MOST_URGENT = 15;

/**
 * Decides who is next at one output. Per decision: `begin`, then `consider` for each candidate in any order, then
 * `pick`. The outcome depends on the candidates and on earlier grants, never on the order of the calls.
 *
 * | policy | fairness | starvation |
 * |---|---|---|
 * | round robin | equal grants (not bytes) to whoever keeps asking | none: at most one grant to each other input |
 * | fixed priority | none | the lower starve while a higher one asks |
 * | weighted | grants in proportion to the weights | none: at most the others' weights |
 * | oldest | by time of arrival at this element | none |
 * | qos | by value; ties to the oldest | none with ageing; without, the lower starve |
 * | time slots | each input its own share of time, used or not | none for an owner of a slot |
 */
export class Arbiter {
  /** Does it matter for how long a burst would hold the output? */
  readonly weighsLength: boolean;
  /** Does the longest wait win whatever was granted before? So it is where all candidates come in at one input. */
  readonly byAge: boolean;
  private readonly policy: number;
  private readonly grain: number;
  private readonly ageingPs: number;
  /** By input: rank (fixed priority; lower first) or grants in a row (weighted). */
  private readonly order: Int32Array;
  /** By input: the first of the same name (reads and writes of one input may contend apart), to which slots belong. */
  private readonly named: Int32Array;
  private readonly slotOwner: Int32Array;
  private readonly slotStart: Int32Array;
  private readonly frame: number;

  private last = -1;
  private inARow = 0;

  private best = -1;
  private bestSlot = -1;
  private bestKey = 0;
  private bestAge = 0.5;
  private nowPs = 0.5;
  private edge = 0;

  /**
   * @param spec policy and its parameters
   * @param inputs names of the inputs, in order
   */
  constructor(
    spec: ArbitrationSpec,
    private readonly inputs: readonly string[],
    private readonly bursts: Bursts,
  ) {
    this.policy = CODES[spec.policy];
    this.weighsLength = this.policy === Policy.timeSlots;
    this.byAge = inputs.length === 1 && this.policy !== Policy.qos && this.policy !== Policy.timeSlots;
    this.grain = spec.grain;
    this.ageingPs = spec.ageingPs;
    this.order = this.policy === Policy.weighted ? weightsOf(spec, inputs) : ranksOf(spec, inputs);
    this.named = Int32Array.from(inputs, (name) => inputs.indexOf(name));
    this.slotOwner = Int32Array.from(spec.slots, (slot) => (slot.input === null ? -1 : inputs.indexOf(slot.input)));
    const starts = [0];
    for (const slot of spec.slots) starts.push(starts.at(-1)! + slot.cycles);
    this.slotStart = Int32Array.from(starts);
    this.frame = starts.at(-1)!;
  }

  /** Starts a decision now, at edge number `edge` of the arbiter's clock. */
  begin(calendar: Pick<Calendar, 'now'>, edge: number): void {
    this.best = -1;
    this.bestSlot = -1;
    this.nowPs = calendar.now;
    this.edge = edge;
  }

  /**
   * `slot` asks at `input` and could be granted since `times[at]`, which is told so, as a time that is passed is put on the
   * heap; `cycles` is how long it would hold the output.
   */
  consider(input: number, slot: number, times: Float64Array, at: number, cycles: number): void {
    const sincePs = times[at]!;
    let key = 0;
    switch (this.policy) {
      case Policy.roundRobin:
        key = this.distance(input, this.grain);
        break;
      case Policy.fixedPriority:
        key = this.order[input]!;
        break;
      case Policy.weighted:
        key = this.distance(input, this.order[input]! * this.grain);
        break;
      case Policy.qos:
        key = -this.urgency(slot, sincePs);
        break;
      case Policy.timeSlots:
        if (this.opensIn(input, cycles) > 0) return;
        break;
      default:
        break;
    }
    if (this.best < 0 || key < this.bestKey || (key === this.bestKey && this.before(slot, sincePs, input))) {
      this.best = input;
      this.bestSlot = slot;
      this.bestKey = key;
      this.bestAge = sincePs;
    }
  }

  /** The burst to grant, or −1; remembers the grant. */
  pick(): number {
    if (this.best >= 0) {
      this.inARow = this.best === this.last ? this.inARow + 1 : 1;
      this.last = this.best;
    }
    return this.bestSlot;
  }

  /** The input of the burst that `pick` answered, or −1. */
  get picked(): number {
    return this.best;
  }

  /** Edges until a request of `cycles` at `input` may start (time slots); 0 for now, Infinity for an input without slot. */
  opensIn(input: number, cycles: number): number {
    if (this.policy !== Policy.timeSlots) return 0;
    const phase = this.edge % this.frame;
    let soonest = Infinity;
    for (let k = 0; k < this.slotOwner.length; k++) {
      if (this.slotOwner[k] !== this.named[input]) continue;
      const start = this.slotStart[k]!;
      const end = this.slotStart[k + 1]!;
      // anywhere in the slot where it still fits; what is longer than the slot only at its first cycle
      if (phase >= start && phase < end && (phase === start || phase + cycles <= end)) return 0;
      const wait = start > phase ? start - phase : start + this.frame - phase;
      if (wait < soonest) soonest = wait;
    }
    return soonest;
  }

  /** Steps from the input granted last; 0 for that one while it has grants in a row left. */
  private distance(input: number, allowed: number): number {
    if (input === this.last && this.inARow < allowed) return 0;
    const n = this.inputs.length;
    const steps = input - this.last;
    return steps > 0 ? steps : steps + n;
  }

  private urgency(slot: number, sincePs: number): number {
    const qos = this.bursts.qos[slot]!;
    if (this.ageingPs === 0) return qos;
    const aged = qos + Math.floor((this.nowPs - sincePs) / this.ageingPs);
    return aged < MOST_URGENT ? aged : MOST_URGENT;
  }

  /** Ties: the earlier arrival, then the lower input, then the lower master, then the earlier burst. */
  private before(slot: number, sincePs: number, input: number): boolean {
    if (sincePs !== this.bestAge) return sincePs < this.bestAge;
    if (input !== this.best) return input < this.best;
    const { master, number } = this.bursts;
    if (master[slot] !== master[this.bestSlot]) return master[slot]! < master[this.bestSlot]!;
    const own = number[slot]!;
    const other = number[this.bestSlot]!;
    // fills and write-backs are numbered downwards from −1
    return own < 0 && other < 0 ? own > other : own < other;
  }
}

function ranksOf(spec: ArbitrationSpec, inputs: readonly string[]): Int32Array {
  const unnamed = spec.priority.length;
  return Int32Array.from(inputs, (name) => {
    const rank = spec.priority.indexOf(name);
    return rank >= 0 ? rank : unnamed + inputs.indexOf(name);
  });
}

function weightsOf(spec: ArbitrationSpec, inputs: readonly string[]): Int32Array {
  return Int32Array.from(inputs, (name) => spec.weights.get(name) ?? 1);
}
