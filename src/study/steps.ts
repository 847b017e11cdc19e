/** Work that looks up now and then, and says how much of it is done, 0 to 1. */
export type Steps<T> = Generator<number, T>;

/** All of it at once, for who cannot wait. */
export function walkThrough<T>(steps: Steps<T>, onProgress?: (share: number) => void): T {
  for (;;) {
    const { done, value } = steps.next();
    if (done === true) return value;
    onProgress?.(value);
  }
}
