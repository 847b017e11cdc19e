import type { ProblemCode } from '../errors.js';

/** A value that breaks a rule; whoever knows where the value stands turns it into a problem. */
export class Fault {
  constructor(
    readonly code: ProblemCode,
    readonly message: string,
    readonly hint = '',
  ) {}
}

/** A value as it is shown to a person. */
export function shown(value: unknown): string {
  if (value === null) return 'nothing';
  if (typeof value === 'string') return value.length > 60 ? `${value.slice(0, 57)}…` : value;
  if (Array.isArray(value)) return 'a list';
  return typeof value === 'object' ? 'a block of keys' : String(value as number | boolean | undefined);
}
