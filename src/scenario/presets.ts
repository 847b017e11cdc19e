import { readdirSync, readFileSync } from 'node:fs';
import { SHIPPED_DATA } from './shipped-data.js';
import { Shipped } from './shipped.js';
import { readYaml } from './yaml-tree.js';
import { child, entriesOf, type MapTree, type Tree } from './tree.js';

const PLATFORMS = new URL('platforms/', SHIPPED_DATA);
const PERIPHERALS = new URL('peripherals.yaml', SHIPPED_DATA);

/** A piece of scenario that ships with the tool. */
export interface Preset {
  /** Name by which places in it are told. */
  readonly file: string;
  readonly text: string;
  readonly tree: Tree;
}

/** Names of the platform presets, sorted. */
export function platformPresetNames(): string[] {
  const files = readdirSync(PLATFORMS).filter((file) => file.endsWith('.yaml'));
  return files.map((file) => file.slice(0, -'.yaml'.length)).toSorted();
}

const platforms = new Shipped((name): Preset => {
  const file = `preset ${name}`;
  const text = readFileSync(new URL(`${name}.yaml`, PLATFORMS), 'utf8');
  return { file, text, tree: sound(text, file) };
});

/** A platform preset as a tree with the one key `platform`; undefined for an unknown name. */
export function platformPreset(name: string): Preset | undefined {
  return platformPresetNames().includes(name) ? platforms.get(name) : undefined;
}

interface PeripheralPresets {
  /** Name by which places in them are told. */
  readonly file: string;
  readonly text: string;
  readonly fields: ReadonlyMap<string, Tree>;
}

const peripherals = new Shipped(readPeripherals);

/** The peripheral presets by name: fields of a master, each set with the source of its rate beside it in the data. */
export function peripheralPresets(): PeripheralPresets {
  return peripherals.get();
}

function readPeripherals(): PeripheralPresets {
  const file = 'peripheral presets';
  const text = readFileSync(PERIPHERALS, 'utf8');
  const fields = new Map<string, Tree>();
  for (const [name, { tree }] of entriesOf(sound(text, file))) {
    const own = child(tree, 'fields');
    if (own !== undefined) fields.set(name, own);
  }
  return { file, text, fields };
}

function sound(text: string, file: string): MapTree {
  const { tree, problems } = readYaml(text, file);
  if (tree === null || problems.length > 0) throw new Error(`${file} is broken: ${problems[0]?.message ?? ''}`);
  return tree;
}
