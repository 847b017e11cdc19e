// Written from the rule table alone (JEDEC's command truth and timing tables as listed in the design, section 4): it shares
// no code with the scheduler, and looks at every pair of commands.
import { Command } from '../../../src/model/dram/command.js';
import type { DramTimingSpec } from '../../../src/scenario/scenario.js';
import type { Logged } from './rig.js';

export interface Issued {
  readonly clock: number;
  readonly kind: number;
  readonly rank: number;
  readonly group: number;
  /** Within the rank. */
  readonly bank: number;
  readonly row: number;
  /** Inside the device, not on the command bus: the precharge of an auto-precharge. */
  readonly hidden?: boolean;
}

const READS: readonly number[] = [Command.read, Command.readAuto];
const WRITES: readonly number[] = [Command.write, Command.writeAuto];
const isRead = ({ kind }: Issued): boolean => READS.includes(kind);
const isWrite = ({ kind }: Issued): boolean => WRITES.includes(kind);
const isColumn = (command: Issued): boolean => isRead(command) || isWrite(command);
const opens = ({ kind }: Issued): boolean => kind === Command.activate || kind === Command.refreshBank;

/** The rules between commands, and the state they lead to. */
export class JedecRules {
  private history: Issued[] = [];
  private readonly open = new Map<string, { row: number; since: number }>();
  private readonly window: number;

  constructor(private readonly t: DramTimingSpec) {
    this.window = Math.max(t.nRFC, t.nRFCpb, t.nRC, t.nFAW, t.nWriteToPrecharge + t.nRP, t.nRAS + t.nRP) + t.nRPab + 8;
  }

  /** Why `command` is illegal, or null. */
  fault(command: Issued): string | null {
    const state = this.stateFault(command);
    if (state !== null) return state;
    const [from, why] = this.legalFrom(command);
    return command.clock < from ? `legal from ${from} on, ${why}` : null;
  }

  /** First clock at which the timing rules allow a command, whatever its own clock says, and which rule decides. */
  legalFrom(command: Issued): [clock: number, why: string] {
    let found: [number, string] = [0, ''];
    const opened: number[] = [];
    for (const before of this.history) {
      const gap = this.gap(before, command);
      if (gap > 0 && before.clock + gap > found[0]) {
        found = [before.clock + gap, `${gap} clocks after kind ${before.kind} at ${before.clock}`];
      }
      if (opens(before) && before.rank === command.rank) opened.push(before.clock);
    }
    const fourth = opened.at(-4);
    if (opens(command) && fourth !== undefined && fourth + this.t.nFAW > found[0]) {
      found = [fourth + this.t.nFAW, `four activates from ${fourth} on`];
    }
    return found;
  }

  /** Takes the command into the history. */
  add(command: Issued): void {
    this.history = this.history.filter((before) => before.clock + this.window > command.clock);
    this.history.push(command);
    const key = `${command.rank}/${command.bank}`;
    const open = this.open.get(key);
    if (command.kind === Command.activate) this.open.set(key, { row: command.row, since: command.clock });
    if (command.kind === Command.precharge) this.open.delete(key);
    if (command.kind === Command.prechargeAll) {
      for (const name of this.open.keys()) if (name.startsWith(`${command.rank}/`)) this.open.delete(name);
    }
    if (command.kind === Command.readAuto || command.kind === Command.writeAuto) {
      const recovery = isRead(command) ? this.t.nReadToPrecharge : this.t.nWriteToPrecharge;
      const clock = Math.max(command.clock + recovery, open!.since + this.t.nRAS);
      this.open.delete(key);
      this.history.push({ ...command, kind: Command.precharge, clock, hidden: true });
    }
  }

  openRow(rank: number, bank: number): number {
    return this.open.get(`${rank}/${bank}`)?.row ?? -1;
  }

  anyOpen(rank: number): boolean {
    return [...this.open.keys()].some((name) => name.startsWith(`${rank}/`));
  }

  /** Why the banks' state does not allow `command`, or null. */
  stateFault(command: Issued): string | null {
    const row = this.openRow(command.rank, command.bank);
    if (command.kind === Command.activate && row !== -1) return 'activate of an open bank';
    if (isColumn(command) && row !== command.row) return `column command to row ${command.row}, open is ${row}`;
    if (command.kind === Command.refresh && this.anyOpen(command.rank)) return 'refresh with an open bank';
    if (command.kind === Command.refreshBank && row !== -1) return 'refresh of an open bank';
    return null;
  }

  /** Least clocks from `a` to `b`. */
  private gap(a: Issued, b: Issued): number {
    const onBus = a.hidden === true ? 0 : this.occupies(a);
    if (isColumn(a) && isColumn(b)) return Math.max(onBus, this.columnGap(a, b));
    return a.rank === b.rank ? Math.max(onBus, this.rankGap(a, b)) : onBus;
  }

  private occupies(command: Issued): number {
    if (command.kind === Command.activate) return this.t.activateClocks;
    return isColumn(command) ? this.t.columnClocks : 1;
  }

  private columnGap(a: Issued, b: Issued): number {
    const { t } = this;
    const sameRank = a.rank === b.rank;
    const sameGroup = sameRank && a.group === b.group;
    const data = this.dataStart(a) + t.burstLength / 2 + (sameRank ? 0 : t.nRankGap) - this.dataStart(b);
    if (!sameRank) return data;
    if (isRead(a) && isWrite(b)) return Math.max(data, t.nReadToWrite);
    if (isWrite(a) && isRead(b)) return Math.max(data, sameGroup ? t.nWriteToRead_L : t.nWriteToRead_S);
    return Math.max(data, sameGroup ? t.nCCD_L : t.nCCD_S);
  }

  private dataStart(command: Issued): number {
    const { t } = this;
    return isRead(command) ? t.nCL + t.nDQSCK : t.nCWL + (t.standard.startsWith('LPDDR') ? 1 : 0);
  }

  private rankGap(a: Issued, b: Issued): number {
    const { t } = this;
    const sameBank = a.bank === b.bank;
    const spread = a.group === b.group ? t.nRRD_L : t.nRRD_S;
    const closes = (b.kind === Command.precharge && sameBank) || b.kind === Command.prechargeAll;
    switch (a.kind) {
      case Command.activate:
        if (b.kind === Command.activate || b.kind === Command.refreshBank) return sameBank ? t.nRC : spread;
        if (b.kind === Command.refresh) return t.nRC;
        if (closes) return t.nRAS;
        return isColumn(b) && sameBank ? t.nRCD : 0;
      case Command.precharge:
        if (b.kind === Command.refresh) return t.nRP;
        return (b.kind === Command.activate || b.kind === Command.refreshBank) && sameBank ? t.nRP : 0;
      case Command.prechargeAll:
        return opens(b) || b.kind === Command.refresh ? t.nRPab : 0;
      case Command.refresh:
        return b.kind === Command.activate || b.kind === Command.refresh ? t.nRFC : 0;
      case Command.refreshBank:
        if (b.kind === Command.refreshBank) return Math.max(spread, t.nRFCpb);
        if (b.kind === Command.activate) return sameBank ? t.nRFCpb : spread;
        return 0;
      default:
        if (!closes) return 0;
        return isRead(a) ? t.nReadToPrecharge : t.nWriteToPrecharge;
    }
  }
}

/** Every fault of a command log, as text. */
export function faultsOf(log: readonly Logged[], timing: DramTimingSpec): string[] {
  const rules = new JedecRules(timing);
  const faults: string[] = [];
  for (const entry of log) {
    const command = issued(entry, timing);
    const fault = rules.fault(command);
    if (fault !== null) faults.push(`${JSON.stringify(entry)}: ${fault}`);
    rules.add(command);
  }
  return faults;
}

export function issued([clock, kind, rank, bank, row]: Logged, timing: DramTimingSpec): Issued {
  return { clock, kind, rank, bank, row, group: Math.floor(bank / (timing.banks / timing.bankGroups)) };
}
