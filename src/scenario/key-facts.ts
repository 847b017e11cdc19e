import { entrySchema, itemSchema, shapesOf, unwrap } from './key-schema.js';
import { fileSchema } from './schema/file.js';

/** What the language knows of one key. */
export interface KeyFact {
  /** `masters.NAME.burst`; NAME stands for a name of the author's. */
  readonly path: string;
  /** Words that choose the mapping which has the key (`process: poisson`); empty where it is always there. */
  readonly variants: readonly string[];
  readonly kind: string;
  readonly unit: string;
  /** In words; empty where the key must be given. */
  readonly fallback: string;
  readonly about: string;
  readonly example: string;
  /** Keys of the mapping that it may hold; NAME for a mapping by name. */
  readonly children: readonly string[];
}

type Schema = Parameters<typeof unwrap>[0];

/** Blocks of a placement that have the same keys as those of the file. */
const OVERLAYS = /^placements\.NAME\.(platform|buffers|masters|tasks|budgets|run)$/;

/** Every key of the language, in the order of the file, a block before its keys. */
export function keyFacts(): KeyFact[] {
  return below(fileSchema, '');
}

function below(schema: Schema, path: string): KeyFact[] {
  if (OVERLAYS.test(path)) return [];
  const entries = entrySchema(schema);
  if (entries !== undefined)
    return isPlain(entries)
      ? []
      : keyAndBelow(entries, joined(path, 'NAME'), { first: entries, variants: [], words: [] });
  return [...childrenOf(schema)].flatMap(([name, found]) => keyAndBelow(found.first, joined(path, name), found));
}

/** Entries that are no mappings (weights by name) need no line of their own. */
function isPlain(schema: Schema): boolean {
  return shapesOf(schema).length === 0;
}

function keyAndBelow(schema: Schema, path: string, found: Child): KeyFact[] {
  return [factOf(schema, path, found), ...below(schema, path)];
}

function factOf(schema: Schema, path: string, { variants, words }: Child): KeyFact {
  const { meta, optional, fallback } = unwrap(schema);
  const otherwise = meta.otherwise ?? (fallback === undefined ? (optional ? 'none' : '') : written(fallback));
  const named = path.endsWith('NAME');
  return {
    path,
    variants,
    kind: words.length > 0 ? words.map(([word]) => word).join(' | ') : (meta.kind ?? 'mapping'),
    unit: meta.unit ?? '',
    fallback: named ? '' : otherwise,
    about: words.length > 0 ? words.map(([word, about]) => `${word}: ${about}`).join(' ') : (meta.description ?? ''),
    example: meta.example ?? '',
    children: OVERLAYS.test(path) ? [] : entrySchema(schema) !== undefined ? ['NAME'] : [...childrenOf(schema).keys()],
  };
}

interface Child {
  readonly first: Schema;
  readonly variants: string[];
  /** Of a key that chooses one of several mappings: its words and what each means. */
  readonly words: [word: string, about: string][];
}

/** Keys of all mappings that a key, or an item of its list, may hold, each with the words that choose those which have it. */
function childrenOf(schema: Schema): Map<string, Child> {
  const children = new Map<string, Child>();
  const shapes = shapesOf(itemSchema(schema) ?? schema);
  const chosen = shapes.filter(({ variant }) => variant !== null).length;
  for (const { keys, variant, discriminator } of shapes) {
    for (const [name, first] of keys) {
      const known = children.get(name) ?? { first, variants: [], words: [] };
      if (variant !== null && name === discriminator) known.words.push([variant, unwrap(first).meta.description ?? '']);
      else if (variant !== null) known.variants.push(variant);
      children.set(name, known);
    }
  }
  // what every one of them has needs no word
  for (const { variants } of children.values()) if (variants.length === chosen) variants.length = 0;
  return children;
}

/** A default as it would be written in a file. */
function written(value: unknown): string {
  if (typeof value !== 'object' || value === null) return String(value);
  return Object.keys(value).length === 0 ? 'each key on its own' : JSON.stringify(value);
}

function joined(path: string, key: string): string {
  return path === '' ? key : `${path}.${key}`;
}
