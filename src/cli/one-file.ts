/**
 * The short commands as one file, with what V8 compiled of it when it was built: finding, reading and compiling a hundred
 * modules anew each time is half of what such a command costs. It has the place of a module of this folder, so that it finds
 * data as they do. V8 tells by the length of a file alone whether it is the one that was compiled: the two are only ever
 * written together.
 */
import { existsSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { fileURLToPath } from 'node:url';
import { Script } from 'node:vm';
import type { Short } from './loader.js';

/** What a module finds around it, by the names that the file has for it. */
export const PARAMETERS = { require: 'require', module: 'module', url: 'moduleUrl' } as const;

/** The file of the commands, and what V8 compiled of it. */
export const FILE = fileURLToPath(new URL('short.cjs', import.meta.url));
export const COMPILED = `${FILE}.compiled`;

/** The file of the commands where it has been built; null when run from the sources. */
export function oneFile(): OneFile | null {
  return existsSync(FILE) ? new OneFile() : null;
}

/** Read, but nothing in it has run. */
class OneFile {
  private readonly script = new Script(
    `(function (${Object.values(PARAMETERS).join(', ')}) {${readFileSync(FILE, 'latin1')}\n})`,
    { filename: FILE, ...(existsSync(COMPILED) ? { cachedData: readFileSync(COMPILED) } : {}) },
  );

  /** Was what V8 compiled of use? Not to another version of it, nor under other flags: then all is compiled anew. */
  get isCompiled(): boolean {
    return this.script.cachedDataRejected === false;
  }

  load(): Short {
    const module = { exports: {} };
    this.script.runInThisContext()(createRequire(FILE), module, import.meta.url);
    return module.exports as Short;
  }

  /** What V8 has compiled so far. */
  compiled(): Uint8Array {
    return this.script.createCachedData();
  }
}
