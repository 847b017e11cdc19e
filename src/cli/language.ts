import { CommandError } from './command-error.js';
import { ExitCode } from './exit-code.js';
import type { Io } from './io.js';
import { reasonOf } from './load.js';

/** Writes the commented starter scenario; never over a file that is there. */
export async function newCommand(file: string | undefined, io: Io): Promise<number> {
  const { starterScenario } = await import('../scenario/starter.js');
  if (file === undefined) {
    io.out(starterScenario());
    return ExitCode.done;
  }
  if (io.exists(file)) throw new CommandError(`${file} is there already; name a file that is not`, ExitCode.usage);
  try {
    io.writeFile(file, starterScenario());
  } catch (error) {
    throw new CommandError(`${reasonOf(error, file)}; name a file in a folder that you can write`, ExitCode.problem);
  }
  io.out(`${file} is written; check it with 'burstyard check ${file}', run it with 'burstyard run ${file}'\n`);
  return ExitCode.done;
}

/** Prints one key of the scenario language, or all of them. */
export async function explainCommand(key: string | undefined, io: Io): Promise<number> {
  const { explainKey } = await import('../scenario/explain.js');
  io.out(`${explainKey(key ?? '')}\n`);
  return ExitCode.done;
}

/** Prints the JSON Schema of scenario files. */
export async function schemaCommand(io: Io): Promise<number> {
  const { jsonSchema } = await import('../scenario/explain.js');
  io.out(`${JSON.stringify(jsonSchema(), null, 2)}\n`);
  return ExitCode.done;
}
