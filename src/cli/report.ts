import { join } from 'node:path';
import { CommandError } from './command-error.js';
import { ExitCode } from './exit-code.js';
import type { Io } from './io.js';
import { reasonOf } from './load.js';
import { writeOrSay } from './write.js';

/** A results folder → one HTML page. */
export async function reportCommand(folder: string, options: { out?: string }, io: Io): Promise<number> {
  const { FolderError, readFolder } = await import('../report/folder.js');
  const { reportHtml } = await import('../report/report.js');
  if (!io.exists(folder))
    throw new CommandError(`there is no folder ${folder}; give the folder of a run`, ExitCode.problem);
  const out = options.out ?? join(folder, 'report.html');
  try {
    const found = readFolder((file) => textOrNull(join(folder, file), io));
    if (found.sheets.size === 0) {
      throw new FolderError(`it holds no table with rows; give the folder that 'burstyard run' named at its end`);
    }
    writeOrSay(out, await reportHtml(found), io);
  } catch (error) {
    if (error instanceof FolderError) throw new CommandError(`${folder}: ${error.message}`, ExitCode.problem);
    throw error;
  }
  io.out(`Report in ${out}\n`);
  return ExitCode.done;
}

function textOrNull(path: string, io: Io): string | null {
  if (!io.exists(path)) return null;
  try {
    return new TextDecoder().decode(io.readFile(path));
  } catch (error) {
    throw new CommandError(`the results cannot be read: ${reasonOf(error, path)}`, ExitCode.problem);
  }
}
