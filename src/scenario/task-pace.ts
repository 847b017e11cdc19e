import type { TaskSpec } from './scenario.js';

/** Mean time from one trigger of a task to the next, in ps; of one that comes after another, that of the first of the chain. */
export function taskPeriodPs(tasks: readonly TaskSpec[], { trigger }: TaskSpec): number {
  if (trigger.process !== 'after') return trigger.everyPs;
  return taskPeriodPs(
    tasks,
    tasks.find(({ name }) => name === trigger.task)!,
  );
}
