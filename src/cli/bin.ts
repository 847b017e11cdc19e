#!/usr/bin/env node
import { suitCompiler } from './compiler.js';
import { ExitCode } from './exit-code.js';
import { main } from './main.js';
import { processIo } from './io.js';

for (const stream of [process.stdout, process.stderr]) {
  stream.on('error', (error: NodeJS.ErrnoException) => {
    // a reader that has seen enough, such as a pager, closes the pipe: nothing is wrong
    if (error.code === 'EPIPE' || error.code === 'ERR_STREAM_DESTROYED') return;
    process.stderr.write(`the output cannot be written: ${error.message}\n`);
    process.exit(ExitCode.problem);
  });
}

const argv = process.argv.slice(2);
suitCompiler(argv[0]);
process.exitCode = await main(argv, processIo());
