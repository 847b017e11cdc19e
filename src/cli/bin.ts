#!/usr/bin/env node
import { suitCompiler } from './compiler.js';
import { ExitCode } from './exit-code.js';
import { processIo } from './io.js';
import type { Loader } from './loader.js';
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

const loader: Loader = {
  async short() {
    const built = oneFile();
    // after the file is read, since V8 takes nothing that was compiled under other flags
    suitCompiler('short');
    return built?.load() ?? (await import('./short.js'));
  },
  long(load) {
    suitCompiler('long');
    return load();
  },
};

process.exitCode = await main(process.argv.slice(2), processIo(), loader);
