/** Full names of the sources of the table, by their key there. Titles and years are from memory. */
const SOURCES: ReadonlyMap<string, string> = new Map([
  ['MAT70', 'Mattson, Gecsei, Slutz, Traiger 1970, IBM Systems Journal 9'],
  ['BEL69', 'Belady, Nelson, Shedler 1969, CACM 12'],
  ['KIN71', 'King 1971, IFIP Congress'],
  ['GEL73', 'Gelenbe 1973, IEEE Trans. Computers C-22'],
  ['FLA92', 'Flajolet, Gardy, Thimonier 1992, Discrete Applied Mathematics 39'],
  ['CHE02', 'Che, Tung, Wang 2002, IEEE JSAC 20'],
  ['FRI12', 'Fricker, Robert, Roberts 2012, ITC 24'],
  ['README', 'worked out from the definition of the rule'],
  ['elementary', 'elementary'],
]);

/** The sources behind a cell such as `KIN71; GEL73`. */
export function sourceOf(cell: string): string {
  const names = cell.split('; ').map((key) => {
    const name = SOURCES.get(key);
    if (name === undefined) throw new RangeError(`no source ${key}`);
    return name;
  });
  return names.join('; ');
}

/** Who may hold a line in which state at once. */
export const MESI =
  'Papamarcos, Patel 1984, ISCA; Sorin, Hill, Wood 2011, A Primer on Memory Consistency and Cache Coherence';
/** What an inclusive cache holds. */
export const INCLUSION = 'Baer, Wang 1988, ISCA';
