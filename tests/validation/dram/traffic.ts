import seedrandom from 'seedrandom';
import type { Actor } from '../../../src/engine/calendar.js';
import type { Carrier } from '../../../src/engine/carrier.js';
import { Phase } from '../../../src/engine/phase.js';
import type { DdrSpec } from '../../../src/scenario/scenario.js';
import { Rig, type Wanted } from '../../model/dram/rig.js';

/** Clocks between arrivals that moods choose from, on average; 0: whenever there is room. */
const GAPS = [0, 0, 0, 8, 40, 200, 3000];

/** What traffic is like for a while. */
interface Mood {
  readonly gap: number;
  /** Accesses that arrive together, at most. */
  readonly together: number;
  readonly writeShare: number;
  readonly banks: number;
  readonly rows: number;
  readonly columns: number;
  /** Share of accesses that use a part of the DRAM's burst only. */
  readonly partial: number;
}

/** Moods last so many clocks, on average; the long ones outlast any postponing of refreshes. */
const MOOD_CLOCKS = [300, 1500, 1500, 30_000];
/** While every entry is taken, room is looked for so often. */
const FULL_CLOCKS = 16;

/**
 * Random traffic for a channel, of every mood in turn: full queues and long pauses, hits and conflicts, one bank and all,
 * reads, writes and both. The same seed gives the same traffic as long as the channel does the same.
 */
export class RandomTraffic implements Actor {
  private readonly random: () => number;
  private readonly carrier: Carrier;
  private mood: Mood;
  private moodEnds = 0;

  constructor(
    private readonly rig: Rig,
    seed: string,
    private readonly gaps: readonly number[],
  ) {
    this.random = seedrandom.xor4096(seed);
    this.mood = this.drawMood();
    this.carrier = rig.calendar.carrier(this, 1, Phase.arrive);
  }

  start(): void {
    this.rig.calendar.armBy(this.carrier, this.rig.clock.at(1));
  }

  wake(): void {
    const { rig } = this;
    const clock = rig.clock.indexFrom(rig.calendar.now);
    if (clock >= this.moodEnds) {
      this.mood = this.drawMood();
      this.moodEnds = clock + Math.ceil(this.exponential(this.pick(MOOD_CLOCKS)));
    }
    const { gap, together } = this.mood;
    for (let more = 1 + this.below(together); more > 0; more--) {
      const wanted = this.drawAccess();
      if (rig.room(wanted.write) > 0) rig.enter(wanted);
    }
    const wait = gap === 0 ? FULL_CLOCKS : Math.ceil(this.exponential(gap));
    // between edges too: what comes then acts at the next one
    rig.calendar.armBy(this.carrier, rig.clock.at(clock + wait) + this.below(2));
  }

  private drawMood(): Mood {
    const { ranks, timing } = this.rig.spec;
    const banks = ranks * timing.banks;
    return {
      gap: this.pick(this.gaps),
      together: this.pick([1, 3, 8, 16]),
      writeShare: this.pick([0, 0.1, 0.4, 0.5, 0.9, 1]),
      banks: this.pick([1, 2, banks, banks]),
      rows: this.pick([1, 2, 4, 1000]),
      columns: this.pick([2, 16]),
      partial: this.pick([0, 0.2]),
    };
  }

  private drawAccess(): Wanted {
    const { rig, mood } = this;
    const { timing, ranks } = rig.spec;
    const bytes = timing.burstLength * timing.busBytes;
    const part = this.random() < mood.partial;
    const low = part ? this.below(bytes / 2) : 0;
    // few banks are spread over groups and ranks
    const stride = Math.max(1, Math.floor((ranks * timing.banks) / mood.banks));
    return {
      write: this.random() < mood.writeShare,
      bank: this.below(mood.banks) * stride,
      row: this.below(mood.rows),
      column: this.below(mood.columns),
      low,
      high: part ? low + 1 + this.below(bytes - low) : bytes,
      qos: this.below(3),
    };
  }

  private below(n: number): number {
    return Math.floor(this.random() * n);
  }

  private pick<T>(choices: readonly T[]): T {
    return choices[this.below(choices.length)]!;
  }

  private exponential(mean: number): number {
    return -mean * Math.log(1 - this.random());
  }
}

/** When each rank's first refresh is due: ranks are refreshed in turn. */
export function phasesOf({ ranks, timing }: DdrSpec): number[] {
  return Array.from({ length: ranks }, (_, rank) => Math.round(((rank + 0.3) * timing.tREFIps) / ranks));
}

/** A channel under random traffic; run it for as long as wanted. */
export function underTraffic(spec: DdrSpec, seed: string, gaps: readonly number[] = GAPS): Rig {
  const rig = new Rig(spec, undefined, phasesOf(spec));
  // it stays on the rig's calendar
  new RandomTraffic(rig, seed, gaps).start();
  return rig;
}
