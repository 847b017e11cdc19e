/** How what commands do is loaded, once one is called. */
export interface Loader {
  /** Of those that are over soon. */
  short(): Promise<typeof import('./short.js')>;
  /** Of any other, by its own module. */
  long<T>(load: () => Promise<T>): Promise<T>;
}
