import { dirname, resolve } from 'node:path';
import { ScenarioError } from '../errors.js';
import { CommandError } from './command-error.js';
import { ExitCode } from './exit-code.js';
import type { Scenario } from '../scenario/scenario.js';
import type { Io } from './io.js';

/** A scenario as read, with the bytes that it was read from. */
export interface LoadedScenario {
  readonly scenario: Scenario;
  readonly bytes: Uint8Array;
}

/** Reads a scenario file; files that it names are looked up beside it. */
export async function loadScenario(path: string, io: Io): Promise<LoadedScenario> {
  const { readScenario } = await import('../scenario/read.js');
  const bytes = readOrSay(path, io);
  const scenario = readScenario(bytes, path, {
    readFile: (name: string) => io.readFile(resolve(dirname(path), name)),
  });
  return { scenario, bytes };
}

/** Fails with a sentence where one of the placements named is not in the scenario. */
export function checkPlacements(scenario: Scenario, names: readonly string[]): void {
  const known = scenario.systems.map((system) => system.placement);
  for (const name of names) {
    if (known.includes(name)) continue;
    const message = `unknown placement '${name}'; ${scenario.name} has: ${known.join(', ')}`;
    throw new CommandError(message, ExitCode.usage);
  }
}

function readOrSay(path: string, io: Io): Uint8Array {
  try {
    return io.readFile(path);
  } catch (error) {
    const message = reasonOf(error, path);
    const missing = error instanceof Error && 'code' in error && error.code === 'ENOENT';
    const hint = `give the path of a scenario file${missing ? `, or write one with 'burstyard new ${path}'` : ''}`;
    throw new ScenarioError([{ code: 'unreadable', file: path, line: 1, column: 1, path: '', message, hint }]);
  }
}

/** A system error in words. */
export function reasonOf(error: unknown, path: string): string {
  const code = error instanceof Error && 'code' in error ? String(error.code) : '';
  switch (code) {
    case 'ENOENT':
      return `there is no file or folder ${path}`;
    case 'EISDIR':
      return `${path} is a folder, not a file`;
    case 'EACCES':
    case 'EPERM':
      return `no permission for ${path}`;
    case 'ENOTDIR':
    case 'EEXIST':
      return `${path} leads through a file that is not a folder`;
    case 'EROFS':
      return `${path} is on a read-only file system`;
    case 'ENOSPC':
      return `no space is left for ${path}`;
    default:
      return `${path} cannot be used: ${error instanceof Error ? error.message : String(error)}`;
  }
}
