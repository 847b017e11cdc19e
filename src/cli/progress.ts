import { SingleBar } from 'cli-progress';
import type { Io } from './io.js';

/** Does long work and shows how far it is; after it, or after a failure, the terminal has its cursor back. */
export async function withProgress<T>(
  io: Io,
  what: string,
  work: (onProgress: (share: number) => void) => Promise<T>,
): Promise<T> {
  const progress = startProgress(io, what);
  try {
    return await work((share) => progress.update(share));
  } finally {
    progress.done();
  }
}

interface Progress {
  update(share: number): void;
  done(): void;
}

const SILENT: Progress = { update: () => {}, done: () => {} };
/** Work that is done sooner shows nothing. */
const QUIET_MS = 300;
const STEPS = 1000;

/** A line on the terminal that is written over, with an estimate of the time left; nothing where there is no terminal. */
function startProgress(io: Io, what: string): Progress {
  const { terminal } = io;
  if (terminal === null) return SILENT;
  const started = io.nowMs();
  let bar: SingleBar | null = null;
  return {
    update(share) {
      const spent = io.nowMs() - started;
      if (spent < QUIET_MS) return;
      if (bar === null) {
        const format = `${what} {bar} {percentage} %, {left}`;
        bar = new SingleBar({
          stream: terminal,
          format,
          barCompleteChar: '=',
          barIncompleteChar: '.',
          clearOnComplete: true,
          hideCursor: true,
        });
        bar.start(STEPS, 0, { left: '' });
      }
      bar.update(Math.floor(share * STEPS), { left: timeLeft(spent, share) });
    },
    done() {
      bar?.stop();
    },
  };
}

function timeLeft(spentMs: number, share: number): string {
  if (share <= 0) return 'time left unknown';
  const seconds = Math.ceil((spentMs * (1 - share)) / share / 1000);
  return seconds < 60 ? `about ${seconds} s left` : `about ${Math.ceil(seconds / 60)} min left`;
}
