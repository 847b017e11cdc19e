import { readFileSync } from 'node:fs';
import { SHIPPED_DATA } from './shipped-data.js';

/** A commented scenario to start from; it reads without a problem. */
export function starterScenario(): string {
  return readFileSync(new URL('starter.yaml', SHIPPED_DATA), 'utf8');
}
