/**
 * The queue of which mean and percentiles are known: M/M/1, whose time in the system is exponential with mean 1/(μ − λ)
 * (Kleinrock 1975, Queueing Systems I, 3.2 and 5.12), written as any scenario is.
 */
import { readScenario } from '../../../src/scenario/read.js';
import type { Scenario } from '../../../src/scenario/scenario.js';

export const SOURCE =
  'Kleinrock 1975, Queueing Systems I: M/M/1, the time in the system is exponential with mean 1/(mu - lambda)';

/** Mean time between two customers. */
export const GAP_PS = 10_000_000;

/**
 * What is dropped before the window, in mean gaps: more than 20 times the relaxation time 1/(μ (1 − √ρ)²) of a queue at
 * load 0.8 (Cohen 1982, The Single Server Queue, II.2), so that nothing is left of the empty start.
 */
const WARMUP_GAPS = 1500;

export interface Queue {
  /** Share of the time in which the server is busy. */
  readonly load: number;
  /** Mean number of customers in the window of a replication. */
  readonly customers: number;
}

/** How customers come, at the same rate in all. */
export type Arrivals =
  /** One source that sends each as it is wanted. */
  | 'one'
  /** Two sources of half the rate, so that those of the first meet those of another. */
  | 'two'
  /** One source that sends the next when the last is back: the queue stands in the source, and is its backlog. */
  | 'held';

/** A queue as a scenario; the customers asked about are those of `source`. */
export function queueScenario({ load, customers }: Queue, arrivals: Arrivals): Scenario {
  const each = arrivals === 'two' ? 2 * GAP_PS : GAP_PS;
  const master = (name: string): string =>
    `  ${name}: { attach: server, clock: none, width: 128 bit, burst: 1 beats, outstanding: ${arrivals === 'held' ? 1 : 100_000}, ` +
    `operations: read, size: 16 B, buffer: data, issue: { process: poisson, every: ${each} ps } }`;
  const text = `platform: { devices: { server: { service: { exponential: { mean: ${load * GAP_PS} ps } } } } }
buffers: { data: { memory: server, size: 64 KiB } }
masters:
${master('source')}
${arrivals === 'two' ? master('other') : ''}
compare:
  mean: { kind: latency, master: source }
  p99: { kind: latency, master: source, percentile: 99 % }
run:
  warmup: ${WARMUP_GAPS * GAP_PS} ps
  duration: ${customers * GAP_PS} ps
  drain: 1 s
  journeys: off
`;
  return readScenario(text, 'mm1.yaml', {
    readFile: (path) => {
      throw new Error(`no file is read here, and ${path} was asked for`);
    },
  });
}

/** What is true of the time in the system, in ps. */
export function truth(load: number): { readonly meanPs: number; readonly p99Ps: number } {
  const meanPs = (load * GAP_PS) / (1 - load);
  return { meanPs, p99Ps: meanPs * Math.log(100) };
}
