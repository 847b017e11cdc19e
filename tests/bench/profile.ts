import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

interface CpuProfile {
  readonly nodes: readonly { readonly id: number; readonly callFrame: { readonly url: string } }[];
  readonly samples: readonly number[];
  readonly timeDeltas: readonly number[];
}

/** Flags that make a process of Node leave a profile in `folder`. */
export const profileFlags = (folder: string): string[] => ['--cpu-prof', `--cpu-prof-dir=${folder}`];

/** Calls `run` with a folder for a profile, and answers the share of time by file of the build, the largest first. */
export function profiled(run: (folder: string) => void): { part: string; share: number }[] {
  const folder = mkdtempSync(join(tmpdir(), 'burstyard-profile-'));
  try {
    run(folder);
    const [file] = readdirSync(folder);
    return byPart(JSON.parse(readFileSync(join(folder, file!), 'utf8')) as CpuProfile);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** Time by file, of which each is a part of an element or of the engine; what is not ours goes by the name of its origin. */
export function byPart({ nodes, samples, timeDeltas }: CpuProfile): { part: string; share: number }[] {
  const parts = new Map(nodes.map(({ id, callFrame }) => [id, partOf(callFrame.url)]));
  const times = new Map<string, number>();
  for (const [i, sample] of samples.entries()) {
    const part = parts.get(sample)!;
    times.set(part, (times.get(part) ?? 0) + timeDeltas[i]!);
  }
  const all = [...times.values()].reduce((sum, time) => sum + time, 0);
  return [...times]
    .map(([part, time]) => ({ part, share: time / all }))
    .toSorted((a, b) => b.share - a.share || (a.part < b.part ? -1 : 1));
}

function partOf(url: string): string {
  const ours = /\/dist\/(.*)\.js$/.exec(url);
  if (ours !== null) return ours[1]!;
  const library = /\/node_modules\/([^/]+)/.exec(url);
  if (library !== null) return library[1]!;
  return 'node';
}
