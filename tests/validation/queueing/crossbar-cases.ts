/** Inputs that always have something to send, each head to an output drawn at random: head of line blocking. */
import { randomStream } from '../../../src/engine/random.js';
import type { Element } from '../../../src/model/element.js';
import { Probe } from '../../../src/model/probe.js';
import { Simulation } from '../../../src/model/simulation.js';
import type { MasterSpec, SystemSpec } from '../../../src/scenario/scenario.js';
import { buffer, clock, crossbar, device, master, onChip, port, roundRobin, system } from '../../model/platform.js';
import { traceOf } from './arrivals.js';
import { type Case, numberOf } from './case-file.js';
import type { Experiment } from './experiment.js';
import { REPLICATIONS } from './recipe.js';
import { CYCLE_PS, type Reading } from './tally.js';

const WARMUP = 200;
const CYCLES = 600;

/** Everything is in one clock, of a cycle of theory. */
const CLOCK = clock('cycle', CYCLE_PS);
const inClock = { clock: CLOCK.name };
const BEAT_BYTES = 16;
/** Deep enough that the next burst is there whenever one leaves. */
const QUEUE = 8;
const UNLIMITED = 1e6;

const masterOf = (name: string, attach: string, to: string, more: Partial<MasterSpec>) =>
  master(name, attach, to, {
    ...inClock,
    burstBeats: 1,
    maxReads: UNLIMITED,
    size: { kind: 'fixed', value: BEAT_BYTES },
    ...more,
  });

/** A system, and where its transfers are counted. */
interface Variant {
  readonly variant: string;
  readonly system: (replication: number) => SystemSpec;
  /** Do transfers happen in this element, and which of its channels are the outputs of theory? */
  readonly element: string;
  readonly isOutput: (channel: string) => boolean;
}

export function saturatedCrossbar(one: Case): Experiment[] {
  const [inputs, outputs] = [numberOf(one, 'N'), numberOf(one, 'M')];
  return [throughSwitch(one.id, inputs, outputs), toBanks(inputs, outputs)].map((variant) =>
    experimentOf(one, inputs, variant),
  );
}

/**
 * A switch with one queue an input. In each cycle one of M masters at each port wants a read, drawn at random, and each of
 * them has an output of its own; the port lets them through in the order in which they came.
 */
function throughSwitch(id: string, inputs: number, outputs: number): Variant {
  const ins = numbered('in', inputs);
  const outs = numbered('out', outputs);
  const elements = [
    ...ins.map((name) =>
      port(name, ['switch'], {
        ...inClock,
        queueDepth: UNLIMITED,
        maxReads: Infinity,
        arbitration: { ...roundRobin, policy: 'oldest' },
      }),
    ),
    crossbar('switch', outs, { ...inClock, queueDepth: QUEUE, forwardCycles: 1 }),
    ...outs.map((name) => device(name, { service: { kind: 'fixed', value: 0 } })),
  ];
  const buffers = outs.map((name) => buffer(`at ${name}`, name));
  const masters = (replication: number) =>
    ins.flatMap((input) => {
      const times = drawn(id, replication, input, outputs);
      return outs.map((output, n) =>
        masterOf(`${input} to ${output}`, input, `at ${output}`, { issue: traceOf(times[n]!) }),
      );
    });
  return {
    variant: 'switch',
    system: (replication) => system(elements, buffers, masters(replication), [CLOCK]),
    element: 'switch',
    isOutput: (channel) => channel.endsWith('read address'),
  };
}

/** By output: the cycles in which it is drawn. */
function drawn(id: string, replication: number, input: string, outputs: number): number[][] {
  const random = randomStream(id, replication, input, 'output');
  const times = Array.from({ length: outputs }, (): number[] => []);
  for (let cycle = 0; cycle < WARMUP + CYCLES; cycle++) times[Math.floor(random() * outputs)]!.push(cycle * CYCLE_PS);
  return times;
}

/** Banks of one memory, the addresses drawn by the masters themselves; a bank takes a beat a cycle. */
function toBanks(inputs: number, outputs: number): Variant {
  const ins = numbered('in', inputs);
  const bytes = outputs * BEAT_BYTES * 64;
  const elements = [
    ...ins.map((name) => port(name, ['banks'], { ...inClock, queueDepth: QUEUE, maxReads: Infinity })),
    onChip('banks', { ...inClock, banks: outputs, interleaveBytes: BEAT_BYTES, bytes, queueDepth: QUEUE }),
  ];
  const masters = ins.map((input) =>
    masterOf(`m ${input}`, input, 'data', {
      maxReads: 64,
      pattern: { pattern: 'random', alignBytes: BEAT_BYTES },
      issue: { process: 'greedy' },
    }),
  );
  const spec = system(elements, [buffer('data', 'banks', 0, bytes)], masters, [CLOCK]);
  return {
    variant: 'banks',
    system: () => spec,
    element: 'banks',
    isOutput: (channel) => channel.startsWith('bank '),
  };
}

function experimentOf(one: Case, inputs: number, { variant, system: make, element, isOutput }: Variant): Experiment {
  return {
    variant,
    replications: REPLICATIONS,
    targets: one.values.map((published) => ({ published, slack: 0 })),
    run: (replication) => {
      const probe = new Returned();
      const options = {
        seed: one.id,
        replication,
        warmupPs: WARMUP * CYCLE_PS,
        durationPs: CYCLES * CYCLE_PS,
        drainPs: 0,
        probe,
      };
      const simulation = new Simulation(make(replication), options);
      simulation.run();
      const found = simulation.model.elements.find(({ base }) => base.name === element)!;
      return one.values.map(({ metric }) => readCrossbar(metric, outputsOf(found, isOutput), probe.bytes, inputs));
    },
  };
}

/** What came back to the masters in the window. */
class Returned extends Probe {
  bytes = 0;

  override moved(_master: number, _write: boolean, bytes: number, timePs: number): void {
    if (timePs >= WARMUP * CYCLE_PS && timePs < (WARMUP + CYCLES) * CYCLE_PS) this.bytes += bytes;
  }
}

interface Outputs {
  readonly grants: number;
  /** Mean over the outputs. */
  readonly busyPs: number;
}

function outputsOf(element: Element, isOutput: (channel: string) => boolean): Outputs {
  const channels = [...element.channels()].filter(({ name }) => isOutput(name));
  return {
    grants: channels.reduce((sum, { grants }) => sum + grants, 0),
    busyPs: channels.reduce((sum, { busy }) => sum + busy.totalPs, 0) / channels.length,
  };
}

/** Three counters of the model for one number: grants, what the masters get back, and time that outputs are busy. */
function readCrossbar(metric: string, { grants, busyPs }: Outputs, bytes: number, inputs: number): Reading {
  switch (metric) {
    case 'throughput':
      return { kind: 'mean', sum: grants, count: CYCLES };
    case 'throughput_per_input':
      return { kind: 'mean', sum: bytes / BEAT_BYTES / inputs, count: CYCLES };
    case 'utilisation_per_output':
      return { kind: 'mean', sum: busyPs, count: CYCLES * CYCLE_PS };
    default:
      throw new RangeError(`nothing reads ${metric}`);
  }
}

const numbered = (word: string, count: number) => Array.from({ length: count }, (_, n) => `${word}${n}`);
