import type { SystemSpec } from '../scenario/scenario.js';

/** Where results are kept from one call to the next, by a text that names all they depend on. */
export interface Store {
  find(identity: string): unknown;
  keep(identity: string, value: unknown): void;
}

/** Keeps nothing. */
export const FORGETFUL: Store = { find: () => undefined, keep: () => {} };

/** A text that is the same for the same program, systems and choices, and for no others. */
export function identityOf(version: string, systems: readonly SystemSpec[], choices: unknown): string {
  return JSON.stringify([version, choices, systems], (_, value: unknown) => {
    if (value instanceof Map) return { map: [...value] };
    if (typeof value === 'bigint') return { bigint: String(value) };
    return typeof value === 'number' && !Number.isFinite(value) ? { number: String(value) } : value;
  });
}
