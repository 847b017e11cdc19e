import type { DdrSpec } from '../../../src/scenario/scenario.js';

/** How a controller may be set. */
export interface Policy {
  readonly name: string;
  readonly change: Partial<DdrSpec>;
  readonly perBank: boolean;
  readonly postpone: number;
}

const SCHEDULERS = ['out_of_order', 'in_order'] as const;
const PAGES = ['open', 'closed', 'timeout'] as const;
const REFRESHES = [
  { mode: 'off', postpone: 0 },
  { mode: 'all_bank', postpone: 0 },
  { mode: 'all_bank', postpone: 8 },
  { mode: 'per_bank', postpone: 0 },
  { mode: 'per_bank', postpone: 8 },
] as const;
const IDLE_PS = 200_000;
const CAP_PS = 500_000;

/**
 * Every scheduler with every page policy and every way of refresh that the device has. Ranks, the cap on age and which of
 * activates and column commands goes first change from one to the next.
 */
export function policiesFor(oneBankRefresh: boolean): Policy[] {
  const refreshes = REFRESHES.filter(({ mode }) => mode !== 'per_bank' || oneBankRefresh);
  const all = SCHEDULERS.flatMap((scheduler) =>
    PAGES.flatMap((policy) => refreshes.map((refresh) => ({ scheduler, policy, refresh }))),
  );
  return all.map(({ scheduler, policy, refresh }, i): Policy => {
    const ranks = 1 + (i % 2);
    const activateFirst = i % 3 === 0;
    const capPs = i % 4 === 3 ? Infinity : CAP_PS;
    const refreshed = refresh.mode === 'off' ? 'off' : `${refresh.mode} ${refresh.postpone}`;
    return {
      name: `${scheduler}, ${policy} pages, refresh ${refreshed}, ranks ${ranks}`,
      change: { scheduler, page: { policy, idlePs: IDLE_PS }, refresh, ranks, activateFirst, capPs },
      perBank: refresh.mode === 'per_bank',
      postpone: refresh.postpone,
    };
  });
}
