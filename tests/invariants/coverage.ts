import { pathOf } from '../../src/scenario/paths.js';
import type { ElementSpec, MasterSpec, SystemSpec } from '../../src/scenario/scenario.js';

/** What a platform has, by name: features that the random platforms must have among them. */
const FEATURES: Readonly<Record<string, (system: SystemSpec) => boolean>> = {
  'several ports': ({ elements }) => elements.filter(({ kind }) => kind === 'port').length > 1,
  'one switch': switches(1),
  'two switches': switches(2),
  'three switches': switches(3),
  'a period that is no whole number of picoseconds': ({ clocks }) =>
    [...clocks.values()].some(({ denominator }) => denominator > 1),
  'a crossing between clocks': (system) => widths(system, (a, b) => a.clock !== b.clock),
  'a crossing without synchroniser': has('switch', ({ syncCycles }) => syncCycles === 0),
  'narrow to wide': (system) => widths(system, (a, b) => a.widthBytes < b.widthBytes),
  'wide to narrow': (system) => widths(system, (a, b) => a.widthBytes > b.widthBytes),
  'beats that are not packed': has('switch', ({ pack }) => !pack),
  'queues per input': has('switch', ({ queues }) => queues === 'per_input'),
  'queues per output': has('switch', ({ queues }) => queues === 'per_output'),
  'an early answer': ({ elements }) => elements.some((one) => 'writeResponse' in one && one.writeResponse === 'early'),
  ...Object.fromEntries(
    (['round_robin', 'fixed_priority', 'weighted', 'oldest', 'qos', 'time_slots'] as const).map((policy) => [
      `arbitration by ${policy}`,
      ({ elements }: SystemSpec) => elements.some((one) => rulesOf(one).policy === policy),
    ]),
  ),
  'QoS with ageing': ({ elements }) => elements.some((one) => rulesOf(one).ageingPs > 0),
  'a grain of several bursts': ({ elements }) => elements.some((one) => rulesOf(one).grain > 1),
  'a regulator': has('port', ({ regulator }) => regulator !== null),
  'a limit on bursts in flight': has('port', ({ inFlight }) => inFlight < Infinity),
  'return space': has('port', ({ returnSpaceBytes }) => returnSpaceBytes < Infinity),
  'a QoS of a port': has('port', ({ qos }) => qos !== null),
  'a write that starts with its first beat': has('port', ({ writeStart }) => writeStart === 'first_beat'),
  'a port with two outputs': has('port', ({ to }) => to.length > 1),
  'structural caches': has('coherence', ({ model }) => model === 'structural'),
  'statistical caches': has('coherence', ({ model }) => model === 'statistical'),
  'an inclusive cache': has('coherence', ({ l2 }) => l2.inclusive),
  'a cache that is not inclusive': has('coherence', ({ l2 }) => !l2.inclusive),
  ...Object.fromEntries(
    (['lru', 'tree_plru', 'fifo', 'random'] as const).map((rule) => [
      `replacement by ${rule}`,
      has('coherence', ({ l2 }) => l2.replacement === rule),
    ]),
  ),
  'partial writes that fetch': has('coherence', ({ partialWriteMiss }) => partialWriteMiss === 'fetch'),
  'partial writes that go through': has('coherence', ({ partialWriteMiss }) => partialWriteMiss === 'through'),
  'a coherent port': (system) =>
    system.masters.some((master) => master.core === null && endsIn(system, master, 'coherence')),
  'a core with a private cache': (system) =>
    system.masters.some((master) => master.core !== null && endsIn(system, master, 'coherence')),
  'a core past the caches': (system) =>
    system.masters.some((master) => master.core !== null && !endsIn(system, master, 'coherence')),
  'a core that merges stores': (system) =>
    system.masters.some((master) => master.core !== null && bufferOf(system, master).cached === 'combine'),
  'several cores': ({ masters }) => masters.filter(({ core }) => core !== null).length > 1,
  'a cached buffer past the caches': (system) =>
    system.elements.some(({ kind }) => kind === 'coherence') &&
    system.masters.some((master) => bufferOf(system, master).cached === 'yes' && !endsIn(system, master, 'coherence')),
  'memory on the chip': (system) => system.masters.some((master) => endsIn(system, master, 'onchip')),
  'banks on the chip': has('onchip', ({ banks }) => banks > 1),
  'a device': (system) => system.masters.some((master) => endsIn(system, master, 'device')),
  'a device with several servers': has('device', ({ servers }) => servers > 1),
  'a device with a bounded queue': has('device', ({ queueDepth }) => queueDepth < Infinity),
  'a device that loses': has('device', ({ full, queueDepth }) => full === 'lose' && queueDepth < Infinity),
  'a device without clock': has('device', ({ clock }) => clock === null),
  'a master wired to a device': (system) =>
    system.masters.some(({ attach }) => system.elements.some(({ name, kind }) => name === attach && kind === 'device')),
  'a master without clock': ({ masters }) => masters.some(({ clock }) => clock === null),
  ...Object.fromEntries(
    (['DDR2', 'DDR3', 'DDR4', 'LPDDR2-S4', 'LPDDR4', 'LPDDR4X'] as const).map((standard) => [
      standard,
      has('ddr', ({ timing }) => timing.standard === standard),
    ]),
  ),
  'DRAM out of order': has('ddr', ({ scheduler }) => scheduler === 'out_of_order'),
  'DRAM in order': has('ddr', ({ scheduler }) => scheduler === 'in_order'),
  'open pages': has('ddr', ({ page }) => page.policy === 'open'),
  'closed pages': has('ddr', ({ page }) => page.policy === 'closed'),
  'pages with a time-out': has('ddr', ({ page }) => page.policy === 'timeout'),
  'refresh of all banks': has('ddr', ({ refresh }) => refresh.mode === 'all_bank'),
  'refresh bank by bank': has('ddr', ({ refresh }) => refresh.mode === 'per_bank'),
  'no refresh': has('ddr', ({ refresh }) => refresh.mode === 'off'),
  'postponed refresh': has('ddr', ({ refresh }) => refresh.postpone > 0),
  'two ranks': has('ddr', ({ ranks }) => ranks > 1),
  'several channels': has('ddr', ({ channels }) => channels > 1),
  'channels that the mapping names': has('ddr', ({ mapping }) => mapping.some(({ field }) => field === 'channel')),
  'hashed banks': has('ddr', ({ bankHash }) => bankHash),
  'activates first': has('ddr', ({ activateFirst }) => activateFirst),
  'order kept by the memory': ({ masters }) => masters.some(({ sameIdOrder }) => sameIdOrder === 'memory'),
  ...Object.fromEntries(
    (['steady', 'poisson', 'periodic', 'on_off', 'greedy', 'dependent'] as const).map((process) => [
      `${process} requests`,
      ({ masters }: SystemSpec) => masters.some(({ issue }) => issue.process === process),
    ]),
  ),
  ...Object.fromEntries(
    (['sequential', 'strided', 'random', 'zipf', 'chain'] as const).map((pattern) => [
      `${pattern} addresses`,
      ({ masters }: SystemSpec) => masters.some((master) => master.pattern.pattern === pattern),
    ]),
  ),
  ...Object.fromEntries(
    (['fixed', 'uniform', 'exponential', 'geometric', 'lognormal', 'table'] as const).map((kind) => [
      `${kind} sizes`,
      ({ masters }: SystemSpec) => masters.some(({ size }) => size.kind === kind),
    ]),
  ),
  ...Object.fromEntries(
    (['none', 'barrier', 'clean', 'clean_invalidate', 'invalidate'] as const).map((care) => [
      `hand-overs with ${care}`,
      ({ tasks }: SystemSpec) =>
        tasks.some(({ steps }) => steps.some((step) => step.do === 'pass' && step.care === care)),
    ]),
  ),
  'a flag that is polled': ({ tasks }) => tasks.some(({ steps }) => steps.some((step) => step.do === 'poll')),
  'a task after another': ({ tasks }) => tasks.some(({ trigger }) => trigger.process === 'after'),
  'a task over several masters': ({ tasks }) =>
    tasks.some(({ steps }) => new Set(steps.flatMap((step) => ('master' in step ? [step.master] : []))).size > 1),
  'several IDs': ({ masters }) => masters.some(({ ids }) => ids > 1),
  'requests that are dropped when full': ({ masters }) => masters.some(({ whenFull }) => whenFull === 'drop'),
  'a window after a warm-up': ({ run }) => (run.warmupPs ?? 0) > 0,
};

type Kind = ElementSpec['kind'];

function has<K extends Kind>(
  kind: K,
  test: (element: Extract<ElementSpec, { kind: K }>) => boolean,
): (system: SystemSpec) => boolean {
  return ({ elements }) => elements.some((one) => one.kind === kind && test(one as Extract<ElementSpec, { kind: K }>));
}

function switches(count: number): (system: SystemSpec) => boolean {
  return ({ elements }) => elements.filter(({ kind }) => kind === 'switch').length === count;
}

function rulesOf(element: ElementSpec) {
  return element.kind === 'device' ? element.discipline : element.arbitration;
}

const bufferOf = (system: SystemSpec, { buffer }: MasterSpec) => system.buffers.find(({ name }) => name === buffer)!;

function endsIn(system: SystemSpec, master: MasterSpec, kind: Kind): boolean {
  const end = pathOf(system, master)!.at(-1)!;
  return end.element.kind === kind && end.way !== 'bypass';
}

interface Side {
  readonly clock: string | null;
  readonly widthBytes: number;
}

/** Does a test hold between two neighbours on the way of some master? */
function widths(system: SystemSpec, test: (from: Side, to: Side) => boolean): boolean {
  return system.masters.some((master) => {
    const sides: Side[] = [master, ...pathOf(system, master)!.map(({ element }) => element)];
    return sides.some((side, i) => i > 0 && test(sides[i - 1]!, side));
  });
}

/** Counts how many platforms had each feature. */
export class Coverage {
  platforms = 0;
  readonly counts = new Map<string, number>(Object.keys(FEATURES).map((name) => [name, 0]));

  add(system: SystemSpec): void {
    this.platforms++;
    for (const [name, test] of Object.entries(FEATURES)) {
      if (test(system)) this.counts.set(name, this.counts.get(name)! + 1);
    }
  }

  /** Features that no platform had. */
  get missing(): string[] {
    return [...this.counts].filter(([, count]) => count === 0).map(([name]) => name);
  }

  /** One line a feature, the rarest first. */
  text(): string {
    const lines = [...this.counts]
      .toSorted((a, b) => a[1] - b[1])
      .map(([name, count]) => `${String(count).padStart(7)}  ${name}`);
    return [`features of ${this.platforms} platforms:`, ...lines].join('\n');
  }
}
