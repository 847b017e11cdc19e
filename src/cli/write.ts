import { CommandError } from './command-error.js';
import { ExitCode } from './exit-code.js';
import type { Io } from './io.js';
import { reasonOf } from './load.js';

/** Writes a file of the results; a folder that cannot be written is told in a sentence. */
export function writeOrSay(
  path: string,
  text: string | Generator<string>,
  io: Io,
  hint = 'choose another folder with --out',
): void {
  try {
    if (typeof text === 'string') io.writeFile(path, text);
    else io.writeParts(path, text);
  } catch (error) {
    const message = `the results cannot be written: ${reasonOf(error, path)}; ${hint}`;
    throw new CommandError(message, ExitCode.problem);
  }
}
