/**
 * The folder of the data that the language ships with. The same from here as from the one file that a build makes of some
 * commands, which lies in another folder of the same depth.
 */
export const SHIPPED_DATA = new URL('../scenario/data/', import.meta.url);
