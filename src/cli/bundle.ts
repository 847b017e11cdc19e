/**
 * The last step of a build: the compiled command line becomes one file, and the short commands, beside their modules, another
 * that V8 compiles here (one-file.ts). Finding and reading a module costs more than running it once. What simulates stays as it
 * is: a bundler turns a module's constants into variables, which costs a run a twentieth.
 */
import { rmSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { build, type BuildOptions, type Plugin } from 'esbuild';
import { ExitCode } from './exit-code.js';
import { processIo } from './io.js';
import type { Loader } from './loader.js';
import { main } from './main.js';
import { COMPILED, FILE, oneFile, PARAMETERS } from './one-file.js';

/** What is run so that it is compiled: the command that is over before its code would have been. */
const RUN = ['check', here('../../scenarios/grain-sorter.yaml')];

/** What is loaded late stays a module, for not every call needs it. */
const LATE: Plugin = {
  name: 'late',
  setup: (esbuild) =>
    esbuild.onResolve({ filter: /^/ }, ({ kind, path }) =>
      kind === 'dynamic-import' ? { path, external: true } : null,
    ),
};

await bundleShort();
await compileShort();
await bundleCommandLine();

async function bundleShort(): Promise<void> {
  const text = await bundled('short.js', { format: 'cjs', define: { 'import.meta.url': PARAMETERS.url } });
  // V8 would take what was compiled of any other text of this length
  rmSync(COMPILED, { force: true });
  writeFileSync(FILE, text);
}

async function compileShort(): Promise<void> {
  const built = oneFile()!;
  const loader: Loader = { short: () => Promise.resolve(built.load()), long: (load) => load() };
  const code = await main(RUN, { ...processIo(), out: () => {} }, loader);
  if (code !== ExitCode.done) throw new Error(`burstyard ${RUN.join(' ')} ended with ${code}`);
  writeFileSync(COMPILED, built.compiled());
}

async function bundleCommandLine(): Promise<void> {
  const text = await bundled('bin.js', {
    format: 'esm',
    plugins: [LATE],
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
