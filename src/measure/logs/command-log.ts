// Hot path where it is switched on: `add` runs for every DRAM command, and allocates only when a column grows.
import type { Clock } from '../../engine/clock.js';
import { Command } from '../../model/dram/command.js';
import type { Warning } from '../results.js';
import type { CommandRow } from '../tables/rows.js';

/** Most commands that are kept of one replication: some 20 MB here, 70 MB as CSV. */
export const COMMAND_CAP = 1_000_000;

const FIRST_ROOM = 1024;

/** What the log calls each kind of command. */
export const COMMAND_NAMES: ReadonlyMap<number, string> = new Map([
  [Command.activate, 'activate'],
  [Command.read, 'read'],
  [Command.write, 'write'],
  [Command.readAuto, 'read_auto'],
  [Command.writeAuto, 'write_auto'],
  [Command.precharge, 'precharge'],
  [Command.prechargeAll, 'precharge_all'],
  [Command.refresh, 'refresh'],
  [Command.refreshBank, 'refresh_bank'],
]);

/** A memory whose commands are logged. */
export interface LoggedMemory {
  readonly name: string;
  /** Of the DRAM. */
  readonly clock: Clock;
  readonly channels: number;
}

/** Commands of one channel, in the order of time. */
class ChannelLog {
  count = 0;
  missed = 0;
  private clocks = new Float64Array(FIRST_ROOM);
  private rows = new Int32Array(FIRST_ROOM);
  /** Rank, bank group, bank and kind of each command, side by side. */
  private places = new Uint16Array(4 * FIRST_ROOM);

  constructor(
    private readonly placement: string,
    private readonly replication: number,
    private readonly memory: LoggedMemory,
    readonly channel: number,
    private readonly cap: number,
  ) {}

  add(rank: number, group: number, bank: number, row: number, kind: number, clock: number): void {
    if (this.count === this.cap) {
      this.missed++;
      return;
    }
    if (this.count === this.rows.length) this.grow();
    const at = this.count++;
    this.clocks[at] = clock;
    this.rows[at] = row;
    this.places[4 * at] = rank;
    this.places[4 * at + 1] = group;
    this.places[4 * at + 2] = bank;
    this.places[4 * at + 3] = kind;
  }

  *commands(scenario: string): Generator<CommandRow> {
    const { placement, replication, memory, channel } = this;
    for (let at = 0; at < this.count; at++) {
      const [rank, group, bank, kind] = this.places.subarray(4 * at, 4 * at + 4);
      // a command to the whole rank names none of its banks
      const whole = kind === Command.prechargeAll || kind === Command.refresh;
      const row = this.rows[at]!;
      yield {
        scenario,
        placement,
        replication,
        memory: memory.name,
        channel,
        timePs: memory.clock.at(this.clocks[at]!),
        rank: rank!,
        bankGroup: whole ? null : group!,
        bank: whole ? null : bank!,
        row: row < 0 ? null : row,
        command: COMMAND_NAMES.get(kind!)!,
      };
    }
  }

  warnings(): Warning[] {
    if (this.missed === 0) return [];
    const { placement, memory, channel, cap, missed } = this;
    const place = `placement ${placement}, ${memory.name} channel ${channel}`;
    const text = `${place}: the command log holds the first ${cap} of ${cap + missed} commands`;
    return [{ text, count: 1 }];
  }

  private grow(): void {
    const room = Math.min(2 * this.rows.length, Math.max(this.cap, FIRST_ROOM));
    this.clocks = copied(this.clocks, new Float64Array(room));
    this.rows = copied(this.rows, new Int32Array(room));
    this.places = copied(this.places, new Uint16Array(4 * room));
  }
}

/**
 * The DRAM commands of one replication or several, each from its first instant on. The channels of a replication share the
 * cap evenly, and each keeps the first of its commands, so that what is kept does not depend on the order of events.
 */
export class CommandLog {
  private readonly all: ChannelLog[] = [];
  /** Of the replication begun last: by number of the element, then of the channel. */
  private readonly open = new Map<number, ChannelLog[]>();

  constructor(private readonly cap: number = COMMAND_CAP) {}

  /** Begins a replication; `memories` by number of the element. */
  begin(placement: string, replication: number, memories: ReadonlyMap<number, LoggedMemory>): void {
    const channels = [...memories.values()].reduce((sum, memory) => sum + memory.channels, 0);
    const cap = Math.floor(this.cap / Math.max(1, channels));
    this.open.clear();
    for (const [element, memory] of memories) {
      const logs = Array.from(
        { length: memory.channels },
        (_, n) => new ChannelLog(placement, replication, memory, n, cap),
      );
      this.open.set(element, logs);
      this.all.push(...logs);
    }
  }

  /** Takes a command of the replication begun last, as the probe is told of it. */
  add(
    element: number,
    channel: number,
    rank: number,
    group: number,
    bank: number,
    row: number,
    kind: number,
    clock: number,
  ): void {
    this.open.get(element)![channel]!.add(rank, group, bank, row, kind, clock);
  }

  /** The rows of commands.csv, one after the other: by placement, memory and channel, each in the order of time. */
  *rows(scenario: string): Generator<CommandRow> {
    for (const log of this.all) yield* log.commands(scenario);
  }

  /** What was not kept. */
  warnings(): Warning[] {
    return this.all.flatMap((log) => log.warnings());
  }
}

function copied<Cells extends Float64Array | Int32Array | Uint16Array>(from: Cells, to: Cells): Cells {
  to.set(from);
  return to;
}
