import type { Calendar } from '../engine/calendar.js';
import type { Bursts } from './bursts.js';
import type { Finals } from './finals.js';
import type { Lane } from './lane.js';
import type { Probe } from './probe.js';
import type { Window } from './window.js';

/** What every element of one simulation shares. */
export interface Context {
  readonly calendar: Calendar;
  readonly bursts: Bursts;
  readonly probe: Probe;
  readonly window: Window;
  readonly seed: string;
  readonly replication: number;
  /** Things the user should know, by text, with how often they happened. */
  readonly warnings: Map<string, number>;
  readonly tally: Tally;
  /** Hands out the numbers of places, queues and lanes, and knows all lanes, for whoever keeps books by them. */
  readonly places: { count: number; readonly lanes: Lane[] };
  /** Looks for accesses past the caches that miss newer data in them; null where nothing is cached. */
  stale: StaleWatch | null;
  /** Told what becomes of that which tasks asked for; null where there are none. */
  tasks: TaskDesk | null;
  readonly finals: Finals;
}

/** Whoever asked masters for something, by the number that was given with it. */
export interface TaskDesk {
  /** A core begins what it was asked for at `timePs`, now or later. */
  begun(ask: number, timePs: number): void;
  /** A request, or a core's maintenance, is done at `timePs`, now or later. */
  done(ask: number, timePs: number): void;
}

/** Told of every burst of a master that enters a memory without passing a coherence unit. */
export interface StaleWatch {
  /** Could a line of this memory ever be in a cache? If not, nobody need tell. */
  watches(memory: string): boolean;
  observe(master: number, write: boolean, memory: string, address: number, bytes: number): void;
}

/** What the run must still wait for. */
export interface Tally {
  /** Requests wanted inside the window that are not back yet. */
  counted: number;
  /** Bytes per direction of bursts issued and of bursts completed, over the whole run: what goes in comes out. */
  issuedBursts: number;
  completedBursts: number;
}

/** Counts a warning. */
export function warn(context: Context, text: string): void {
  context.warnings.set(text, (context.warnings.get(text) ?? 0) + 1);
}
