/**
 * The last step of a build: the compiled command line becomes one file, and the commands, beside their modules, another that V8
 * compiles here (one-file.ts). Finding and reading a module costs more than running it once.
 */
import { rmSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { build, type BuildOptions } from 'esbuild';
import { ExitCode } from './exit-code.js';
import { processIo } from './io.js';
import { main } from './main.js';
import { COMPILED, FILE, oneFile, PARAMETERS } from './one-file.js';

/** The module that is made the file of the commands. */
const COMMANDS = 'commands.js';

/** Packages that only some commands need: loaded from where they are installed, when they are needed. */
const APART = ['@observablehq/plot', 'linkedom', 'elkjs', 'piscina', 'cli-progress'];

/** What is run so that it is compiled: the command that is over before its code would have been. */
const RUN = ['check', here('../../scenarios/grain-sorter.yaml')];

await bundleCommands();
await compileCommands();
await bundleCommandLine();

async function bundleCommands(): Promise<void> {
  const text = await bundled(COMMANDS, {
    format: 'cjs',
    external: APART,
    define: { 'import.meta.url': PARAMETERS.url, 'import.meta.resolve': 'undefined' },
  });
  // V8 would take what was compiled of any other text of this length
  rmSync(COMPILED, { force: true });
  // a script that V8 has taken from an earlier compilation cannot import by itself
  writeFileSync(FILE, text.replaceAll(/\bimport\("/gu, `${PARAMETERS.load}("`));
}

async function compileCommands(): Promise<void> {
  const built = oneFile()!;
  const code = await main(RUN, { ...processIo(), out: () => {} }, () => Promise.resolve(built.load()));
  if (code !== ExitCode.done) throw new Error(`burstyard ${RUN.join(' ')} ended with ${code}`);
  writeFileSync(COMPILED, built.compiled());
}

async function bundleCommandLine(): Promise<void> {
  const text = await bundled('bin.js', {
    format: 'esm',
    external: [`./${COMMANDS}`],
    // what is written for another kind of module asks for Node's by this name
    banner: {
      js: "import { createRequire as requireOf } from 'node:module';\nconst require = requireOf(import.meta.url);",
    },
  });
  writeFileSync(here('bin.js'), text);
}

/** The text of one file that holds a module of this folder and all that it needs. */
async function bundled(module: string, options: BuildOptions): Promise<string> {
  const { outputFiles } = await build({
    ...options,
    entryPoints: [here(module)],
    bundle: true,
    platform: 'node',
    target: 'node20',
    logLevel: 'warning',
    write: false,
  });
  return outputFiles[0]!.text;
}

function here(path: string): string {
  return fileURLToPath(new URL(path, import.meta.url));
}
