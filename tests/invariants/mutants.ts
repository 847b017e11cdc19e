/** A fault that could have been made: one place of the sources, altered. */
export interface Mutant {
  readonly name: string;
  /** Below `src/`. */
  readonly file: string;
  /** What stands there once, and what stands in its place. */
  readonly search: string;
  readonly replace: string;
}

/** Faults to plant, one at a time: the invariants should find each of them (`npm run faults`). Most are off by one, or leave a rule out. */
export const MUTANTS: readonly Mutant[] = [
  {
    name: 'a queue has a place more than its depth',
    file: 'model/forward-queue.ts',
    search: 'this.room = depth;',
    replace: 'this.room = depth + 1;',
  },
  {
    name: 'a freed place is seen at once',
    file: 'model/forward-lane.ts',
    search: 'queue.release(this.freeAt);',
    replace: 'queue.release(this.context.calendar.now);',
  },
  {
    name: 'a queue of one burst is not integrated',
    file: 'model/window.ts',
    search: 'if (this.length > 0) {',
    replace: 'if (this.length > 1) {',
  },
  {
    name: 'an output is free a cycle early',
    file: 'model/forward-lane.ts',
    search: 'this.freeAt = this.clock.at(lastEdge + 1);',
    replace: 'this.freeAt = this.clock.at(lastEdge);',
  },
  {
    name: 'a stall goes on through decisions',
    file: 'model/forward-lane.ts',
    search: 'this.stalled.end(now);\n    const edge',
    replace: 'const edge',
  },
  {
    name: 'beats of one ID come between one another',
    file: 'model/return-lane.ts',
    search: 'if (holder >= 0 && this.sameStream(slot, holder)) return true;',
    replace: '',
  },
  {
    name: 'answers of one ID overtake one another',
    file: 'model/issue-side.ts',
    search: 'if (tail >= 0) {',
    replace: 'if (tail >= 4) {',
  },
  {
    name: 'a lane with several feeders is taken for a straight one',
    file: 'model/feeders.ts',
    search: 'known === undefined || known === feeder ? feeder : null',
    replace: 'feeder',
  },
  {
    name: 'a wide beat goes on with its first byte',
    file: 'model/bursts.ts',
    search: 'if ((beatEnd < end ? beatEnd : end) <= high) this.beats',
    replace: 'if (this.beats[base + k - origin] === Infinity) this.beats',
  },
  {
    name: 'bursts cross 4 KiB',
    file: 'traffic/burst-cutter.ts',
    search: 'alignedDown(from, BOUNDARY_BYTES) + BOUNDARY_BYTES',
    replace: 'alignedDown(from, BOUNDARY_BYTES) + 2 * BOUNDARY_BYTES',
  },
  {
    name: 'draws are named by the port',
    file: 'traffic/request-source.ts',
    search: 'randomStream(seed, replication, spec.name, purpose)',
    replace: 'randomStream(seed, replication, spec.attach, purpose)',
  },
  {
    name: 'bursts of both directions are not limited together',
    file: 'model/port.ts',
    search: 'this.together.take(1);',
    replace: '',
  },
  {
    name: 'a regulator lets twice its rate through',
    file: 'model/port.ts',
    search: 'Math.ceil((bytes * 1e12) / this.bytesPerS)',
    replace: 'Math.ceil((bytes * 5e11) / this.bytesPerS)',
  },
  {
    name: 'banks on the chip are free a cycle early',
    file: 'model/on-chip.ts',
    search: 'this.bankFree[bank] = cycle;',
    replace: 'this.bankFree[bank] = cycle - 1;',
  },
  {
    name: 'a device answers a cycle late',
    file: 'model/device.ts',
    search: 'calendar.arm(this.doneCarriers[server]!, done);',
    replace: 'calendar.arm(this.doneCarriers[server]!, this.base.clock.after(done, 1));',
  },
  {
    name: 'five activates within tFAW',
    file: 'model/dram/bank-state.ts',
    search: '+ t.nFAW;',
    replace: '+ t.nFAW - 1;',
  },
  {
    name: 'a read follows a write of the same bank group too soon',
    file: 'model/dram/bank-state.ts',
    search: 'clock + t.nWriteToRead_L);',
    replace: 'clock + t.nWriteToRead_S);',
  },
  {
    name: 'a row opens during refresh',
    file: 'model/dram/bank-state.ts',
    search: 'clock + this.timing.nRFC);',
    replace: 'clock + this.timing.nRFC - 1);',
  },
  {
    name: 'a read is answered from a write that covers its start',
    file: 'model/dram/hazards.ts',
    search: 'it.high >= read.high)',
    replace: 'it.high > read.low)',
  },
  {
    name: 'the holder of a grain loses it when it is looked at in vain',
    file: 'model/dram/front-end.ts',
    search: 'if (arbiter.pick() < 0) return -1;',
    replace: 'if (arbiter.pick() < 0) {\n      this.holder = -1;\n      return -1;\n    }',
  },
  {
    name: 'a DRAM access returns with its column command',
    file: 'model/dram/controller.ts',
    search: 'this.dramClock.at(clock + this.dataClocks)',
    replace: 'this.dramClock.at(clock)',
  },
  {
    name: 'a miss keeps its entry',
    file: 'model/coherence/miss-entries.ts',
    search: 'this.free.push(entry);\n  }\n\n  /** A burst waits',
    replace: '}\n\n  /** A burst waits',
  },
  {
    name: 'a lookup takes a cycle more',
    file: 'model/coherence/structural-model.ts',
    search: 'const known = this.unit.edge + lookupCycles;',
    replace: 'const known = this.unit.edge + lookupCycles + 1;',
  },
  {
    name: 'an inclusive cache leaves the copies of what it evicts',
    file: 'model/coherence/structural-model.ts',
    search: 'this.inclusive && this.invalidateCopies(victim, -1)',
    replace: 'this.inclusive && victim < -1',
  },
  {
    name: 'beats of a narrow master are counted as one',
    file: 'model/beat-taker.ts',
    search: 'this.moved(bytes, clock.at(edge + k), bytes);',
    replace: 'this.moved(bytes, clock.at(edge), bytes);',
  },
  {
    name: 'what a device loses stays in the backlog',
    file: 'measure/recorder.ts',
    search: 'this.gone(slot, context.bursts.op[slot] === READ ? 0 : 1, context.calendar.now);',
    replace: '',
  },
  {
    name: 'edges are rounded down',
    file: 'engine/clock.ts',
    search: 'Math.round((r * this.numerator) / this.denominator)',
    replace: 'Math.floor((r * this.numerator) / this.denominator)',
  },
  {
    name: 'round robin goes round the wrong way',
    file: 'model/arbiter.ts',
    search: 'return steps > 0 ? steps : steps + n;',
    replace: 'return steps < 0 ? -steps : n - steps;',
  },
];
