import type { TaskSpec } from '../../scenario/scenario.js';
import type { Arrivals } from '../../traffic/arrivals.js';
import type { Instance } from './instance.js';
import type { StepDraws } from './step-draws.js';

/** A trigger that waits for its turn. */
export interface Waiting {
  readonly number: number;
  readonly triggeredAt: number;
}

/** One task: its triggers, the instances under way and those that wait. */
export class TaskLine {
  /** By number of the instance. */
  readonly active = new Map<number, Instance>();
  readonly waiting: Waiting[] = [];
  /** Numbers of the tasks that come after this one. */
  readonly followers: number[] = [];
  /** Number of the next trigger of its own. */
  next = 0;

  constructor(
    readonly spec: TaskSpec,
    readonly triggers: Arrivals | null,
    readonly draws: StepDraws,
  ) {}

  get full(): boolean {
    return this.active.size >= this.spec.overlap;
  }
}
