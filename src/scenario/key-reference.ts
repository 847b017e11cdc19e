import { keyFacts, type KeyFact } from './key-facts.js';

/** Mappings that many keys may hold: described once, in a section of their own. */
const SHARED = ['uniform', 'exponential', 'geometric', 'lognormal', 'table'];

/** The reference of every key of the scenario language, in Markdown: a table for each block. */
export function keyReference(): string {
  const sections = new Map<string, KeyFact[]>();
  for (const fact of keyFacts()) {
    if (isShared(fact) || (fact.path.endsWith('NAME') && fact.about === '')) continue;
    const block = blockOf(fact.path);
    sections.set(block, [...(sections.get(block) ?? []), fact]);
  }
  const tables = [...sections].map(([block, facts]) => `### ${titleOf(block)}\n\n${table(facts)}`);
  return [...tables, `### Distributions\n\n${DISTRIBUTIONS}\n\n${table(distributionFacts())}`].join('\n\n') + '\n';
}

const DISTRIBUTIONS = `A key whose type is a distribution takes a bare quantity, which is then always the same, or a mapping with one of these
keys, shown here for \`masters.NAME.size\`.`;

/** Keys of a distribution or of arbitration are the same everywhere. */
function isShared({ path }: KeyFact): boolean {
  const words = path.split('.');
  if (words.some((word) => SHARED.includes(word))) return true;
  return /\.arbitration\./.test(path) && !path.startsWith('platform.ports.');
}

function distributionFacts(): KeyFact[] {
  return keyFacts().filter(({ path }) => path.startsWith('masters.NAME.size.'));
}

/** `platform.ports`, `masters`, …: two words below platform, one elsewhere. */
function blockOf(path: string): string {
  const words = path.split('.');
  const named = words.length > 2 && words[0] === 'platform';
  return named ? words.slice(0, 2).join('.') : words.length > 1 ? words[0]! : '';
}

function titleOf(block: string): string {
  return block === '' ? 'Top level' : `\`${block}\``;
}

function table(facts: readonly KeyFact[]): string {
  const head = '| key | type | unit | default | meaning | example |\n| --- | --- | --- | --- | --- | --- |';
  return [head, ...facts.map(row)].join('\n');
}

function row({ path, variants, kind, unit, fallback, about, example }: KeyFact): string {
  const meaning = variants.length === 0 ? about : `(${variants.join(', ')}) ${about}`;
  const usual = path.endsWith('NAME') ? '' : fallback === '' ? '*must be given*' : fallback;
  const cells = [`\`${path}\``, kind, unit, usual, meaning, example === '' ? '' : `\`${example}\``];
  return `| ${cells.map((cell) => cell.replaceAll('|', '\\|')).join(' | ')} |`;
}
