/** Full names of the sources of the table, by their key there. Titles and years are from memory. */
const SOURCES: ReadonlyMap<string, string> = new Map([
  ['DAV07', 'Davis, Burns, Bril, Lukkien 2007, Real-Time Systems 35'],
  ['GEO96', 'George, Rivierre, Spuri 1996, INRIA report 2966'],
  ['LEB01', 'Le Boudec, Thiran 2001, Network Calculus, LNCS 2050'],
  ['KIN62', 'Kingman 1962, Biometrika 49'],
  ['README', 'by argument'],
]);

/** The sources behind a cell such as `DAV07; GEO96`. */
export function sourceOf(cell: string): string {
  const names = cell.split('; ').map((key) => {
    const name = SOURCES.get(key);
    if (name === undefined) throw new RangeError(`no source ${key}`);
    return name;
  });
  return names.join('; ');
}
