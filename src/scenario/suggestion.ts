import { nearest } from './nearest.js';

/** `did you mean 'x'?`, or the known names where none is near. */
export function suggestion(written: string, known: Iterable<string>): string {
  const names = [...known];
  const near = nearest(written, names);
  if (near !== undefined) return `did you mean '${near}'?`;
  return names.length === 0 ? 'none is defined' : `known: ${listed(names)}`;
}

/** The first dozen names. */
export function listed(names: readonly string[]): string {
  return names.length > 12 ? `${names.slice(0, 12).join(', ')} and ${names.length - 12} more` : names.join(', ');
}
