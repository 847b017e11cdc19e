/** Walks the schema: what there is below a key, whatever wrappers, transforms and unions lie around it. */
import * as z from 'zod';
import type { KeyMeta } from './schema/fields.js';
import { child, textOf, type Tree } from './tree.js';

type Schema = z.core.$ZodType;

/** A schema without its wrappers, and what they say. */
export interface Unwrapped {
  readonly schema: Schema;
  readonly meta: Partial<KeyMeta>;
  readonly optional: boolean;
  /** What is read where nothing is written. */
  readonly fallback: unknown;
}

export function unwrap(schema: Schema): Unwrapped {
  let meta: Partial<KeyMeta> = {};
  let optional = false;
  let fallback: unknown;
  for (let at = schema; ;) {
    meta = { ...(z.globalRegistry.get(at) as Partial<KeyMeta> | undefined), ...meta };
    const { def } = at._zod as unknown as { def: Definition };
    if (def.type === 'optional') optional = true;
    if (def.type === 'prefault' || def.type === 'default') fallback = def.defaultValue;
    const next = def.innerType ?? def.in;
    if (next === undefined) return { schema: at, meta, optional, fallback };
    at = next;
  }
}

/** The parts of schema definitions that matter here, of any type. */
interface Definition {
  type: string;
  innerType?: Schema;
  in?: Schema;
  defaultValue?: unknown;
  options?: readonly Schema[];
  shape?: Record<string, Schema>;
  valueType?: Schema;
  element?: Schema;
  items?: readonly Schema[];
  values?: readonly unknown[];
  entries?: Record<string, string>;
  discriminator?: string;
}

const definition = (schema: Schema): Definition => (schema._zod as unknown as { def: Definition }).def;

/** A mapping that a key may hold, and the word that chooses it among several (`process: poisson`). */
export interface Shape {
  readonly keys: ReadonlyMap<string, Schema>;
  readonly variant: string | null;
  readonly discriminator: string | null;
}

/** The mappings that a key may hold. */
export function shapesOf(schema: Schema): Shape[] {
  return collect(schema, null);
}

function collect(wrapped: Schema, discriminator: string | null): Shape[] {
  const def = definition(unwrap(wrapped).schema);
  if (def.options !== undefined) return def.options.flatMap((option) => collect(option, def.discriminator ?? null));
  if (def.shape === undefined) return [];
  const keys = new Map(Object.entries(def.shape));
  const own = discriminator === null ? undefined : keys.get(discriminator);
  const variant = own === undefined ? null : String(definition(unwrap(own).schema).values?.[0]);
  return [{ keys, variant, discriminator }];
}

/** The schema of the entries of a mapping by name; undefined where the key is something else. */
export function entrySchema(schema: Schema): Schema | undefined {
  return definition(unwrap(schema).schema).valueType;
}

/** The schema of the items of a list; undefined where the key is something else. */
export function itemSchema(schema: Schema): Schema | undefined {
  return definition(unwrap(schema).schema).element;
}

/** The words that may be written for a key; empty where it is not a choice. */
export function wordsOf(schema: Schema): string[] {
  const def = definition(unwrap(schema).schema);
  if (def.options !== undefined) {
    return [...new Set(def.options.flatMap((option) => wordsOf(option)))];
  }
  if (def.entries !== undefined) return Object.values(def.entries);
  return def.values?.map(String) ?? [];
}

/** Keys that a mapping may have, given what it says already (`process: poisson` leaves those of poisson). */
export function knownKeys(schema: Schema, tree: Tree | undefined): string[] {
  const shapes = shapesOf(schema);
  const chosen = shapes.filter(({ variant, discriminator }) => {
    return discriminator === null || textOf(child(tree, discriminator)) === variant;
  });
  return [...new Set((chosen.length > 0 ? chosen : shapes).flatMap(({ keys }) => [...keys.keys()]))];
}

/** The schema at a path below another, following what the tree says where there is a choice. */
export function schemaAt(schema: Schema, path: readonly PropertyKey[], tree?: Tree): Schema | undefined {
  let at: Schema | undefined = schema;
  let node = tree;
  for (const key of path) {
    if (at === undefined) return undefined;
    at = step(at, String(key), node);
    node = child(node, String(key));
  }
  return at;
}

function step(schema: Schema, key: string, tree: Tree | undefined): Schema | undefined {
  const def = definition(unwrap(schema).schema);
  if (def.valueType !== undefined) return def.valueType;
  if (def.element !== undefined) return def.element;
  if (def.items !== undefined) return def.items[Number(key)];
  if (def.options !== undefined && shapesOf(schema).length === 0) {
    return def.options.map((option) => step(option, key, tree)).find((found) => found !== undefined);
  }
  const shapes = shapesOf(schema).filter(({ keys }) => keys.has(key));
  const fitting = shapes.find(({ variant, discriminator }) => {
    return discriminator !== null && textOf(child(tree, discriminator)) === variant;
  });
  return (fitting ?? shapes[0])?.keys.get(key);
}
