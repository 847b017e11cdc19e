import type { Clock } from '../../engine/clock.js';
import type { CoherenceSpec } from '../../scenario/scenario.js';
import { crossed, firstAt, lastAt, type Piece, sent, type Train } from '../train.js';
import { StageLog, type Unloaded } from '../unloaded.js';
import type { Leaving } from '../unloaded-lines.js';

/** What a lookup meets, line by line alike. */
export type IdleOutcome =
  /** The shared cache has it, and no private cache does. */
  | 'hit'
  /** Memory has it. */
  | 'miss'
  /** A private cache has it alone and must be asked for it. */
  | 'owned'
  /** A write, or an upgrade, of a line that private caches share. */
  | 'shared';

/**
 * The part of an unloaded miss that is not the unit's. All lines of one burst that miss are asked for together, as they
 * meet one another on the way; each can leave from its own instant on, in the unit's clock.
 */
export interface IdleMemory {
  /** When the data of each line is all back. */
  fetch(lines: readonly Leaving[]): readonly number[];
  /** When it is known that all of these writes, which go through, are accepted. */
  send(lines: readonly Leaving[]): number;
}

/** The coherence unit as the last element of an idle path. */
export class IdleUnit {
  /**
   * @param spec whose cycles count
   * @param clock of the unit
   * @param outcome of every line's lookup
   * @param memory its part of a miss
   */
  constructor(
    private readonly spec: CoherenceSpec,
    private readonly clock: Clock,
    private readonly outcome: IdleOutcome,
    private readonly memory: IdleMemory,
  ) {}

  /** The data of a read whose address can act at `atPs`, as usable on the way back. */
  read(address: number, bytes: number, atPs: number): Train {
    const { clock, spec } = this;
    const lines = cut(address, bytes, spec.lineBytes);
    const firstEdge = clock.indexFrom(atPs);
    const firsts = this.outcome === 'miss' ? this.fetched(lines, firstEdge) : this.served(lines, firstEdge);
    return lines.flatMap(([low, high], line) =>
      cut(low, high - low, spec.widthBytes).map(([from, to], beat): Piece => ({
        low: from,
        high: to,
        atPs: clock.at(firsts[line]! + beat),
      })),
    );
  }

  /** Edge from which on each line's beats come, if memory has them; a line is looked up each cycle. */
  private fetched(lines: readonly (readonly [number, number])[], firstEdge: number): number[] {
    const { clock, spec } = this;
    const leaving = lines.map(([low], line) => this.wholeLine(low, firstEdge + line));
    return this.memory.fetch(leaving).map((back) => clock.indexFrom(back) + spec.fillCycles);
  }

  /** The same if the shared cache or a core has them. */
  private served(lines: readonly (readonly [number, number])[], firstEdge: number): number[] {
    const { spec } = this;
    let dataFree = 0;
    return lines.map(([low, high], line) => {
      const known = firstEdge + line + spec.lookupCycles;
      if (this.outcome === 'owned') return known + spec.interventionCycles;
      const start = Math.max(known, dataFree);
      dataFree = start + cut(low, high - low, spec.widthBytes).length;
      return start + spec.dataCycles;
    });
  }

  private wholeLine(byte: number, edge: number): Leaving {
    const { lineBytes, lookupCycles } = this.spec;
    const address = Math.floor(byte / lineBytes) * lineBytes;
    return { address, bytes: lineBytes, leavesPs: this.clock.at(edge + lookupCycles) };
  }

  /** When a write is accepted as final, from its data as it comes in. */
  write(data: Train): number {
    const { clock, spec } = this;
    const address = data[0]!.low;
    const bytes = data.at(-1)!.high - address;
    let edge = -1;
    let dataFree = 0;
    let done = 0;
    const missing: { low: number; high: number; edge: number }[] = [];
    for (const [low, high] of cut(address, bytes, spec.lineBytes)) {
      const there = lastAt(data.filter((piece) => piece.low < high && piece.high > low));
      edge = Math.max(edge + 1, clock.indexFrom(there));
      const whole = high - low === spec.lineBytes;
      if (this.outcome === 'miss' && !(whole && spec.portWriteAllocate)) {
        missing.push({ low, high, edge });
        continue;
      }
      const start = Math.max(edge + spec.lookupCycles + this.snoopCycles(whole), dataFree);
      dataFree = start + cut(low, high - low, spec.widthBytes).length;
      done = Math.max(done, clock.at(dataFree));
    }
    return missing.length === 0 ? done : Math.max(done, this.missingWrites(missing));
  }

  /** When a core has a line that its request, at the tags at `atPs`, asks for: the last beat usable on the way back. */
  own(address: number, atPs: number, upgrade: boolean): Train {
    const { clock, spec } = this;
    const [low, high] = cut(address, 1, spec.lineBytes, true)[0]!;
    if (upgrade) {
      const at = clock.indexFrom(atPs) + spec.lookupCycles + spec.upgradeCycles;
      return [{ low, high: low + spec.widthBytes, atPs: clock.at(at) }];
    }
    const train = this.read(low, high - low, atPs);
    if (this.outcome !== 'shared') return train;
    const late = Math.max(0, spec.upgradeCycles - spec.dataCycles);
    return train.map((piece) => ({ ...piece, atPs: clock.after(piece.atPs, late) }));
  }

  /** Lines of a write that miss: they go through, or are fetched and merged. */
  private missingWrites(lines: readonly { low: number; high: number; edge: number }[]): number {
    const { clock, spec, memory } = this;
    if (!spec.portWriteAllocate || spec.partialWriteMiss === 'through') {
      const leavesPs = (edge: number): number => clock.at(edge + spec.lookupCycles);
      return memory.send(
        lines.map(({ low, high, edge }) => ({ address: low, bytes: high - low, leavesPs: leavesPs(edge) })),
      );
    }
    const back = memory.fetch(lines.map(({ low, edge }) => this.wholeLine(low, edge)));
    return clock.after(Math.max(...back), spec.fillCycles);
  }

  private snoopCycles(whole: boolean): number {
    if (this.outcome === 'shared' || (this.outcome === 'owned' && whole)) return this.spec.upgradeCycles;
    return this.outcome === 'owned' ? this.spec.interventionCycles : 0;
  }
}

/** A core beside an idle unit, as far as its timing is concerned. */
export interface IdleCore {
  readonly clock: Clock;
  readonly hitCycles: number;
  /** Synchroniser cycles into the unit, and back into the core. */
  readonly syncIn: number;
  readonly syncBack: number;
  /** Cycles of the unit's way back. */
  readonly backwardCycles: number;
}

/** The unit that an idle core is attached to. */
export interface IdleCoreUnit {
  readonly name: string;
  readonly idle: IdleUnit;
  readonly clock: Clock;
  readonly lineBytes: number;
}

/** What an access of an idle core meets in its private cache. */
export type IdleAccess = 'hit' | 'fetch' | 'fetch_alone' | 'upgrade';

/** U of one access of a core, within one line: when it is done, if it is wanted at `wantedPs`. */
export function idleCoreAccess(
  core: IdleCore,
  unit: IdleCoreUnit,
  access: IdleAccess,
  address: number,
  wantedPs: number,
): number {
  return wantedPs + unloadedAccess(core, unit, access, address, wantedPs).totalPs;
}

/** U of one access of a core, within one line, stage by stage. */
export function unloadedAccess(
  core: IdleCore,
  unit: IdleCoreUnit,
  access: IdleAccess,
  address: number,
  wantedPs: number,
): Unloaded {
  const log = new StageLog(wantedPs);
  const leaves = core.clock.after(wantedPs, core.hitCycles);
  if (access === 'hit') return log.close('master', 'issue', leaves);
  log.until('master', 'issue', leaves);
  const at = unit.clock.after(leaves, core.syncIn);
  log.until(unit.name, 'forward', at);
  const line = Math.floor(address / unit.lineBytes) * unit.lineBytes;
  const data =
    access === 'fetch' ? unit.idle.read(line, unit.lineBytes, at) : unit.idle.own(line, at, access === 'upgrade');
  log.until(unit.name, 'service', firstAt(data));
  const back = sent(data, unit.clock, 0, core.backwardCycles);
  log.until(unit.name, 'return', lastAt(back));
  return log.close('master', 'delivery', lastAt(crossed(back, unit.clock, core.clock, core.syncBack)));
}

/** The pieces [low, high) of a range that lie in one aligned block each; the whole blocks if `rounded`. */
function cut(address: number, bytes: number, size: number, rounded = false): [number, number][] {
  const pieces: [number, number][] = [];
  for (let start = Math.floor(address / size) * size; start < address + bytes; start += size) {
    pieces.push(rounded ? [start, start + size] : [Math.max(start, address), Math.min(start + size, address + bytes)]);
  }
  return pieces;
}
