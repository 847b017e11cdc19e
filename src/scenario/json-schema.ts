import * as z from 'zod';
import { fileSchema } from './schema/file.js';

/**
 * The JSON Schema (draft 2020-12) of a scenario file, for completion and hints in editors. A file is one of several
 * layers (preset, file, placement), so no key is required here, and a key may be empty to remove what lies beneath.
 */
export function jsonSchema(): object {
  const schema = z.toJSONSchema(fileSchema, {
    io: 'input',
    target: 'draft-2020-12',
    reused: 'ref',
    override: ({ jsonSchema: part }) => lenient(part),
  });
  return { ...schema, title: 'Burstyard scenario' };
}

type Part = z.core.JSONSchema.BaseSchema;

function lenient(part: Part): void {
  delete part.required;
  // alternatives that differ in what they require only would now exclude one another
  if (part.oneOf !== undefined) {
    part.anyOf = part.oneOf;
    delete part.oneOf;
  }
  const entries = part.additionalProperties;
  if (typeof entries === 'object' && !('anyOf' in entries))
    part.additionalProperties = { anyOf: [entries, { type: 'null' }] };
  for (const key of ['kind', 'unit', 'otherwise']) delete part[key];
  if (typeof part['example'] === 'string') {
    if (part['example'] !== '') part.examples = [part['example']];
    delete part['example'];
  }
}
