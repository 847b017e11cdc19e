import type { ArbitrationSpec } from '../../../src/scenario/scenario.js';
import { roundRobin } from '../../model/platform.js';
import type { Comparison } from '../outside-check.js';
import { boundChecks, given, largest, rowsOf } from './bounded.js';
import { inputOf, type Resource, serve, type Served } from './served.js';

/** One master with a slot of a frame, alone: at every phase of the frame. */

/** Cycles from the instant at which a lone read is wanted until the switch sees it. */
const PIPELINE = 2;
/** A flow thinks of beats as of a fluid, that a slot can cut anywhere. */
const NEAR_AS_FLUID = 0.7;

/** Every row of time slots. */
export function timeSlotChecks(): Comparison[] {
  return rowsOf('tdm').flatMap((row) => {
    const [frame, slot, beats] = ['frame', 'slot', 'burst'].map((name) => given(row, name));
    const slots = { frame: frame!, slot: slot! };
    switch (row.text('metric')) {
      case 'wait_to_start_fit_rule':
        return boundChecks(row, { most: longestWait(slots, beats!), factor: 1 });
      case 'wait_to_start_slot_boundary':
        // a burst that fills its slot starts at the slot's first cycle or not at all
        return boundChecks(row, { most: longestWait(slots, slot!), factor: 1 });
      default: {
        const [sigma, rho] = [given(row, 'sigma'), given(row, 'rho')];
        const served = atEachPhase('switch addresses', slots, { beats: 1, times: sigma, pause: sigma / rho });
        const most = largest(served.map(({ wanted, end }) => end - wanted - PIPELINE));
        return boundChecks(row, { most, factor: NEAR_AS_FLUID });
      }
    }
  });
}

interface Slots {
  readonly frame: number;
  readonly slot: number;
}

function longestWait(slots: Slots, beats: number): number {
  const served = atEachPhase('switch data', slots, { beats, times: 1, pause: 0 });
  return largest(served.map(({ head, start }) => start - head));
}

/** So many bursts at once, at one phase of the frame after the other, with a pause of so many cycles at least. */
function atEachPhase(
  resource: Resource,
  { frame, slot }: Slots,
  { beats, times, pause }: { beats: number; times: number; pause: number },
): Served[] {
  const distance = (2 + Math.ceil(pause / frame)) * frame + 1;
  const wants = Array.from({ length: frame }, (_, turn) =>
    Array.from({ length: times }, () => ({ at: turn * distance, beats })),
  );
  const frameSlots = [
    { input: inputOf(0), cycles: slot },
    { input: null, cycles: frame - slot },
  ];
  const arbitration: ArbitrationSpec = { ...roundRobin, policy: 'time_slots', slots: frameSlots };
  return serve(resource, arbitration, [{ wants: wants.flat() }], frame * distance)[0]!;
}
