/**
 * What happens first at one instant. The order is part of the model's meaning: a freed slot is seen by whoever arrives
 * at the same instant, and every arrival is seen by the arbiters that decide at that instant. Within a phase no result
 * may depend on the order of events; a run with `shuffle` set proves it.
 */
export const Phase = {
  /** Completions: responses that reach their master, servers that become free. */
  complete: 0,
  /** Arrivals: requests that are wanted, data that is in. */
  arrive: 1,
  /** Arbiters with a request and a free output decide, once each. */
  decide: 2,
  /** What follows once the instant is known as a whole: tasks take their next steps. */
  follow: 3,
} as const;
