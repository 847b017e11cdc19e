/** The analyses by which the bounds of the table can be worked out again. */

/** A master that wants bursts of so many beats, with at least `gap` cycles from one to the next. */
export interface Periodic {
  readonly beats: number;
  readonly gap: number;
}

/** The longest burst of lower priority, begun a cycle before. */
export function blockingOf(masters: readonly Periodic[], subject: number): number {
  return Math.max(0, ...masters.slice(subject + 1).map(({ beats }) => beats - 1));
}

/**
 * Worst response under fixed priority without preemption, in whole cycles, the first master the most urgent: over all instances
 * of the busy period, as the first is not always the worst (Davis et al. 2007).
 */
export function responseOf(masters: readonly Periodic[], subject: number): number {
  const { beats, gap } = masters[subject]!;
  const higher = masters.slice(0, subject);
  const blocking = blockingOf(masters, subject);
  const upTo = masters.slice(0, subject + 1);
  const busy = fixedPoint(1, (t) => upTo.reduce((sum, one) => sum + Math.ceil(t / one.gap) * one.beats, blocking));
  const responses = Array.from({ length: Math.ceil(busy / gap) }, (_, instance) => {
    const own = blocking + instance * beats;
    const start = fixedPoint(own, (w) =>
      higher.reduce((sum, one) => sum + (Math.floor(w / one.gap) + 1) * one.beats, own),
    );
    return start - instance * gap + beats;
  });
  return Math.max(...responses);
}

function fixedPoint(from: number, next: (x: number) => number): number {
  let x = from;
  for (let y = next(x); y !== x; y = next(x)) x = y;
  return x;
}

/** Delay, backlog and output burst of a flow σ + ρt through a server R(t − T)⁺ (Le Boudec, Thiran 2001, chapter 1.4). */
export function throughServer(
  { sigma, rho }: { sigma: number; rho: number },
  { rate, latency }: { rate: number; latency: number },
): { delay: number; backlog: number; burst: number } {
  return { delay: latency + sigma / rate, backlog: sigma + rho * latency, burst: sigma + rho * latency };
}
