import type { ElementSpec, MasterSpec, SystemSpec } from '../../../src/scenario/scenario.js';
import { buffer, clock, crossbar, master, onChip, port, roundRobin, run, system } from '../../model/platform.js';
import type { ReferenceRow } from '../reference-table.js';
import { fraction, given, largest } from './bounded.js';
import type { Flow } from './curves.js';

/**
 * Servers of a rate and a latency, made of real elements: the way forward through a port, a memory, and the way back through a
 * switch. The clock of each says its rate. The port and the switch have their latency from their pipelines; the memory has it
 * from a burst of lower priority that is in the way when the flow comes: it does nothing for a time, then all at its rate.
 */
export interface Server {
  readonly rate: number;
  readonly latency: number;
}

/** A burst of lower priority at the memory, wanted at a cycle; null: one after the other. */
export interface InTheWay {
  readonly beats: number;
  readonly at: number | null;
}

/** Period of the clock of one beat a cycle, in ps: those of rates 1/2 and 3/4 are whole numbers too. */
const CYCLE = 3000;
/** Beats a cycle of what must not hold anybody up: its clock has an edge wherever any of the others has one. */
const FAST = 3;
const BEAT = 16;
const DEEP = 4096;

/** The flow's way, server by server; a single one is the memory. */
export function serversOf(row: ReferenceRow): Server[] {
  const list = row.parameter('params', 'servers_R_T');
  if (list === null) return [{ rate: given(row, 'R'), latency: given(row, 'T') }];
  return list.split('|').map((server) => {
    const [rate, latency] = server.split(',').map(fraction);
    return { rate: rate!, latency: latency! };
  });
}

/** Instants at which a flow may begin, in cycles: every phase of the clocks, and late enough for a burst to be in its way. */
export const PHASES = [40, 41, 42, 43];
/** How much earlier than the flow the burst in its way may be wanted: somewhere among these it begins just before it. */
export const LEADS = Array.from({ length: 16 }, (_, lead) => lead);

/** All latencies together, in cycles. */
export const latencyOf = (servers: readonly Server[]): number => servers.reduce((sum, { latency }) => sum + latency, 0);

/**
 * The latency that there is behind a burst of so many beats, at any phase and whenever that begins: of two beats at once, how
 * much later each is back than by the slowest rate alone. The second is there because two of its edges make a whole period
 * of all clocks.
 */
export function worstLatency(servers: readonly Server[], inTheWay: number): number {
  const perBeat = 1 / Math.min(...servers.map(({ rate }) => rate));
  return largest(
    PHASES.flatMap((start) =>
      LEADS.flatMap((lead) => {
        const gone = pass(servers, [start, start], { beats: inTheWay, at: start - lead });
        return gone.map((at, n) => at - start - (n + 1) * perBeat);
      }),
    ),
  );
}

const memoryOf = (servers: readonly Server[]): Server => servers[servers.length === 3 ? 1 : 0]!;

/** When each beat of a flow is back at its master, in cycles, in order of the times at which they were wanted. */
export function pass(servers: readonly Server[], came: Flow, inTheWay: InTheWay): number[] {
  const spec = chainSystem(servers, came, inTheWay);
  const durationPs = (came.at(-1)! + 1) * CYCLE;
  const { log } = run({ ...spec, run: { ...spec.run, durationPs, drainPs: 1e9 } });
  return log.done
    .filter((one) => one.master === 0)
    .toSorted((a, b) => a.number - b.number)
    .map(({ doneAt }) => doneAt / CYCLE);
}

function chainSystem(servers: readonly Server[], came: Flow, inTheWay: InTheWay): SystemSpec {
  const memory = memoryOf(servers);
  const after = servers.length > 1 ? servers.at(-1)! : null;
  // a port that is a server has the cycles of issue and of its way back besides those of its way forward
  const before = servers.length === 3 ? servers[0]! : { rate: FAST, latency: 1 };
  const forwardCycles = Math.max(1, before.latency - 2);
  const open = { queueDepth: DEEP, maxReads: Infinity, syncCycles: 0 };
  const first = after === null ? 'in' : 'x';
  const arbitration = { ...roundRobin, policy: 'fixed_priority' as const, priority: [first, 'lower'] };
  const elements: ElementSpec[] = [
    port('in', [after === null ? 'memory' : 'x'], { ...open, clock: 'before', forwardCycles }),
    port('lower', ['memory'], { ...open, clock: 'memory' }),
    ...(after === null ? [] : [wayBack(after)]),
    onChip('memory', { clock: 'memory', queueDepth: DEEP, syncCycles: 0, accessCycles: 1, arbitration }),
  ];
  const rates = { before: before.rate, memory: memory.rate, back: after?.rate ?? 1 };
  const clocks = Object.entries(rates).map(([name, rate]) => clock(name, Math.round(CYCLE / rate)));
  return system(elements, [buffer('data', 'memory')], mastersOf(came, inTheWay), clocks);
}

function mastersOf(came: Flow, { beats, at }: InTheWay): MasterSpec[] {
  const trace = (times: Flow, bytes: number): MasterSpec['issue'] => ({
    process: 'trace',
    file: '',
    entries: times.map((time) => ({ timePs: time * CYCLE, write: false, address: 0, bytes })),
  });
  const issue = at === null ? ({ process: 'greedy' } as const) : trace([at], beats * BEAT);
  return [
    master('flow', 'in', 'data', { clock: 'before', syncCycles: 0, maxReads: 1e6, issue: trace(came, BEAT) }),
    master('lower', 'lower', 'data', {
      clock: 'memory',
      syncCycles: 0,
      maxReads: 2,
      burstBeats: 256,
      // every burst starts at a boundary of 4 KiB, so that none is cut
      pattern: { pattern: 'strided', strideBytes: 4096 },
      size: { kind: 'fixed', value: beats * BEAT },
      stopPs: (came.at(-1)! + 1) * CYCLE,
      issue,
    }),
  ];
}

/** The switch whose way back is the last server: two of its cycles of latency are those of the beat itself and of the port. */
function wayBack({ rate, latency }: Server): ElementSpec {
  const backwardCycles = Math.max(1, Math.floor(latency * rate) - 2);
  return crossbar('x', ['memory'], {
    clock: 'back',
    queueDepth: DEEP,
    syncCycles: 0,
    forwardCycles: 1,
    backwardCycles,
  });
}
