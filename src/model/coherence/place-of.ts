// Hot path: `indexOf` of a typed array is a call out of compiled code, which costs some hundred instructions however short
// the array is; a loop over a few places costs a dozen.

/** Where a value stands first in a short column, or −1. */
export function placeOf(column: Int32Array | Float64Array, value: number): number {
  for (let place = 0; place < column.length; place++) if (column[place] === value) return place;
  return -1;
}
