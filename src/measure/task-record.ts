import type { BudgetSpec, TaskSpec } from '../scenario/scenario.js';
import { LevelRecord, type LevelPlain, type RecordSettings } from './path-record.js';

/** A task in one replication, as plain data. */
export interface TaskPlain {
  task: string;
  /** null: it has none. */
  deadlinePs: number | null;
  /** From the trigger to the end of the last step; of what was triggered inside the window. */
  level: LevelPlain;
  /** Ended after the deadline, or still under way past it when the run stopped. */
  misses: number;
  dropped: number;
  /** Found as many under way as may be, and waited for their turn. */
  queued: number;
  /** Time that those which ended took in all, and the part of it that went to hand-overs. */
  totalPs: number;
  upkeepPs: number;
}

/** What one replication keeps of one task. */
export class TaskRecord {
  dropped = 0;
  queued = 0;
  private readonly level: LevelRecord;
  private misses = 0;
  private totalPs = 0;
  private upkeepPs = 0;

  constructor(
    private readonly spec: TaskSpec,
    settings: Omit<RecordSettings, 'limits'>,
    budgets: readonly BudgetSpec[],
  ) {
    const limits = new Map([['task', limitsOfTask(spec, budgets)] as const]);
    this.level = new LevelRecord(`task ${spec.name}`, 'task', { ...settings, limits });
  }

  /** An instance that was triggered at `triggeredPs`, inside the window, has ended. */
  ended(nowPs: number, triggeredPs: number, upkeepPs: number): void {
    const took = nowPs - triggeredPs;
    this.level.of(triggeredPs).record(took);
    this.totalPs += took;
    this.upkeepPs += upkeepPs;
    if (took > (this.spec.deadlinePs ?? Infinity)) this.misses++;
  }

  /** An instance that was triggered inside the window is `agePs` old when the run stops. */
  leaveOpen(agePs: number, triggeredPs: number): void {
    this.level.leaveOpen(agePs, triggeredPs);
    if (agePs > (this.spec.deadlinePs ?? Infinity)) this.misses++;
  }

  toPlain(): TaskPlain {
    const { spec, misses, dropped, queued, totalPs, upkeepPs } = this;
    const level = this.level.toPlain();
    return { task: spec.name, deadlinePs: spec.deadlinePs, level, misses, dropped, queued, totalPs, upkeepPs };
  }
}

/** The limits that the samples of a task must be counted against exactly. */
function limitsOfTask({ name }: TaskSpec, budgets: readonly BudgetSpec[]): number[] {
  return budgets.flatMap((budget) => (budget.kind === 'task' && budget.task === name ? [budget.limitPs] : []));
}
