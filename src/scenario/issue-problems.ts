import * as z from 'zod';
import type { Problem } from '../errors.js';
import { knownKeys, schemaAt, shapesOf, unwrap, wordsOf } from './key-schema.js';
import { listed, suggestion } from './suggestion.js';
import { problemAt } from './problem.js';
import type { FaultParams } from './schema/fields.js';
import { child, isNull, plain, shown, type Place, type Tree } from './tree.js';

type Issue = z.core.$ZodIssue;

/** Validates a tree; what is wrong goes to `problems` and the answer is then undefined. */
export function parseTree<T extends z.ZodType>(schema: T, tree: Tree, problems: Problem[]): z.output<T> | undefined {
  // a program made of each mapping's schema would never be run often enough to pay
  const result = schema.safeParse(plain(tree), { jitless: true });
  if (result.success) return result.data;
  const translator = new Translator(schema, tree, problems);
  for (const issue of result.error.issues) translator.translate(issue, []);
  return undefined;
}

/** Turns what the schema library reports into sentences with places. */
class Translator {
  constructor(
    private readonly schema: z.ZodType,
    private readonly tree: Tree,
    private readonly problems: Problem[],
  ) {}

  translate(issue: Issue, prefix: readonly PropertyKey[]): void {
    const path = [...prefix, ...issue.path];
    const node = this.node(path);
    if (issue.code === 'unrecognized_keys') return this.unknownKeys(issue.keys, path);
    if (node === undefined || isNull(node)) return this.missing(path, issue);
    if (issue.code === 'invalid_union') return this.union(issue, path, node);
    if (issue.code === 'custom') return this.fault(issue, node);
    if (issue.code === 'invalid_value') return this.choice(path, node);
    const message = issue.message.startsWith('Invalid') ? this.rule(issue, path) : lowered(issue.message);
    this.add(node.place, 'wrong_type', message, shown(node), this.exampleHint(path));
  }

  private add(place: Place, code: Problem['code'], message: string, value: string | null, hint: string): void {
    this.problems.push(problemAt(place, code, message, value, hint));
  }

  private node(path: readonly PropertyKey[]): Tree | undefined {
    let at: Tree | undefined = this.tree;
    for (const key of path) at = child(at, String(key));
    return at;
  }

  private unknownKeys(keys: readonly string[], path: readonly PropertyKey[]): void {
    const node = this.node(path);
    const known = knownKeys(schemaAt(this.schema, path, this.tree) ?? this.schema, node);
    for (const key of keys) {
      const place = node?.kind === 'map' ? node.entries.get(key)!.key : this.tree.place;
      this.add(place, 'unknown_key', 'unknown key', null, suggestion(key, known));
    }
  }

  private missing(path: readonly PropertyKey[], issue: Issue): void {
    const parent = this.node(path.slice(0, -1)) ?? this.tree;
    const key = String(path.at(-1) ?? '');
    // a rule that spans several keys is told at the mapping, not at a key that is not there
    if (issue.code === 'custom' && issue.params?.['code'] !== undefined && path.length > 0)
      return this.fault(issue, parent);
    const facts = this.facts(path);
    const example = facts?.example ?? '';
    const hint = example === '' ? `add '${key}: …'` : `add e.g. '${key}: ${example}'`;
    this.add({ ...parent.place, path: joined(parent.place.path, key) }, 'missing_key', 'is missing', null, hint);
  }

  private fault(issue: z.core.$ZodIssueCustom, node: Tree): void {
    const params = issue.params as FaultParams | undefined;
    const value = node.kind === 'scalar' ? shown(node) : null;
    this.add(node.place, params?.code ?? 'wrong_type', issue.message, value, params?.hint ?? '');
  }

  private choice(path: readonly PropertyKey[], node: Tree, words = this.words(path)): void {
    const hint = node.kind === 'scalar' ? suggestion(node.text, words) : `write e.g. '${words[0] ?? ''}'`;
    const told = hint.startsWith('did') ? `must be one of ${listed(words)}` : 'unknown word';
    this.add(node.place, 'unknown_choice', told, shown(node), hint);
  }

  private union(issue: z.core.$ZodIssueInvalidUnion, path: readonly PropertyKey[], node: Tree): void {
    if (issue.errors.length === 0) return this.choice(path, node, this.variants(path));
    const branch = likeliest(issue.errors, node);
    if (branch === undefined) {
      const message = issue.message.startsWith('Invalid') ? this.rule(issue, path) : issue.message;
      this.add(node.place, 'wrong_type', message, shown(node), this.exampleHint(path));
      return;
    }
    for (const inner of branch) this.translate(inner, path);
  }

  private words(path: readonly PropertyKey[]): string[] {
    return wordsOf(schemaAt(this.schema, path, this.tree) ?? this.schema);
  }

  /** The words of a key that chooses one of several mappings (`process`, `kind`). */
  private variants(path: readonly PropertyKey[]): string[] {
    const parent = schemaAt(this.schema, path.slice(0, -1), this.tree) ?? this.schema;
    return shapesOf(parent).flatMap(({ variant }) => (variant === null ? [] : [variant]));
  }

  private rule(issue: Issue, path: readonly PropertyKey[]): string {
    const kind = this.facts(path)?.kind ?? '';
    if (kind !== '') return `must be ${kind}`;
    const expected = 'expected' in issue ? String(issue.expected) : '';
    return `must be ${{ object: 'a mapping', record: 'a mapping', array: 'a list', string: 'text' }[expected] ?? 'something else'}`;
  }

  private facts(path: readonly PropertyKey[]): { kind?: string; example?: string } | undefined {
    const schema = schemaAt(this.schema, path, this.tree);
    return schema === undefined ? undefined : unwrap(schema).meta;
  }

  private exampleHint(path: readonly PropertyKey[]): string {
    const example = this.facts(path)?.example ?? '';
    return example === '' ? '' : `write e.g. '${example}'`;
  }
}

/** How much an issue at the value itself says of what was meant, from "not this form at all" up. */
const WEIGHT = new Map([
  ['custom', 3],
  ['invalid_value', 2],
  ['invalid_union', 1],
]);

/** Of the forms that a value may have, the one that the author most likely meant; undefined if it is none of them. */
function likeliest(branches: readonly (readonly Issue[])[], node: Tree): readonly Issue[] | undefined {
  if (node.kind !== 'scalar') {
    const inside = branches.filter((branch) => branch.some(({ path, code }) => path.length > 0 || isRuleInside(code)));
    return inside.toSorted((a, b) => a.length - b.length)[0];
  }
  const weight = (branch: readonly Issue[]): number =>
    Math.max(...branch.map(({ path, code }) => (path.length > 0 ? 0 : (WEIGHT.get(code) ?? 0))));
  const best = branches.toSorted((a, b) => weight(b) - weight(a))[0];
  return best !== undefined && weight(best) > 0 ? best : undefined;
}

/** A mapping that has the right form breaks a rule of that form or has keys too many. */
function isRuleInside(code: Issue['code']): boolean {
  return code === 'custom' || code === 'unrecognized_keys';
}

function lowered(text: string): string {
  return text.charAt(0).toLowerCase() + text.slice(1);
}

function joined(path: string, key: string): string {
  return path === '' ? key : `${path}.${key}`;
}
