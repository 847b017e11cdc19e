import { readFileSync } from 'node:fs';
import { csvRows } from '../../../src/scenario/csv-rows.js';

/** A number that a book or paper gives for a case. */
export interface Published {
  /** Whom it is about: `all`, `class1`, `station2`, `each queue`, `master3`. */
  readonly subject: string;
  readonly metric: string;
  readonly value: number;
  readonly unit: string;
  /** Relative error of the value itself; 0: exact. */
  readonly precision: number;
  /** Codes of the sources, see `sources.ts`. */
  readonly source: string;
}

/** A system of queueing theory and what is known of it. Times are in cycles. */
export interface Case {
  readonly id: string;
  readonly family: string;
  readonly params: ReadonlyMap<string, string>;
  readonly values: readonly Published[];
}

/** A value that comes with a probability. */
export interface Atom {
  readonly value: number;
  readonly probability: number;
}

const read = (name: string) => csvRows(readFileSync(new URL(`./data/${name}`, import.meta.url), 'utf8'));

/** All cases, in the order of the file. */
export function readCases(): Case[] {
  const values = new Map<string, Published[]>();
  for (const row of read('expected.csv')) {
    const id = row.get('case_id')!;
    values.set(id, [...(values.get(id) ?? []), published(row)]);
  }
  return read('cases.csv').map((row) => ({
    id: row.get('case_id')!,
    family: row.get('family')!,
    params: new Map(row.get('params')!.split(';').map(keyAndValue)),
    values: values.get(row.get('case_id')!) ?? [],
  }));
}

function published(row: Map<string, string>): Published {
  return {
    subject: row.get('subject')!,
    metric: row.get('metric')!,
    value: Number(row.get('value')),
    unit: row.get('unit')!,
    precision: Number(row.get('rel_precision')),
    source: row.get('source')!,
  };
}

function keyAndValue(text: string): [string, string] {
  const at = text.indexOf('=');
  return [text.slice(0, at), text.slice(at + 1)];
}

/** A parameter that the case must have. */
export function textOf({ id, params }: Case, key: string): string {
  const text = params.get(key);
  if (text === undefined) throw new RangeError(`case ${id}: no parameter ${key}`);
  return text;
}

/** A number, or a fraction such as `1/96`. */
export function parseNumber(text: string): number {
  const [above, below = '1'] = text.split('/');
  const value = Number(above) / Number(below);
  if (!Number.isFinite(value)) throw new RangeError(`not a number: ${text}`);
  return value;
}

export function numberOf(one: Case, key: string): number {
  return parseNumber(textOf(one, key));
}

/** Numbers between bars. */
export function numbersOf(one: Case, key: string): number[] {
  return textOf(one, key).split('|').map(parseNumber);
}

/** Values with their probabilities: `4:0.8|64:0.2`. */
export function parseAtoms(text: string): Atom[] {
  return text.split('|').map((part) => {
    const [value, probability] = part.split(':') as [string, string];
    return { value: parseNumber(value), probability: parseNumber(probability) };
  });
}

/** The value of a metric, or of none. */
export function valueOf(values: readonly Published[], subject: string, metric: string): number | undefined {
  return values.find((one) => one.subject === subject && one.metric === metric)?.value;
}
