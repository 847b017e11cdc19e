import { UsageError } from '../errors.js';
import { keyFacts, type KeyFact } from './key-facts.js';
import { nearest } from './nearest.js';

export { jsonSchema } from './json-schema.js';
export { keyReference } from './key-reference.js';

/**
 * What a key means, as text: by its path with or without names (`masters.burst`, `masters.camera.burst`), or by the end
 * of it where only one key ends so. A block lists its keys; the empty path lists the blocks of a file.
 *
 * @throws UsageError with the nearest keys where there is none
 */
export function explainKey(path: string): string {
  const facts = keyFacts();
  const wanted = path
    .replace(/\[\d+\]/g, '')
    .split('.')
    .filter((part) => part !== '');
  if (wanted.length === 0)
    return blockList(
      'keys of a scenario file',
      facts.filter(({ path: own }) => !own.includes('.')),
    );
  const exact = bestMatch(facts, wanted) ?? onlyOne(facts.filter((fact) => endsLike(fact, wanted)));
  if (exact !== undefined && !isSlip(exact, wanted)) return card(exact, facts);
  const like = facts.filter((fact) => endsLike(fact, wanted));
  if (like.length > 1) return blockList(`several keys are named ${path}`, like);
  throw new UsageError(`unknown key '${path}'; ${suggestions(wanted, facts)}`);
}

/** A word that stands for a name of the author's, and is close to a key of what has that name. */
function isSlip({ path, children }: KeyFact, wanted: readonly string[]): boolean {
  const word = wanted.at(-1)!;
  return path.endsWith('NAME') && word !== 'NAME' && nearest(word, children) !== undefined;
}

/** The key that a path means: of several the one for which fewest words of the path stand for NAME. */
function bestMatch(facts: readonly KeyFact[], wanted: readonly string[]): KeyFact | undefined {
  let best: KeyFact | undefined;
  let least = Infinity;
  for (const fact of facts) {
    const names = namesUsed(fact.path.split('.'), wanted);
    if (names >= least) continue;
    best = fact;
    least = names;
  }
  return best;
}

/** Words of the path that stand for NAME, which may also be left out; Infinity where the path is not that of the key. */
function namesUsed(pattern: readonly string[], wanted: readonly string[]): number {
  const [first, ...rest] = pattern;
  const [word, ...others] = wanted;
  if (first === undefined) return wanted.length === 0 ? 0 : Infinity;
  if (first !== 'NAME') return first === word ? namesUsed(rest, others) : Infinity;
  const leftOut = rest.length === 0 ? Infinity : namesUsed(rest, wanted);
  return Math.min(leftOut, word === undefined ? Infinity : 1 + namesUsed(rest, others));
}

function endsLike({ path }: KeyFact, wanted: readonly string[]): boolean {
  if (path.endsWith('NAME')) return false;
  const words = path.split('.').filter((word) => word !== 'NAME');
  return words.slice(-wanted.length).join('.') === wanted.join('.');
}

function onlyOne(facts: readonly KeyFact[]): KeyFact | undefined {
  return facts.length === 1 ? facts[0] : undefined;
}

function card(fact: KeyFact, facts: readonly KeyFact[]): string {
  const about = aboutOf(fact);
  const lines = [fact.path, ...(about === '' ? [] : [`  ${about}`]), `  type     ${fact.kind}`];
  if (fact.unit !== '') lines.push(`  unit     ${fact.unit}`);
  const named = fact.path.endsWith('NAME');
  if (!named) lines.push(`  default  ${fact.fallback === '' ? 'none: it must be given' : fact.fallback}`);
  if (fact.example !== '')
    lines.push(`  example  ${fact.path.split('.').at(-1)!.replace('NAME', 'name')}: ${fact.example}`);
  const children = facts.filter(({ path }) => path.startsWith(`${fact.path}.`) && depth(path) === depth(fact.path) + 1);
  const [entry] = children;
  const keys =
    entry?.path.endsWith('NAME') === true && belowOf(entry, facts).length > 0 ? belowOf(entry, facts) : children;
  return [...lines, ...(keys.length > 0 ? ['  keys', ...keys.map(line)] : [])].join('\n');
}

function belowOf({ path: own }: KeyFact, facts: readonly KeyFact[]): KeyFact[] {
  return facts.filter(({ path }) => path.startsWith(`${own}.`) && depth(path) === depth(own) + 1);
}

function depth(path: string): number {
  return path.split('.').length;
}

function blockList(title: string, facts: readonly KeyFact[]): string {
  return [title, ...facts.map((fact) => `    ${fact.path}  ${aboutOf(fact)}`)].join('\n');
}

function line(fact: KeyFact): string {
  return `    ${fact.path.split('.').at(-1)!.padEnd(20)} ${aboutOf(fact)}`;
}

function aboutOf({ about, variants }: KeyFact): string {
  return variants.length === 0 ? about : `(${variants.join(', ')}) ${about}`;
}

function suggestions(wanted: readonly string[], facts: readonly KeyFact[]): string {
  const written = wanted.join('.');
  const short = new Map(facts.map(({ path }) => [path.replaceAll('.NAME', ''), path]));
  const words = new Map(facts.map(({ path }) => [path.split('.').at(-1)!, path]));
  const near = nearest(written, short.keys());
  if (near !== undefined) return `did you mean '${near}'?`;
  const word = nearest(wanted.at(-1)!, words.keys());
  return word === undefined
    ? `'explain' without a key lists the blocks`
    : `did you mean '${words.get(word)!.replaceAll('.NAME', '')}'?`;
}
