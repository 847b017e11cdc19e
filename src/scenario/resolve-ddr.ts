import type { Problem, ProblemCode } from '../errors.js';
import { chooseGrade, gradeCalls } from './dram-choice.js';
import { filledMapping, mappingFault, type FieldBits } from './dram-mapping.js';
import { timingOf } from './dram-timing.js';
import type { DdrKeys, Parsed } from './parse-system.js';
import { problemAt } from './problem.js';
import type { TimingOverrides } from './schema/dram-timing.js';
import type { DdrSpec, DramTimingSpec } from './scenario.js';
import { suggestion } from './suggestion.js';
import { child, shown, type Tree } from './tree.js';

type Entry = Parsed<DdrKeys> & { readonly keys: DdrKeys };

/** A memory controller with its timing, size and address mapping; undefined where these cannot be worked out. */
export function resolveDdr(entry: Entry, problems: Problem[]): DdrSpec | undefined {
  return new Resolver(entry, problems).resolve();
}

/** Parameters that have no meaning when left out, where no grade gives them. */
const REQUIRED = [
  ...([
    'CL',
    'CWL',
    'tRCD',
    'tRP',
    'tRAS',
    'tRRD_S',
    'tFAW',
    'tCCD_S',
    'tWR',
    'tWTR_S',
    'tRTP',
    'tRFC',
    'tREFI',
  ] as const),
  ...(['burst_length', 'banks', 'page_size'] as const),
];

class Resolver {
  private readonly keys: DdrKeys;
  private faults = 0;

  constructor(
    private readonly entry: Entry,
    private readonly problems: Problem[],
  ) {
    this.keys = entry.keys;
  }

  resolve(): DdrSpec | undefined {
    const device = this.device();
    if (device === undefined) return undefined;
    const timing = this.timing(device);
    if (timing === undefined) return undefined;
    const bytes = this.bytes(timing, device.densityGbit);
    if (bytes === undefined) return undefined;
    const mapping = this.mapping(timing, bytes);
    this.checkRest(timing);
    if (this.faults > 0 || mapping === undefined) return undefined;
    const {
      grade: _g,
      deviceBytes: _w,
      densityGbit: _d,
      busBytes: _b,
      overrides: _o,
      size: _s,
      order: _m,
      ...rest
    } = this.keys;
    return { name: this.entry.name, ...rest, bytes, timing, mapping };
  }

  private fault(key: string, code: ProblemCode, message: string, hint: string): undefined {
    this.faults++;
    const { tree, key: own } = this.entry;
    const at: Tree | undefined = child(tree, key);
    const place = at?.place ?? { ...own, path: `${own.path}.${key}` };
    this.problems.push(problemAt(place, code, message, at?.kind === 'scalar' ? shown(at) : null, hint));
    return undefined;
  }

  /** Grade, device width and density that are meant. */
  private device(): { grade: string | null; deviceBits: number | null; densityGbit: number | null } | undefined {
    const { grade, deviceBytes, densityGbit, busBytes } = this.keys;
    const deviceBits = deviceBytes === null ? null : deviceBytes * 8;
    if (grade === null) return { grade, deviceBits, densityGbit };
    const calls = gradeCalls();
    if (!calls.includes(grade)) {
      return this.fault('grade', 'unknown_name', `unknown speed grade '${grade}'`, suggestion(grade, calls));
    }
    try {
      return chooseGrade(grade, busBytes * 8, deviceBits, densityGbit);
    } catch (error) {
      return this.explained(error, 'grade');
    }
  }

  private timing({
    grade,
    deviceBits,
    densityGbit,
  }: {
    grade: string | null;
    deviceBits: number | null;
    densityGbit: number | null;
  }): DramTimingSpec | undefined {
    const { overrides, busBytes } = this.keys;
    const period = overrides.tCK ?? overrides.rate;
    if (overrides.tCK !== undefined && overrides.rate !== undefined) {
      return this.fault('timing', 'conflict', `must have tCK or rate, not both`, 'delete one');
    }
    if (grade === null && !this.hasAll(overrides, deviceBits)) return undefined;
    const values = overrideValues(overrides);
    if (grade === null) values.set('device_bits', deviceBits!);
    if (period !== undefined) values.set('tCK', period.numerator / period.denominator);
    try {
      const timing = timingOf(grade, { busBytes, densityGbit, overrides: values });
      // the fraction itself, which the value in picoseconds may only come near
      if (period !== undefined) [timing.tckNumerator, timing.tckDenominator] = [period.numerator, period.denominator];
      return timing;
    } catch (error) {
      return this.explained(error, 'timing');
    }
  }

  private hasAll(overrides: TimingOverrides, deviceBits: number | null): boolean {
    const missing: string[] = REQUIRED.filter((name) => overrides[name] === undefined);
    if (overrides.tCK === undefined && overrides.rate === undefined) missing.unshift('tCK');
    if (deviceBits === null)
      this.fault('device', 'missing_key', 'is missing, as there is no grade', `add e.g. 'device: 16 bit'`);
    if (missing.length > 0) {
      const message = `must have ${missing.join(', ')} too, as there is no grade`;
      this.fault('timing', 'missing_key', message, `add them, or 'grade: DDR3-1600K'`);
    }
    return missing.length === 0 && deviceBits !== null;
  }

  /** A sentence of the DRAM tables at the key that it is about. */
  private explained(error: unknown, key: string): undefined {
    if (!(error instanceof RangeError)) throw error;
    return this.fault(key, 'bad_timing', error.message, '');
  }

  private bytes(timing: DramTimingSpec, densityGbit: number | null): number | undefined {
    const { ranks, channels, size } = this.keys;
    if (densityGbit === null) {
      return (
        size ?? this.fault('size', 'missing_key', 'is missing, as there is no density', `add e.g. 'size: 512 MiB'`)
      );
    }
    const devices = (timing.busBytes * 8) / timing.deviceBits;
    const held = (densityGbit * 2 ** 30 * devices * ranks * channels) / 8;
    if (size === null || size <= held) return size ?? held;
    return this.fault(
      'size',
      'out_of_range',
      `must be at most ${held} B, which the devices hold`,
      'raise density, ranks or channels',
    );
  }

  private mapping(timing: DramTimingSpec, bytes: number): DdrSpec['mapping'] | undefined {
    const { ranks, channels, order } = this.keys;
    const accessBytes = timing.busBytes * timing.burstLength;
    const exact = {
      rank: Math.log2(ranks),
      bankgroup: Math.log2(timing.bankGroups),
      bank: Math.log2(timing.banks / timing.bankGroups),
      column: Math.log2(timing.rowBytes / accessBytes),
    };
    for (const [field, bits] of Object.entries(exact)) {
      if (Number.isInteger(bits) && bits >= 0) continue;
      const key = field === 'rank' ? 'ranks' : 'timing';
      return this.fault(key, 'out_of_range', `must give a power of two of ${field}s`, 'write 1, 2, 4, 8 …');
    }
    const rows = bytes / channels / (ranks * timing.banks * timing.rowBytes);
    const row = Math.max(0, Math.ceil(Math.log2(rows)));
    const mapsChannel = order?.some(({ field }) => field === 'channel') ?? false;
    const channel = Math.log2(channels);
    if (mapsChannel && !Number.isInteger(channel)) {
      return this.fault(
        'channels',
        'out_of_range',
        'must be a power of two where mapping names channel',
        'use interleave',
      );
    }
    const geometry: FieldBits = { row, ...exact, channel };
    const mapping = filledMapping(order, geometry);
    const fault = mappingFault(mapping, geometry, accessBytes);
    if (fault !== null) return this.fault('mapping', 'bad_mapping', fault.message, fault.hint);
    if (!mapsChannel && channels > 1 && this.keys.interleaveBytes % accessBytes !== 0) {
      const rule = `must be a multiple of a DRAM burst of ${accessBytes} B`;
      return this.fault('interleave', 'out_of_range', rule, `write e.g. '${accessBytes * 4} B'`);
    }
    return mapping;
  }

  private checkRest(timing: DramTimingSpec): void {
    if (this.keys.refresh.mode !== 'per_bank' || timing.nRFCpb > 0) return;
    this.fault(
      'refresh',
      'conflict',
      'per_bank needs a grade with tRFCpb (LPDDR)',
      `write 'all_bank', or timing: {tRFCpb: …}`,
    );
  }
}

/** Names under which the tables of timings know some keys. */
const OTHER_NAMES = new Map([['page_size', 'page_bytes']]);
const SKIPPED = new Set(['tCK', 'rate', 'read_preamble']);

/** Overrides as the tables take them: times in ps by their name, times that were stated in clocks as `nRCD` for `tRCD`. */
function overrideValues(overrides: TimingOverrides): Map<string, number> {
  const values = new Map<string, number>();
  for (const [key, value] of Object.entries(overrides)) {
    if (SKIPPED.has(key) || value === undefined) continue;
    const name = OTHER_NAMES.get(key) ?? key;
    if (typeof value === 'number') values.set(name.startsWith('tCCD') ? `n${name.slice(1)}` : name, value);
    else if ('clocks' in value) values.set(`n${name.slice(1)}`, value.clocks);
    else if ('ps' in value) values.set(name, value.ps);
  }
  // data of another rank waits for its own preamble and a clock for the bus to turn
  if (overrides.read_preamble !== undefined && !values.has('rank_gap'))
    values.set('rank_gap', overrides.read_preamble + 1);
  return values;
}
