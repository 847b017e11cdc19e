import { createHash } from 'node:crypto';
import type { Source } from '../output/manifest.js';

/** A scenario file as manifests name it. */
export function sourceOf(path: string, bytes: Uint8Array): Source {
  return {
    scenarioFile: path,
    scenarioSha256: createHash('sha256').update(bytes).digest('hex'),
    scenarioText: new TextDecoder().decode(bytes),
  };
}
