import { Clock } from '../../engine/clock.js';
import type { DdrSpec } from '../../scenario/scenario.js';
import { type Train, whole } from '../train.js';
import { IdleDram, type IdleAccess } from './idle-dram.js';
import { Mapping } from './mapping.js';

/**
 * What the banks hold when a burst arrives: the row that it wants first in each bank, none, another one, or the open row
 * by channel and bank (rank × banks + bank; −1: closed).
 */
export type IdleRows = 'hit' | 'empty' | 'conflict' | ((channel: number, bank: number) => number);

/** A row that no address has. */
const ANOTHER_ROW = -2;

/** The memory visit of one burst alone in the controller. Times are in the controller's clock. */
export interface IdleDdr {
  /** The data on the way back, by column access, from the instant at which the address can act. */
  read(address: number, bytes: number, atPs: number): Train;
  /** The same for neighbouring bursts, in order of address, each from its own instant on. */
  readLines(ready: Train): Train;
  /** When the last of a write's bytes are accepted as final, from its data as it comes in; `ends` as in `IdleEnd.write`. */
  write(data: Train, ends?: readonly number[]): number;
}

/**
 * U for a visit to a DRAM controller: one burst in flight, every timer expired, no refresh. It is worked out clock by
 * clock from the rules, and shares the clocks' edges and the address mapping with the simulator, nothing else.
 *
 * @param inTurn whether the accesses of the burst are served one after the other (`same_id_order: memory`)
 */
export function idleDdr(spec: DdrSpec, clock: Clock, rows: IdleRows, inTurn = false): IdleDdr {
  const visitOf = (write: boolean, pieces: Train, ends: readonly number[]): IdleVisit => {
    const address = pieces[0]!.low;
    const ready = (low: number, high: number): number =>
      Math.max(...pieces.filter((piece) => piece.low < high && piece.high > low).map((piece) => piece.atPs));
    return new IdleVisit(spec, clock, rows, write, address, ends, ready, inTurn);
  };
  const readLines = (ready: Train): Train => {
    const visit = visitOf(
      false,
      ready,
      ready.flatMap(({ low, high }) => [low, high]),
    );
    visit.run((access) => access.columnAt >= 0);
    return visit.accesses.map((access) => ({ low: access.low, high: access.high, atPs: visit.dataAt(access) }));
  };
  return {
    read: (address, bytes, atPs) => readLines(whole(address, bytes, atPs)),
    readLines,
    write: (data, ends = [data.at(-1)!.high]) => {
      const visit = visitOf(true, data, ends);
      visit.run((access) => access.enteredAt < Infinity);
      return visit.accesses.at(-1)!.enteredAt;
    },
  };
}

class IdleVisit {
  readonly accesses: IdleAccess[] = [];
  private readonly dram: Clock;
  private readonly channels: IdleDram[];
  private readonly readyAt: number[] = [];
  private cut = 0;
  private edge: number;

  constructor(
    private readonly spec: DdrSpec,
    private readonly clock: Clock,
    rows: IdleRows,
    private readonly write: boolean,
    address: number,
    ends: readonly number[],
    readyAt: (low: number, high: number) => number,
    inTurn: boolean,
  ) {
    const { timing } = spec;
    this.dram = new Clock('dram', timing.tckNumerator, timing.tckDenominator);
    const mapping = new Mapping(spec);
    const size = mapping.accessBytes;
    for (let low = address; low < ends.at(-1)!;) {
      // an access is of one burst, though two may lie within one DRAM burst
      const high = Math.min(
        (Math.floor(low / size) + 1) * size,
        ends.find((end) => end > low)!,
      );
      const readyPs = readyAt(low, high);
      // nothing of it is asked for
      if (readyPs === -Infinity) {
        low = high;
        continue;
      }
      this.readyAt.push(readyPs);
      mapping.decode(low);
      const { channel, row } = mapping;
      const bank = mapping.rank * timing.banks + mapping.bank;
      const before = inTurn ? (this.accesses.at(-1) ?? null) : null;
      this.accesses.push({ low, high, channel, bank, row, before, cutEdge: -1, enteredAt: Infinity, columnAt: -1 });
      low = high;
    }
    this.channels = Array.from({ length: spec.channels }, (_, number) => {
      const own = this.accesses.filter((access) => access.channel === number);
      return new IdleDram(spec, this.dram, write, own, (bank) => openRow(rows, number, bank, own));
    });
    this.edge = clock.indexFrom(this.readyAt[0]!);
  }

  /** Steps through the DRAM's clocks until `done` holds for every access. */
  run(done: (access: IdleAccess) => boolean): void {
    for (let c = this.dram.indexFrom(this.readyAt[0]!); !this.accesses.every(done); c++) {
      this.cutUntil(this.dram.at(c));
      for (const channel of this.channels) channel.step(c);
    }
  }

  /** When an access's data can be used on the way back. */
  dataAt({ columnAt }: IdleAccess): number {
    const { spec } = this;
    const { nCL, nDQSCK, burstLength } = spec.timing;
    const through = columnAt + spec.phyCommandClocks + nCL + nDQSCK + burstLength / 2 + spec.phyDataClocks;
    return this.clock.after(this.dram.at(through), spec.returnCycles);
  }

  /** Cuts an access a cycle, in order, once its data and an entry are there; up to and including `untilPs`. */
  private cutUntil(untilPs: number): void {
    for (; this.cut < this.accesses.length && this.clock.at(this.edge) <= untilPs; this.edge++) {
      const access = this.accesses[this.cut]!;
      const now = this.clock.at(this.edge);
      if (this.readyAt[this.cut]! > now || !this.hasEntry(access.channel, now)) continue;
      access.cutEdge = this.edge;
      access.enteredAt = this.clock.at(this.edge + Math.max(1, this.spec.frontCycles));
      this.cut++;
    }
  }

  /** An entry is free again after the instant of its column command. */
  private hasEntry(channel: number, now: number): boolean {
    const total = this.write ? this.spec.writeEntries : this.spec.readEntries;
    const held = this.accesses.filter((access) => {
      if (access.channel !== channel || access.cutEdge < 0) return false;
      return access.columnAt < 0 || this.dram.at(access.columnAt) >= now;
    });
    return held.length < total;
  }
}

function openRow(rows: IdleRows, channel: number, bank: number, own: readonly IdleAccess[]): number {
  if (typeof rows === 'function') return rows(channel, bank);
  if (rows === 'empty') return -1;
  return rows === 'conflict' ? ANOTHER_ROW : (own.find((access) => access.bank === bank)?.row ?? -1);
}
