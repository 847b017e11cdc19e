import type { CoherenceUnit } from '../../../src/model/coherence/coherence-unit.js';
import { StructuralModel } from '../../../src/model/coherence/structural-model.js';
import { LineState } from '../../../src/model/coherence/tag-store.js';

/** Counts of what was seen in the tags of a unit and its cores, at one instant after the other while traffic runs. */
export class CoherenceWatch {
  /** Instants looked at. */
  looks = 0;
  /** Copies in private caches, by what they are; the same copy counts at each look. */
  owned = 0;
  shared = 0;
  /** Lines that several private caches hold. */
  heldBySeveral = 0;
  /** Copies in private caches that an inclusive shared cache does not have. */
  notIncluded = 0;
  /** Copies beside one that its holder may write to. */
  besideAWriter = 0;
  /** Copies that the duplicate tags do not know, or know in another state. */
  unknown = 0;
  /** Lines of which two private caches have changed data, those pushed out and not yet taken included. */
  changedTwice = 0;
  /** Lines in more than one way of a cache. */
  twice = 0;
  /** Looks at which more lines waited to be written back than there are slots for. */
  beyondSlots = 0;

  /** Looks at all tags as they are now. */
  look(unit: CoherenceUnit): void {
    const { model } = unit;
    if (!(model instanceof StructuralModel)) throw new Error('a unit without tags');
    this.looks++;
    const copies = new Map<number, { core: number; state: number }[]>();
    for (const [core, cache] of unit.cores.entries()) {
      const lines = [...cache.tags.entries()];
      this.twice += lines.length - new Set(lines.map(({ line }) => line)).size;
      for (const { line, state } of lines) {
        if (state === LineState.pending) continue;
        copies.set(line, [...(copies.get(line) ?? []), { core, state }]);
        if (unit.spec.l2.inclusive && model.l2.find(line) < 0) this.notIncluded++;
      }
    }
    for (const [line, holders] of copies) this.lookAtLine(model, line, holders);
    if (unit.buffer.length > unit.spec.writebackSlots) this.beyondSlots++;
    for (const line of model.directory.lines()) {
      if (unit.cores.filter((cache) => cache.isDirty(line)).length > 1) this.changedTwice++;
    }
    const shared = [...model.l2.entries()].map(({ line }) => line);
    this.twice += shared.length - new Set(shared).size;
  }

  private lookAtLine(
    { directory }: StructuralModel,
    line: number,
    holders: readonly { core: number; state: number }[],
  ): void {
    const writers = holders.filter(({ state }) => state !== LineState.shared);
    this.owned += writers.length;
    this.shared += holders.length - writers.length;
    if (holders.length > 1) this.heldBySeveral++;
    if (writers.length > 0) this.besideAWriter += holders.length - 1;
    for (const { core, state } of holders) {
      const known = directory.holds(line, core) && (state === LineState.shared || directory.owner(line) === core);
      if (!known) this.unknown++;
    }
  }
}
