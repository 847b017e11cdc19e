#!/usr/bin/env node
import type { Commands } from './commands.js';
import { suitCompiler } from './compiler.js';
import { ExitCode } from './exit-code.js';
import { processIo } from './io.js';
import { main } from './main.js';
import { oneFile } from './one-file.js';

for (const stream of [process.stdout, process.stderr]) {
  stream.on('error', (error: NodeJS.ErrnoException) => {
    // a reader that has seen enough, such as a pager, closes the pipe: nothing is wrong
    if (error.code === 'EPIPE' || error.code === 'ERR_STREAM_DESTROYED') return;
    process.stderr.write(`the output cannot be written: ${error.message}\n`);
    process.exit(ExitCode.problem);
  });
}

const argv = process.argv.slice(2);
process.exitCode = await main(argv, processIo(), loadCommands);

async function loadCommands(): Promise<Commands> {
  const built = oneFile();
  // after the file is read, since V8 takes nothing that was compiled under other flags, and before any of it runs
  suitCompiler(argv[0]);
  return built?.load() ?? (await import('./commands.js')).commands;
}
