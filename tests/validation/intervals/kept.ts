import { createHash } from 'node:crypto';
import { appendFileSync, existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { sourceFiles } from '../../source-files.js';
import { nameOf, type Outcome } from './tasks.js';

/** What was done before the command was stopped: a line an outcome, below one that names the sources it came from. */
export class Kept {
  private readonly done = new Map<string, Outcome>();

  constructor(private readonly file: string) {
    const sources = `sources ${fingerprint()}`;
    const lines = existsSync(file) ? readFileSync(file, 'utf8').split('\n') : [];
    if (lines[0] === sources) {
      // the last line has no end where writing was cut off
      for (const line of lines.slice(1, -1)) this.add(JSON.parse(line) as Outcome);
    }
    mkdirSync(dirname(file), { recursive: true });
    const kept = [...this.done.values()].map((outcome) => `${JSON.stringify(outcome)}\n`);
    writeFileSync(file, `${sources}\n${kept.join('')}`);
  }

  find(name: string): Outcome | undefined {
    return this.done.get(name);
  }

  keep(outcome: Outcome): void {
    this.add(outcome);
    appendFileSync(this.file, `${JSON.stringify(outcome)}\n`);
  }

  /** Forgets all: the work is done. */
  drop(): void {
    rmSync(this.file);
  }

  private add(outcome: Outcome): void {
    this.done.set(nameOf(outcome.task), outcome);
  }
}

/** What has been found holds for these sources only. */
function fingerprint(): string {
  const hash = createHash('sha256');
  for (const [path, text] of sourceFiles()) hash.update(`${path}\0${text}\0`);
  const here = new URL('./', import.meta.url);
  for (const name of readdirSync(here).toSorted())
    hash.update(`${name}\0${readFileSync(new URL(name, here), 'utf8')}\0`);
  return hash.digest('hex');
}
