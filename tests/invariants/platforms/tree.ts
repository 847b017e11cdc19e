import { stringify } from 'yaml';

/** A part of a scenario as it is written: what the file's keys are, before any is read. */
export interface Tree {
  [key: string]: Written;
}

export type Written = string | number | boolean | undefined | Tree | readonly Written[];

/** The scenario file that a tree stands for; keys that are undefined are left out. */
export function textOf(tree: Tree): string {
  // no anchors: where two elements share a drawn object, the file says it twice
  return stringify(tree, { aliasDuplicateObjects: false, lineWidth: 120 });
}

export const cycles = (count: number): string => `${count} cycles`;
export const bits = (count: number): string => `${count} bit`;
export const bytes = (count: number): string => `${count} B`;
export const ns = (count: number): string => `${count} ns`;
