import { appendFileSync, mkdirSync, readFileSync, renameSync, rmSync, writeFileSync, existsSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { dirname, join, basename } from 'node:path';
import { styleText } from 'node:util';
import type { Tone } from '../output/look.js';

/** All that the program asks of the world outside; tests give their own. */
export interface Io {
  readonly out: (text: string) => void;
  readonly err: (text: string) => void;
  readonly readFile: (path: string) => Uint8Array;
  /** Writes a whole file or none; makes its folder. */
  readonly writeFile: (path: string, text: string) => void;
  /** The same for a text that comes in parts. */
  readonly writeParts: (path: string, parts: Iterable<string>) => void;
  readonly exists: (path: string) => boolean;
  /** Milliseconds of a clock on the wall. */
  readonly nowMs: () => number;
  /** Columns of the terminal that the output goes to; null where it does not go to one. */
  readonly columns: number | null;
  /** The terminal to show progress on, or null. */
  readonly terminal: NodeJS.WritableStream | null;
  readonly paint: (tone: Tone, text: string) => string;
  /** Processors that this program may use at once. */
  readonly processors: number;
  /** Has the listener called at the first Ctrl-C, instead of the program ended; answers what takes that back. */
  readonly onInterrupt: (listener: () => void) => () => void;
}

const STYLES = { heading: 'bold', faint: 'dim', good: 'green', bad: 'red' } as const;

/** The world of a real process. */
export function processIo(): Io {
  const { stdout, stderr, env } = process;
  // NO_COLOR wins over FORCE_COLOR, without the warning that Node prints where both are set
  const colour = stdout.isTTY && (env.NO_COLOR ?? '') === '';
  return {
    out: (text) => void stdout.write(text),
    err: (text) => void stderr.write(text),
    readFile: (path) => readFileSync(path),
    writeFile: (path, text) => writeWhole(path, [text]),
    writeParts: writeWhole,
    exists: existsSync,
    nowMs: () => performance.now(),
    columns: stdout.isTTY ? stdout.columns : null,
    terminal: stderr.isTTY ? stderr : null,
    paint: (tone, text) => (colour ? styleText(STYLES[tone], text, { stream: stdout }) : text),
    processors: availableParallelism(),
    onInterrupt: (listener) => {
      process.once('SIGINT', listener);
      return () => process.off('SIGINT', listener);
    },
  };
}

/** Level by level: where none can be made, such as below /proc, `recursive` never returns on Node 20. */
function makeFolder(path: string): void {
  if (existsSync(path)) return;
  makeFolder(dirname(path));
  try {
    mkdirSync(path);
  } catch (error) {
    // another command may have made it meanwhile
    if (!existsSync(path)) throw error;
  }
}

/** A reader sees the old file or the new one, never a part: it is written under another name and then renamed. */
function writeWhole(path: string, parts: Iterable<string>): void {
  makeFolder(dirname(path));
  const temporary = join(dirname(path), `.${basename(path)}.${process.pid}.part`);
  try {
    writeFileSync(temporary, '');
    for (const part of parts) appendFileSync(temporary, part);
    renameSync(temporary, path);
  } catch (error) {
    rmSync(temporary, { force: true });
    throw error;
  }
}
