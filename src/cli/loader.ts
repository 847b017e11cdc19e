/** Those commands that are over soon. */
export type Short = typeof import('./short.js');

/** How what commands do is loaded, once one is called. */
export interface Loader {
  /** Of those that are over soon. */
  short(): Promise<Short>;
  /** Of any other, by its own module. */
  long<T>(load: () => Promise<T>): Promise<T>;
}
