import { join } from 'node:path';
import type { BurstChoice } from '../measure/logs/burst-log.js';
import type { Logs } from '../measure/logs/logging-recorder.js';
import { readQuantity } from '../scenario/quantity.js';
import type { Scenario } from '../scenario/scenario.js';
import { suggestion } from '../scenario/suggestion.js';
import { CommandError } from './command-error.js';
import { ExitCode } from './exit-code.js';
import type { Io } from './io.js';
import { writeOrSay } from './write.js';

/** Longest span of signals: some ten million changes on a busy chip. */
const MOST_SPAN_PS = 1_000_000_000;

/** Options of `run` that ask for logs of the first replication. */
export interface LogOptions {
  commands?: boolean;
  bursts?: boolean;
  burstsOf?: string[];
  burstsBetween?: string;
  burstsSlowest?: number;
  wave?: string;
  waveBetween?: string;
}

/** Those of a command's options, in the order in which it is written down. */
export function logOptions(options: LogOptions) {
  const { commands, bursts, burstsOf, burstsBetween, burstsSlowest, wave, waveBetween } = options;
  return { commands, bursts, burstsOf, burstsBetween, burstsSlowest, wave, waveBetween };
}

/** The logs that are asked for, and how they are written once they are full. */
export interface AskedLogs {
  readonly logs: Logs;
  /** Where they are beside the folder, if anywhere. */
  readonly waveFile: string | null;
  write(folder: string): void;
}

/** Makes the logs that the options ask for. @throws CommandError where they name what is not there */
export async function askedLogs(options: LogOptions, scenario: Scenario, io: Io): Promise<AskedLogs> {
  const { TABLES } = await import('../measure/tables/columns.js');
  const { csvParts } = await import('../output/csv.js');
  const { CommandLog } = await import('../measure/logs/command-log.js');
  const { BurstLog } = await import('../measure/logs/burst-log.js');
  const { WaveLog } = await import('../measure/logs/wave-log.js');
  const { valueChangeDump } = await import('../output/wave.js');
  const choice = burstChoice(options, scenario);
  const commandLog = options.commands === true ? new CommandLog() : null;
  const burstLog = choice === null ? null : new BurstLog(choice);
  const waveFile = options.wave ?? null;
  const span = waveSpan(options);
  const waveLog = waveFile === null ? null : new WaveLog(span);
  return {
    logs: {
      ...(commandLog === null ? {} : { commandLog }),
      ...(burstLog === null ? {} : { burstLog }),
      ...(waveLog === null ? {} : { waveLog }),
    },
    waveFile,
    write: (folder) => {
      if (commandLog !== null) {
        writeOrSay(join(folder, TABLES.commands.file), csvParts(TABLES.commands, commandLog.rows(scenario.name)), io);
      }
      if (burstLog !== null) {
        writeOrSay(join(folder, TABLES.bursts.file), csvParts(TABLES.bursts, burstLog.rows(scenario.name)), io);
      }
      if (waveLog !== null)
        writeOrSay(waveFile!, valueChangeDump(waveLog.waves()), io, 'name another file with --wave');
    },
  };
}

function waveSpan({ wave, waveBetween }: LogOptions): { fromPs: number; toPs: number } | null {
  if (waveBetween === undefined) return null;
  if (wave === undefined) throw new CommandError('--wave-between: goes with --wave FILE', ExitCode.usage);
  const span = spanOf('--wave-between', waveBetween);
  if (span.toPs - span.fromPs <= MOST_SPAN_PS) return span;
  const text = `--wave-between: must span at most 1 ms, got '${waveBetween}'; write e.g. '1510us..1520us'`;
  throw new CommandError(text, ExitCode.usage);
}

/** null: no bursts are asked for. Each option that narrows them down asks for them as well. */
function burstChoice(options: LogOptions, scenario: Scenario): BurstChoice | null {
  const { bursts, burstsOf, burstsBetween, burstsSlowest } = options;
  const asked = [bursts === true ? bursts : undefined, burstsOf, burstsBetween, burstsSlowest];
  if (asked.every((one) => one === undefined)) return null;
  checkPaths(burstsOf ?? [], scenario);
  return {
    paths: burstsOf ?? [],
    span: burstsBetween === undefined ? null : spanOf('--bursts-between', burstsBetween),
    slowest: burstsSlowest ?? null,
  };
}

function checkPaths(paths: readonly string[], { systems }: Scenario): void {
  const masters = new Set(systems.flatMap((system) => system.masters.map(({ name }) => name)));
  for (const path of paths) {
    if (masters.has(path.replace(/ (read|write)$/, ''))) continue;
    const hint = suggestion(path, masters);
    const text = `--bursts-of: no master '${path}'; ${hint}; an operation goes with it as in 'NAME read'`;
    throw new CommandError(text, ExitCode.usage);
  }
}

/** Reads two times from the start of the run, as `1510 us..1520 us`. @throws CommandError */
export function spanOf(option: string, text: string): { fromPs: number; toPs: number } {
  const times = text.split('..').map((time) => readQuantity('time', time.trim()));
  const [from, to] = times;
  if (times.length === 2 && 'value' in from! && 'value' in to! && from.value >= 0 && from.value < to.value) {
    return { fromPs: from.value, toPs: to.value };
  }
  const rule = `must be two times from the start of the run, the earlier first`;
  throw new CommandError(`${option}: ${rule}, got '${text}'; write e.g. '1510us..1520us'`, ExitCode.usage);
}
