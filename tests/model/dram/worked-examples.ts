/**
 * Numbers of the DRAM worked examples, sections 3 to 5, computed there from the data sheets that the table of speed grades
 * names (section 3 also published: 22, 44 and 66 clocks for DDR4-3200 22-22-22, a study of Micron's 16Gb DDR4 Rev H;
 * section 5's rules: JEDEC's, quoted by Alliance, Micron and Infineon).
 */
export interface WorkedExample {
  /** Any grade of this name: x8 and x16 devices differ in the ceiling only. */
  readonly grade: string;
  /** Clocks from the first command to the first data: row hit, row closed, row conflict. */
  readonly firstClocks: readonly [hit: number, closed: number, conflict: number];
  /** Nanoseconds from the first command to the end of the data, to four digits. */
  readonly lastNs: readonly [hit: number, closed: number, conflict: number];
  /** Command to command, one bank. */
  readonly readToWrite: number;
  readonly writeToRead: number;
  /** Most of the peak that reads of one burst per activate can reach, in percent, to four digits. */
  readonly ceilingPercent: number;
}

// grade, first clocks, last ns, read to write, write to read, ceiling
const ROWS: readonly (readonly [string, number, number, number, number, number, number, number, number, number])[] = [
  ['DDR2-800D-x8', 5, 10, 15, 22.5, 35.0, 47.5, 6, 11, 100.0],
  ['DDR2-800D-x16', 5, 10, 15, 22.5, 35.0, 47.5, 6, 11, 88.89],
  ['DDR2-800E-x8', 6, 12, 18, 25.0, 40.0, 55.0, 6, 12, 100.0],
  ['DDR2-800E-x16', 6, 12, 18, 25.0, 40.0, 55.0, 6, 12, 88.89],
  ['LPDDR2-800-S4-1Gb-x32', 6, 14, 22, 25.0, 45.0, 65.0, 11, 11, 80.0],
  ['DDR3-1066F-x8', 7, 14, 21, 20.625, 33.75, 46.875, 7, 14, 80.0],
  ['DDR3-1066F-x16', 7, 14, 21, 20.625, 33.75, 46.875, 7, 14, 59.26],
  ['DDR3-1066G-x8', 8, 16, 24, 22.5, 37.5, 52.5, 8, 14, 80.0],
  ['DDR3-1066G-x16', 8, 16, 24, 22.5, 37.5, 52.5, 8, 14, 59.26],
  ['DDR3-1333H-x8', 9, 18, 27, 19.5, 33.0, 46.5, 8, 16, 80.0],
  ['DDR3-1333H-x16', 9, 18, 27, 19.5, 33.0, 46.5, 8, 16, 53.33],
  ['DDR3-1600K-x8', 11, 22, 33, 18.75, 32.5, 46.25, 9, 18, 66.67],
  ['DDR3-1600K-x16', 11, 22, 33, 18.75, 32.5, 46.25, 9, 18, 50.0],
  ['DDR3-1866M-x8', 13, 26, 39, 18.21, 32.14, 46.07, 10, 20, 61.54],
  ['DDR3-1866M-x16', 13, 26, 39, 18.21, 32.14, 46.07, 10, 20, 48.48],
  ['DDR4-2133P-x8', 15, 30, 45, 17.81, 31.88, 45.94, 10, 23, 69.57],
  ['DDR4-2133P-x16', 15, 30, 45, 17.81, 31.88, 45.94, 10, 23, 50.0],
  ['DDR4-2400R-x8', 16, 32, 48, 16.67, 30.0, 43.33, 10, 25, 61.54],
  ['DDR4-2400R-x16', 16, 32, 48, 16.67, 30.0, 43.33, 10, 25, 44.44],
  ['DDR4-2400T-x8', 17, 34, 51, 17.5, 31.67, 45.83, 11, 25, 61.54],
  ['DDR4-2400T-x16', 17, 34, 51, 17.5, 31.67, 45.83, 11, 25, 44.44],
  ['DDR4-2666V-x8', 19, 38, 57, 17.25, 31.5, 45.75, 11, 28, 57.14],
  ['DDR4-2666V-x16', 19, 38, 57, 17.25, 31.5, 45.75, 11, 28, 40.0],
  ['DDR4-3200AA-x8', 22, 44, 66, 16.25, 30.0, 43.75, 12, 32, 47.06],
  ['DDR4-3200AA-x16', 22, 44, 66, 16.25, 30.0, 43.75, 12, 32, 33.33],
  ['LPDDR4-3200-x16ch', 28, 57, 86, 22.5, 40.625, 58.75, 30, 39, 50.0],
  ['LPDDR4X-4266-x16ch', 36, 75, 114, 20.625, 38.91, 57.19, 36, 49, 49.61],
];

const WORKED: readonly WorkedExample[] = ROWS.map(
  ([grade, hit, closed, conflict, hitNs, closedNs, conflictNs, readToWrite, writeToRead, ceilingPercent]) => ({
    grade,
    firstClocks: [hit, closed, conflict],
    lastNs: [hitNs, closedNs, conflictNs],
    readToWrite,
    writeToRead,
    ceilingPercent,
  }),
);

/** The example for a grade; the LPDDR2 devices of several densities differ in refresh only, and share theirs. */
export function exampleOf(grade: string): WorkedExample {
  const found = WORKED.find((row) => row.grade === grade.replace(/-[248]Gb-x32$/, '-1Gb-x32'));
  if (found === undefined) throw new Error(`no worked example for ${grade}`);
  return found;
}
