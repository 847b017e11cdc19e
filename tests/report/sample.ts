import { existsSync, readFileSync } from 'node:fs';
import { sourceOf } from '../../src/cli/source.js';
import { programVersion } from '../../src/cli/version.js';
import { CAUTION } from '../../src/output/caution.js';
import { manifestText } from '../../src/output/manifest.js';
import { platformFacts } from '../../src/output/platform.js';
import { type Folder, readFolder } from '../../src/report/folder.js';
import { read, textOf } from '../scenarios/shipped.js';

const STORED = new URL('../../results/grain-sorter/', import.meta.url);

/** The manifest that a run of the demonstration writes. */
export function demonstrationManifest(): string {
  const scenario = read('grain-sorter.yaml');
  return manifestText({
    ...sourceOf('scenarios/grain-sorter.yaml', Buffer.from(textOf('grain-sorter.yaml'))),
    version: programVersion(),
    scenario: 'grain-sorter',
    title: scenario.title,
    command: 'burstyard run scenarios/grain-sorter.yaml',
    placements: scenario.systems.map(({ placement }) => placement),
    platforms: scenario.systems.map(platformFacts),
    seed: '1',
    replications: 10,
    simulatedPs: 1e12,
    wallMs: 12_345,
    events: 42,
    warnings: [{ text: 'a warning', count: 2 }],
    notes: [],
  });
}

/** The stored tables of the demonstration, with other files over them; null takes one away. */
export function demonstration(changes: Readonly<Record<string, string | null>> = {}): Folder {
  return readFolder((file) => {
    const changed = changes[file];
    if (changed !== undefined) return changed;
    if (file === 'manifest.json') return demonstrationManifest();
    const stored = new URL(file, STORED);
    return existsSync(stored) ? readFileSync(stored, 'utf8') : null;
  });
}

export { CAUTION };

/** The demonstration with another name for a master, wherever it stands. */
export function hostile(name: string): Folder {
  const swap = (text: string) => text.replaceAll('classifier_read', name);
  const changes: Record<string, string> = {
    'manifest.json': demonstrationManifest().replaceAll('classifier_read', JSON.stringify(name).slice(1, -1)),
  };
  for (const [file, { columns, rows }] of demonstration().sheets) {
    const cell = (text: string) => `"${swap(text).replaceAll('"', '""')}"`;
    const lines = rows.map((row) => columns.map((column) => cell(row.get(column)!)).join(','));
    changes[file] = [columns.join(','), ...lines].join('\n');
  }
  return demonstration(changes);
}
