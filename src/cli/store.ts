import { createHash } from 'node:crypto';
import { join } from 'node:path';
import type { Store } from '../study/identity.js';
import type { Io } from './io.js';
import { writeOrSay } from './write.js';

/**
 * Keeps each result in a file of its own in a folder, named by a hash of all it depends on. What is there is found only
 * when asked to `resume`; a file that cannot be read as such a result is as good as none.
 */
export function folderStore(folder: string, resume: boolean, io: Io): Store {
  const pathOf = (identity: string): string =>
    join(folder, `${createHash('sha256').update(identity).digest('hex').slice(0, 32)}.json`);
  return {
    find(identity) {
      const path = pathOf(identity);
      if (!resume || !io.exists(path)) return undefined;
      try {
        return JSON.parse(new TextDecoder().decode(io.readFile(path))) as unknown;
      } catch {
        return undefined;
      }
    },
    keep: (identity, value) => writeOrSay(pathOf(identity), `${JSON.stringify(value)}\n`, io),
  };
}
