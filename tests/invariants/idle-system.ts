import type { IdleOutcome } from '../../src/model/coherence/unloaded.js';
import type {
  ArbitrationSpec,
  CoherenceSpec,
  ElementSpec,
  MasterSpec,
  PatternSpec,
  SystemSpec,
} from '../../src/scenario/scenario.js';
import type { LoneBurst } from './diary.js';

/** A system in which one master alone wants one burst at a time, and what its caches then hold. */

/** Bytes of a request that is a single burst. */
export function burstOf(master: MasterSpec): number {
  const most = master.burstBeats * master.widthBytes;
  return master.size.kind === 'fixed' ? Math.min(most, master.size.value) : most;
}

/** What is altered besides, for one master alone. */
export interface Alone {
  readonly name: string;
  readonly write: boolean;
  /** Instead of its own. */
  readonly pattern: PatternSpec | null;
  /** Instead of its own, as much of it as a burst holds. */
  readonly bytes: number;
  /** Between the end of a burst and the next one: longer than any timer runs. */
  readonly thinkPs: number;
}

/** One master alone on an idle system: nothing else issues, no refresh, and all has come to rest before each burst. */
export function alone(system: SystemSpec, { name, write, pattern, bytes, thinkPs }: Alone): SystemSpec {
  return {
    ...system,
    tasks: [],
    masters: system.masters.map((master): MasterSpec => {
      if (master.name !== name) return { ...master, issue: { process: 'silent' } };
      return {
        ...master,
        size: { kind: 'fixed', value: bytes },
        readShare: write ? 0 : 1,
        maxReads: 1,
        maxWrites: 1,
        pattern: pattern ?? master.pattern,
        // not a whole number of any clock's cycles, so that every burst is wanted at another phase of the clocks
        issue: { process: 'dependent', think: { kind: 'uniform', low: thinkPs, high: thinkPs + 20_000 } },
        startPs: 0,
        stopPs: Infinity,
      };
    }),
    elements: system.elements.map(idle),
  };
}

/** The element without what makes even a lone burst wait: refresh, other owners' time slots, lines that are pushed out. */
function idle(element: ElementSpec): ElementSpec {
  switch (element.kind) {
    case 'device':
      return { ...element, discipline: unslotted(element.discipline) };
    case 'ddr':
      return { ...element, refresh: { ...element.refresh, mode: 'off' }, arbitration: unslotted(element.arbitration) };
    case 'coherence':
      return { ...element, dirtyShare: 0 };
    default:
      return { ...element, arbitration: unslotted(element.arbitration) };
  }
}

function unslotted(spec: ArbitrationSpec): ArbitrationSpec {
  return spec.policy === 'time_slots' ? { ...spec, policy: 'round_robin', slots: [] } : spec;
}

/** The same system with the buffer of a master cut down, so that its lines are met again. */
export function withBuffer(system: SystemSpec, name: string, bytes: number): SystemSpec {
  const { buffer } = system.masters.find((master) => master.name === name)!;
  return {
    ...system,
    tasks: [],
    buffers: system.buffers.map((spec) =>
      spec.name === buffer ? { ...spec, bytes: Math.min(spec.bytes, bytes) } : spec,
    ),
  };
}

/** The lines that are in a cache, by what one master alone has done so far; far fewer than would push any out. */
export class Touched {
  private readonly shared = new Set<number>();
  private readonly own = new Set<number>();

  constructor(
    private readonly unit: CoherenceSpec,
    private readonly master: MasterSpec,
  ) {}

  /** What a core's access meets in its private cache. */
  inCore(address: number): boolean {
    return this.own.has(this.lines(address, 1)[0]!);
  }

  /** What every line of a burst meets; null where they differ, or where chance decides. */
  met({ address, bytes }: LoneBurst): IdleOutcome | null {
    if (this.unit.model === 'statistical') {
      const { hitRatio } = this.master;
      return hitRatio === 1 ? 'hit' : hitRatio === 0 ? 'miss' : null;
    }
    const hits = this.lines(address, bytes).map((line) => this.shared.has(line));
    if (hits.every((hit) => hit)) return 'hit';
    return hits.some((hit) => hit) ? null : 'miss';
  }

  add({ write, address, bytes }: LoneBurst): void {
    const { unit } = this;
    const core = this.master.core !== null;
    for (const line of this.lines(address, bytes)) {
      const whole = address <= line && address + bytes >= line + unit.lineBytes;
      const through = write && !whole && unit.partialWriteMiss === 'through';
      if (core) this.own.add(line);
      if (core || (!through && (write ? unit.portWriteAllocate : unit.portReadAllocate))) this.shared.add(line);
    }
  }

  /** How many lines a burst touches. */
  count({ address, bytes }: LoneBurst): number {
    return this.lines(address, bytes).length;
  }

  private lines(address: number, bytes: number): number[] {
    const { lineBytes } = this.unit;
    const first = Math.floor(address / lineBytes) * lineBytes;
    const count = Math.floor((address + bytes - 1 - first) / lineBytes) + 1;
    return Array.from({ length: count }, (_, k) => first + k * lineBytes);
  }
}
