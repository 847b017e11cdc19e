import seedrandom from 'seedrandom';
import type { ArbitrationSpec } from '../../../src/scenario/scenario.js';
import { roundRobin } from '../../model/platform.js';
import type { Comparison, Depth } from '../outside-check.js';
import { type ReferenceRow, rowsBy } from '../reference-table.js';
import { boundChecks, given, largest, rateChecks, rowsOf } from './bounded.js';
import { burstiness, type Curve, greedyFlow, randomFlow } from './curves.js';
import { inputOf, serve, type Served, type Source, type Want } from './served.js';

/** A flow that shares a memory with others: behind one of higher priority, or in a round robin. */

const SEEDS = { quick: 5, full: 60 };
const CYCLES = 4000;
const LONG_CYCLES = 40_000;
/** Cycles from the instant at which a lone read is wanted until the memory sees it. */
const PIPELINE = 2;
/** Share of a bound that is reached by single beats; by bursts, of which the bound thinks as of a fluid, less. */
const NEAR = 0.97;
const NEAR_IN_BURSTS = 0.7;

/** Delays in cycles, from the instant at which all that is wanted could be seen, to the end. */
const delays = (served: readonly Served[]): number[] => served.map(({ wanted, end }) => end - wanted - PIPELINE);
const single = (flow: readonly number[]): Want[] => flow.map((at) => ({ at, beats: 1 }));
/** Beats a cycle that a master was served within the time that the sources want. */
const rateOf = (served: readonly Served[], cycles: number): number =>
  served.filter(({ end }) => end <= cycles).reduce((sum, { beats }) => sum + beats, 0) / cycles;

/** Every row of a low priority behind a high one, and of a round robin. */
export function sharedLinkChecks(depth: Depth): Comparison[] {
  const grouped = (kind: string): ReferenceRow[][] => [...rowsBy(rowsOf(kind), 'bound_id').values()];
  return [
    ...grouped('network_calculus_priority').flatMap((rows) => priorityChecks(rows, depth)),
    ...grouped('network_calculus_round_robin').flatMap((rows) => roundRobinFlowChecks(rows, depth)),
  ];
}

/** Three masters: the high flow, the low flow, and long bursts of one that is lower still. */
function priorityChecks(rows: readonly ReferenceRow[], depth: Depth): Comparison[] {
  const high = { sigma: given(rows[0]!, 'sigma_high'), rho: given(rows[0]!, 'rho_high') };
  const low = { sigma: given(rows[0]!, 'sigma'), rho: given(rows[0]!, 'rho') };
  const longest = given(rows[0]!, 'largest_lower_burst');
  const loads = priorityLoads(high, low, longest, depth);
  const saturated = serveByRank(
    [throughBucket(high), { greedy: { beats: 1, outstanding: 64 } }, lowest(longest)],
    LONG_CYCLES,
  );
  const found = rows.flatMap((row) => {
    const own = loads.map((load) => load[row.text('subject') === 'high flow' ? 0 : 1]!);
    const latency = (high.sigma + longest) / (1 - high.rho);
    switch (row.text('metric')) {
      case 'service_rate':
        return rateChecks(row, rateOf(saturated[1]!, LONG_CYCLES), latency / LONG_CYCLES);
      case 'service_latency':
        return boundChecks(row, { most: largest(own.map(firstWait)), factor: NEAR });
      default:
        return boundChecks(row, { most: largest(own.flatMap(delays)), factor: NEAR });
    }
  });
  return [...found, ...bucketChecks(high, saturated[0]!)];
}

/** How long the first beat of a flow that comes all at once waits. */
const firstWait = ([first]: readonly Served[]): number =>
  first === undefined ? 0 : first.start - first.wanted - PIPELINE;

function priorityLoads(high: Curve, low: Curve, longest: number, depth: Depth): Served[][][] {
  const beats = (curve: Curve): number => Math.floor(curve.sigma + curve.rho * CYCLES);
  // the long burst has begun a cycle before all that can come at once comes
  const worst = [
    { wants: single(greedyFlow(high, 1, beats(high))) },
    { wants: single(greedyFlow(low, 1, beats(low))) },
    { wants: [{ at: 0, beats: longest }] },
  ];
  const random = Array.from({ length: SEEDS[depth] }, (_, seed) => {
    const draw = seedrandom.xor4096(`priority ${seed}`);
    return [
      { wants: single(randomFlow(high, CYCLES, draw)) },
      { wants: single(randomFlow(low, CYCLES, draw)) },
      lowest(1 + Math.floor(draw() * longest)),
    ];
  });
  return [worst, ...random].map((sources) => serveByRank(sources, CYCLES));
}

/** Bursts of the lowest priority, of which one always waits. */
const lowest = (beats: number): Source => ({ greedy: { beats, outstanding: 2 } });
const throughBucket = ({ sigma, rho }: Curve): Source => ({
  greedy: { beats: 1, outstanding: 1000 },
  bucket: { rate: rho, depth: sigma },
});

function serveByRank(sources: readonly Source[], cycles: number): Served[][] {
  const priority = sources.map((_, i) => inputOf(i));
  const arbitration: ArbitrationSpec = { ...roundRobin, policy: 'fixed_priority', priority };
  return serve('memory', arbitration, sources, cycles);
}

/** The token bucket of a port keeps a greedy master to σ + ρt, and gives it all of that. */
function bucketChecks({ sigma, rho }: Curve, served: readonly Served[]): Comparison[] {
  const measured = burstiness(
    served.map(({ arrival }) => arrival),
    rho,
  );
  const common = {
    source: 'Le Boudec, Thiran 2001, Network Calculus, LNCS 2050',
    unit: 'beats',
    expected: sigma,
    measured,
  };
  const check = `token bucket of ${sigma} beats and ${rho} a cycle: beats at once beyond its rate`;
  return [
    { ...common, check: `${check}: never passed`, relation: 'at_most' },
    { ...common, check: `${check}: reached`, relation: 'at_least' },
  ];
}

/** The subject's flow in bursts of one length, against masters that always want bursts of theirs. */
function roundRobinFlowChecks(rows: readonly ReferenceRow[], depth: Depth): Comparison[] {
  const [row] = rows;
  const lengths = row!.parameter('params', 'bursts')!.split('|').map(Number);
  const subject = Number(row!.text('subject').replace('master', '')) - 1;
  const curve = { sigma: given(row!, 'sigma'), rho: given(row!, 'rho') };
  const others = lengths.map((beats): Source => ({ greedy: { beats, outstanding: 4 } }));
  const among = (source: Source, cycles: number): Served[] =>
    serve(
      'memory',
      roundRobin,
      others.map((other, i) => (i === subject ? source : other)),
      cycles,
    )[subject]!;
  const saturated = among(others[subject]!, LONG_CYCLES);
  const flows = flowsInBursts(curve, lengths, subject, depth).map((wants) => among({ wants }, wants.at(-1)!.at));
  const round = lengths.reduce((sum, beats) => sum + beats, 0);
  return rows.flatMap((one) => {
    switch (one.text('metric')) {
      case 'service_rate':
        // the window may cut a round
        return rateChecks(one, rateOf(saturated, LONG_CYCLES), round / LONG_CYCLES);
      case 'service_latency':
        return boundChecks(one, { most: largest(saturated.map(({ head, start }) => start - head)), factor: 1 });
      default:
        return boundChecks(one, { most: largest(flows.flatMap(delays)), factor: NEAR_IN_BURSTS });
    }
  });
}

/** All of σ at once at each phase of the others' turns, and flows that save up and let go at random. */
function flowsInBursts(curve: Curve, lengths: readonly number[], subject: number, depth: Depth): Want[][] {
  const beats = lengths[subject]!;
  const bursts = { sigma: curve.sigma / beats, rho: curve.rho / beats };
  const inBursts = (flow: readonly number[]): Want[] => flow.map((at) => ({ at, beats }));
  const others = lengths.reduce((sum, length) => sum + length, -beats);
  const pause = Math.ceil((2 * curve.sigma) / curve.rho / others) * others;
  const phases = Array.from({ length: others + 1 }, (_, turn) => {
    const at = turn * (pause + curve.sigma + 1);
    return Array.from({ length: bursts.sigma }, () => at);
  });
  const random = Array.from({ length: SEEDS[depth] }, (_, seed) => {
    return randomFlow(bursts, 5 * CYCLES, seedrandom.xor4096(`round robin flow ${seed}`));
  });
  return [phases.flat(), ...random].map(inBursts);
}
