import seedrandom from 'seedrandom';
import type { Comparison, Depth } from '../outside-check.js';
import { type ReferenceRow, rowsBy } from '../reference-table.js';
import { boundChecks, given, largest, rowsOf } from './bounded.js';
import { backlog, burstiness, type Curve, type Flow, greedyFlow, randomFlow } from './curves.js';
import { LEADS, latencyOf, pass, PHASES, type Server, serversOf, worstLatency } from './server-chain.js';
import { sourceOf } from './sources.js';

/** A flow of single beats through servers of rate R and latency T, one or several in a row. */

const SEEDS = { quick: 3, full: 40 };
const FLOW_BEATS = 700;
const RANDOM_CYCLES = 4000;
/** Share of a bound that is reached. */
const NEAR = 0.97;
/** Of the beats that leave a row at once: only the memory holds beats up, the other servers delay them one as the other. */
const NEAR_IN_A_ROW = 0.85;
/** The sum of the bounds of each server pays for the burst at each of them. */
const LOOSE = 0.5;
/** A beat leaves whole (the packetizer of chapter 1.7), not little by little. */
const WHOLE_BEAT = 1;
/** Thirds of a cycle are not whole numbers. */
const ROUNDING = 1e-9;

/** By bound: beats of the burst of lower priority in the way, the most with which the latencies are still kept. */
const IN_THE_WAY: Readonly<Record<string, number>> = { nc_1: 18, nc_2: 22, nc_3: 73, cat_2: 18, cat_3: 21 };

/** Every row of single servers and of servers in a row. */
export function rateLatencyChecks(depth: Depth): Comparison[] {
  const rows = [...rowsOf('network_calculus'), ...rowsOf('network_calculus_concatenation')];
  return [...rowsBy(rows, 'bound_id').values()].flatMap((own) => chainChecks(own, depth));
}

function chainChecks(rows: readonly ReferenceRow[], depth: Depth): Comparison[] {
  const [row] = rows;
  const curve = { sigma: given(row!, 'sigma'), rho: given(row!, 'rho') };
  const servers = serversOf(row!);
  const inTheWay = IN_THE_WAY[row!.text('bound_id')]!;
  const starts = depth === 'full' ? PHASES : PHASES.slice(0, 1);
  const passed = [
    ...starts.flatMap((start) => {
      const came = greedyFlow(curve, start, FLOW_BEATS);
      return LEADS.map((lead) => ({ came, gone: pass(servers, came, { beats: inTheWay, at: start - lead }) }));
    }),
    ...Array.from({ length: SEEDS[depth] }, (_, seed) => {
      const came = randomFlow(curve, RANDOM_CYCLES, seedrandom.xor4096(`flow ${seed}`));
      return { came, gone: pass(servers, came, { beats: inTheWay, at: null }) };
    }),
  ];
  return [
    premise(row!, servers, inTheWay),
    ...rows.flatMap((one) => {
      const most = largest(passed.map(measureOf(one, curve)));
      return boundChecks(one, { most, ...nearnessOf(one, servers) });
    }),
  ];
}

/** What a row bounds, of beats that came and went. */
function measureOf(row: ReferenceRow, { rho }: Curve): (flow: { came: Flow; gone: Flow }) => number {
  switch (row.text('metric')) {
    case 'backlog_bound':
      return ({ came, gone }) => backlog(came, gone);
    case 'output_burst':
      return ({ gone }) => burstiness(gone, rho);
    default:
      return ({ came, gone }) => largest(came.map((at, n) => gone[n]! - at));
  }
}

function nearnessOf(row: ReferenceRow, servers: readonly Server[]): { factor: number; slack: number } {
  switch (row.text('metric')) {
    case 'delay_sum_of_hop_bounds':
      return { factor: LOOSE, slack: 0 };
    case 'output_burst':
      return { factor: servers.length > 1 ? NEAR_IN_A_ROW : NEAR, slack: WHOLE_BEAT };
    default:
      return { factor: NEAR, slack: 0 };
  }
}

function premise(row: ReferenceRow, servers: readonly Server[], inTheWay: number): Comparison {
  return {
    check: `${row.text('bound_id')} premise: no more latency than all of theirs`,
    source: sourceOf(row.text('source')),
    unit: 'cycles',
    expected: latencyOf(servers),
    measured: worstLatency(servers, inTheWay),
    tolerance: ROUNDING,
    relation: 'at_most',
  };
}
