import type { Fault } from './quantity.js';
import type { AddressField } from './schema/ddr.js';
import type { DdrSpec } from './scenario.js';

/** Bits that each field of the address has, from the geometry. */
export type FieldBits = Readonly<Record<AddressField, number>>;

/** What the author wrote: fields, most significant first, with bits or without (all that are left of the field). */
export type WrittenMapping = readonly { field: AddressField; bits: number | null }[];

const USUAL_ORDER: WrittenMapping = (['row', 'rank', 'bank', 'bankgroup', 'column'] as const).map((field) => ({
  field,
  bits: null,
}));

/** Fills in the bits that were left open; fields without bits are left out. */
export function filledMapping(written: WrittenMapping | null, geometry: FieldBits): DdrSpec['mapping'] {
  const order = written ?? USUAL_ORDER;
  const stated = (field: AddressField): number =>
    order.reduce((sum, part) => sum + (part.field === field ? (part.bits ?? 0) : 0), 0);
  const open = new Set<AddressField>();
  const filled = order.map(({ field, bits }) => {
    if (bits !== null) return { field, bits };
    // the second time a field is named without bits there is nothing left of it
    const left = open.has(field) ? 0 : Math.max(0, geometry[field] - stated(field));
    open.add(field);
    return { field, bits: left };
  });
  return filled.filter(({ bits }) => bits > 0);
}

/** What is wrong where a mapping does not cover the address bits, each once; null where it does. */
export function mappingFault(
  mapping: DdrSpec['mapping'],
  geometry: FieldBits,
  accessBytes: number,
): Pick<Fault, 'message' | 'hint'> | null {
  const fields = Object.keys(geometry) as AddressField[];
  const mapsChannel = mapping.some(({ field }) => field === 'channel');
  const counted = fields.filter((field) => field !== 'channel' || mapsChannel);
  const has = (field: AddressField): number =>
    mapping.reduce((sum, part) => sum + (part.field === field ? part.bits : 0), 0);
  const off = counted.filter((field) => has(field) !== geometry[field]);
  if (off.length === 0) return null;
  const needs = counted.reduce((sum, field) => sum + geometry[field], 0);
  const covers = mapping.reduce((sum, { bits }) => sum + bits, 0);
  const details = off.map((field) => `${field} ${has(field)} of ${geometry[field]}`).join(', ');
  return {
    message: `must cover ${needs} address bits above a DRAM burst of ${accessBytes} B, covers ${covers} (${details})`,
    hint: `write e.g. '[row, rank, bank, bankgroup, column]', which takes the bits that are there`,
  };
}
