import { buffer, clock, crossbar, type Done, master, onChip, port, run, sorted, system } from '../../model/platform.js';
import type { Comparison, Depth } from '../outside-check.js';
import { COMMON_PRACTICE } from './common-practice.js';

/** Masters that read and write as fast as they can through one crossbar, alone and all at once. */

const PAIRS = 4;
const DURATION_PS = { quick: 3e6, full: 6e7 };
/** With one output for all, a master takes its turn among four: it gets no more than this share of what it had alone. */
const SHARED = 0.35;

/** Pairs that share neither input nor output leave each other's every burst as it was; pairs that share an output do not. */
export function disjointPairChecks(depth: Depth): Comparison[] {
  const all = Array.from({ length: PAIRS }, (_, pair) => pair);
  const together = bursts(all, (pair) => pair, DURATION_PS[depth]);
  const sharing = bursts(all, () => 0, DURATION_PS[depth]);
  const common = { source: COMMON_PRACTICE };
  return all.flatMap((pair): Comparison[] => {
    const alone = bursts([pair], () => pair, DURATION_PS[depth])[0]!;
    const aloneAtShared = bursts([pair], () => 0, DURATION_PS[depth])[0]!;
    return [
      {
        ...common,
        check: `crossbar pair ${pair}: bursts that take as long among disjoint pairs as alone`,
        unit: 'bursts',
        expected: alone.length,
        measured: together[pair]!.filter((burst, n) => sameTimes(burst, alone[n])).length,
      },
      {
        check: `crossbar pair ${pair}: bursts beside pairs that share its output, as a share of those alone`,
        source: 'so that the check above means something',
        unit: 'share',
        expected: SHARED,
        measured: sharing[pair]!.length / aloneAtShared.length,
        relation: 'at_most',
      },
    ];
  });
}

const sameTimes = (one: Done, other: Done | undefined): boolean =>
  other !== undefined && one.wantedAt === other.wantedAt && one.doneAt === other.doneAt;

/** By pair: every burst of a master at input `pair` that goes to some output. */
function bursts(pairs: readonly number[], outputOf: (pair: number) => number, durationPs: number): Done[][] {
  const outputs = Array.from({ length: PAIRS }, (_, n) => `ram${n}`);
  const common = { clock: 'bus', queueDepth: 16 };
  const spec = system(
    [
      ...outputs.map((_, n) => port(`p${n}`, ['x'], common)),
      crossbar('x', outputs, common),
      ...outputs.map((name) => onChip(name, common)),
    ],
    outputs.map((name) => buffer(name, name)),
    pairs.map((pair) =>
      master(`m${pair}`, `p${pair}`, outputs[outputOf(pair)]!, {
        clock: 'bus',
        readShare: 0.5,
        maxReads: 16,
        maxWrites: 16,
        burstBeats: 16,
        size: { kind: 'uniform', low: 1, high: 256 },
        issue: { process: 'greedy' },
      }),
    ),
    [clock('bus', 2500)],
  );
  const { log } = run({ ...spec, run: { ...spec.run, durationPs } });
  const done = sorted(log.done);
  return pairs.map((_, i) => done.filter((one) => one.master === i && one.doneAt < durationPs));
}
