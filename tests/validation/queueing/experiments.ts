import type { Case } from './case-file.js';
import type { Experiment } from './experiment.js';
import { conservation, priorities } from './class-cases.js';
import { closedNetwork, deterministicLoop, machineRepair } from './closed-cases.js';
import { saturatedCrossbar } from './crossbar-cases.js';
import { saturationShares } from './share-cases.js';
import { forkJoin } from './fork-join-cases.js';
import { tandem } from './tandem-cases.js';
import { whyNotCompared } from './inexpressible.js';
import { erlangLoss, finiteQueue, pausingSource } from './loss-cases.js';
import {
  batchQueue,
  discreteQueue,
  onOffQueue,
  poissonQueue,
  poissonQueueAndBackPressure,
  renewalQueue,
} from './queue-cases.js';

/** How the cases of each family are run. */
const FAMILIES = new Map<string, (one: Case) => Experiment[]>([
  ['mm1', poissonQueueAndBackPressure],
  ['md1', poissonQueueAndBackPressure],
  ['mg1', poissonQueue],
  ['mek1', poissonQueue],
  ['mhk1', poissonQueue],
  ['gim1', renewalQueue],
  ['onoff', onOffQueue],
  ['mmc', poissonQueue],
  ['mdc', poissonQueue],
  ['mm1k', finiteQueue],
  ['md1k', finiteQueue],
  ['erlangb', erlangLoss],
  ['pausing_source', pausingSource],
  ['priority', priorities],
  ['conservation', conservation],
  ['machine_repair', machineRepair],
  ['det_loop', deterministicLoop],
  ['closed_network', closedNetwork],
  ['tandem', tandem],
  ['fork_join', forkJoin],
  ['crossbar_saturation', saturatedCrossbar],
  ['saturation', saturationShares],
  ['batch', batchQueue],
  ['discrete', discreteQueue],
]);

/** The experiments of a case, over the values that can be compared; none where the model cannot express it. */
export function experimentsOf(one: Case): Experiment[] {
  const values = one.values.filter((published) => whyNotCompared(one, published) === null);
  return FAMILIES.get(one.family)?.({ ...one, values }) ?? [];
}
