/**
 * The normalised scenario: what reading a file gives, with every default filled and every quantity in one canonical
 * unit, so that nothing after this asks whether an option was given.
 *
 * Canonical units: time in picoseconds (`…Ps`), sizes in bytes (`…Bytes`), rates in bytes per second
 * (`…BytesPerS`), cycles as whole counts (`…Cycles`), shares as 0 to 1.
 *
 * What a key of the file gives is typed by the schema (`schema/`), where its meaning stands; here is what is worked out.
 */
import type * as z from 'zod';
import type { arbitration } from './schema/arbitration.js';
import type { budgetSchema, metricSchema } from './schema/budget.js';
import type { l1Schema } from './schema/cache.js';
import type { coherenceSchema } from './schema/coherence.js';
import type { AddressField, ddrSchema } from './schema/ddr.js';
import type { deviceSchema } from './schema/device.js';
import type { Distribution } from './schema/distribution.js';
import type { issueSchema, Pace } from './schema/issue.js';
import type { CoreKeys, masterSchema } from './schema/master.js';
import type { onChipSchema } from './schema/on-chip.js';
import type { patternSchema } from './schema/pattern.js';
import type { placeSchema } from './schema/place.js';
import type { portSchema } from './schema/port.js';
import type { runSchema } from './schema/run.js';
import type { switchSchema } from './schema/switch.js';
import type { taskSchema } from './schema/task.js';

/** A named clock; its period is the reduced fraction numerator/denominator of a picosecond. */
export interface ClockSpec {
  name: string;
  numerator: number;
  denominator: number;
}

/**
 * A distribution of a non-negative quantity in the canonical unit of the key that holds it. A geometric takes `unit`
 * times a count from 1 on whose mean is `mean`; `spread` of a lognormal is its deviation over its mean.
 */
export type DistributionSpec = Distribution;

/** Arbitration at one output; `grain` is how many bursts in a row one grant round gives to the same input. */
export type ArbitrationSpec = z.output<ReturnType<typeof arbitration>>;

export type CacheSpec = z.output<typeof l1Schema>;
export type Replacement = CacheSpec['replacement'];

interface Named {
  name: string;
}

export interface LinkSpec {
  /** Names of the elements that this element's outputs lead to, in output order. */
  to: string[];
}

/** Where masters enter the system. */
export interface PortSpec extends Named, z.output<typeof portSchema> {}

/** A crossbar. */
export interface SwitchSpec extends Named, z.output<typeof switchSchema> {}

/** The unit that cores and coherent ports share: tag pipeline, L2 and the way past it to uncached targets. */
export interface CoherenceSpec extends Named, z.output<typeof coherenceSchema> {}

type DdrKeys = z.output<typeof ddrSchema>;
type OpenDdrKeys = 'grade' | 'deviceBytes' | 'densityGbit' | 'busBytes' | 'overrides' | 'size' | 'order';

/** DRAM controller with its channels; `clock` is that of its front end and return, the DRAM clock is in `timing`. */
export interface DdrSpec extends Named, Omit<DdrKeys, OpenDdrKeys> {
  bytes: number;
  timing: DramTimingSpec;
  /**
   * Fields of the address, most significant first, each of which may appear several times.
   *
   * The address counts from the start of the memory. Unless `channel` is among the fields, the channel is (address /
   * interleaveBytes) mod channels, and those granules are taken out: address within the channel = granule / channels ×
   * interleaveBytes + offset in the granule. What is then above one DRAM burst (busBytes × burstLength) is cut into the
   * fields: together they cover the bits from log2(busBytes × burstLength) to log2(bytes / channels), or to log2(bytes)
   * where `channel` is among them. `column` counts whole DRAM bursts within a row, `bank` banks within their group.
   */
  mapping: { field: AddressField; bits: number }[];
}

/** DRAM timing in DRAM clocks (`n…`), derived from a grade and overrides; periods stay exact. */
export interface DramTimingSpec {
  grade: string | null;
  standard: 'DDR2' | 'DDR3' | 'DDR4' | 'LPDDR2-S4' | 'LPDDR4' | 'LPDDR4X' | 'custom';
  /** DRAM clock period as a reduced fraction of a picosecond. */
  tckNumerator: number;
  tckDenominator: number;
  busBytes: number;
  deviceBits: number;
  burstLength: number;
  banks: number;
  bankGroups: number;
  /** Bytes of one row over the whole bus width. */
  rowBytes: number;
  nCL: number;
  nCWL: number;
  nRCD: number;
  nRP: number;
  nRPab: number;
  nRAS: number;
  nRC: number;
  nRRD_S: number;
  nRRD_L: number;
  nFAW: number;
  nCCD_S: number;
  nCCD_L: number;
  nWR: number;
  /** Write recovery that the device itself takes before an auto-precharge. */
  nWRauto: number;
  nWTR_S: number;
  nWTR_L: number;
  nRTP: number;
  nRFC: number;
  nRFCpb: number;
  /** At most eight refreshes of a rank in so many clocks (LPDDR2); 0: no such rule. */
  refreshBurstClocks: number;
  /** Refresh interval in picoseconds (not rounded to clocks). */
  tREFIps: number;
  /** Read data start after CL: whole clocks of tDQSCK (LPDDR), else 0. */
  nDQSCK: number;
  /** Command gaps, same rank, that the standard states as formulas. */
  nReadToWrite: number;
  nWriteToRead_S: number;
  nWriteToRead_L: number;
  nReadToPrecharge: number;
  nWriteToPrecharge: number;
  /** From a write with auto-precharge to the precharge inside the device. */
  nWriteToAutoPrecharge: number;
  /** Idle clocks between data of different ranks. */
  nRankGap: number;
  /** Clocks that one activate, and one read or write command, occupy on the command bus (LPDDR4: 4). */
  activateClocks: number;
  columnClocks: number;
}

/** A memory on the chip. */
export interface OnChipSpec extends Named, z.output<typeof onChipSchema> {}

/** A slave with servers. */
export interface DeviceSpec extends Named, z.output<typeof deviceSchema> {}

export type ElementSpec = PortSpec | SwitchSpec | CoherenceSpec | DdrSpec | OnChipSpec | DeviceSpec;

export interface BufferSpec {
  name: string;
  /** Memory or device that holds it. */
  memory: string;
  /** Address within that memory. */
  baseBytes: number;
  bytes: number;
  cached: 'yes' | 'no' | 'combine';
}

/** How often an open source issues: by rate, or by the time between requests. */
export type PaceSpec = Pace;

export type { TraceEntry } from './schema/issue.js';
export type IssueSpec = z.output<typeof issueSchema>;
export type PatternSpec = z.output<typeof patternSchema>;

type MasterKeys = z.output<typeof masterSchema>;

export interface MasterSpec extends Named, Omit<MasterKeys, 'width' | 'size' | 'hitRatio' | 'clock'> {
  /** null: unclocked. */
  clock: string | null;
  widthBytes: number;
  /** Bytes of a request. */
  size: DistributionSpec;
  /** Hit ratio of its lookups under the statistical cache model; 0 where it has none. */
  hitRatio: number;
  /** What tasks ask of it, beside what it wants itself. */
  asked: { reads: boolean; writes: boolean };
}

export type CoreSpec = CoreKeys;

export type RunSpec = z.output<typeof runSchema>;

type TaskKeys = z.output<typeof taskSchema>;

/** The bytes that a step works on: of the n-th instance those at `startBytes + (n mod places) × bytes` of the memory. */
export interface PartSpec {
  buffer: string;
  startBytes: number;
  bytes: number;
  places: number;
}

/** What a core does to the lines of a buffer that it hands over or takes back; after each but `none` stands a barrier. */
export type Care = 'none' | 'barrier' | 'clean' | 'clean_invalidate' | 'invalidate';

/** One step, worked out for a placement. */
export type StepSpec =
  | { do: 'access'; master: string; write: boolean; part: PartSpec; accessBytes: number }
  /** Read every so often from the end of step `since` on (−1: from the start), until the flag is set. */
  | { do: 'poll'; master: string; part: PartSpec; everyPs: number; since: number }
  | { do: 'wait'; time: DistributionSpec }
  /** `core`: who does the work; null where no core is on either side, which costs nothing. */
  | { do: 'pass'; core: string | null; part: PartSpec; care: Care };

/** Work that crosses masters. */
export interface TaskSpec extends Named, Omit<TaskKeys, 'steps'> {
  steps: StepSpec[];
}

/** What a system must keep to: a percentile of latency, a bandwidth, a utilisation. */
export type BudgetSpec = Named & z.output<typeof budgetSchema>;

/** What two systems are compared by. */
export type MetricSpec = Named & z.output<typeof metricSchema>;

/** One placement, fully resolved: the platform and the traffic of one simulated system. */
export interface SystemSpec {
  placement: string;
  clocks: Map<string, ClockSpec>;
  /** Ports, switches, coherence units, memories, devices, each kind as declared; index here is the element's number. */
  elements: ElementSpec[];
  buffers: BufferSpec[];
  masters: MasterSpec[];
  tasks: TaskSpec[];
  budgets: BudgetSpec[];
  /** As the file asks for; empty: the usual ones. */
  metrics: MetricSpec[];
  run: RunSpec;
}

/** What `place` looks for: who may attach where, and what is best. */
export interface PlaceSpec extends Omit<z.output<typeof placeSchema>, 'best'> {
  readonly best: MetricSpec;
}

/** A file: one system per placement, at least one. */
export interface Scenario {
  name: string;
  /** What the author says it answers. */
  title: string;
  systems: SystemSpec[];
  /** null: the file asks for no search. */
  place: PlaceSpec | null;
  /** Things a reader should know that are not errors. */
  notes: string[];
}
