import { readFileSync } from 'node:fs';

/** A commented scenario to start from; it reads without a problem. */
export function starterScenario(): string {
  return readFileSync(new URL('./data/starter.yaml', import.meta.url), 'utf8');
}
