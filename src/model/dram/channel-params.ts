import type { Calendar } from '../../engine/calendar.js';
import type { Clock } from '../../engine/clock.js';
import type { DdrSpec } from '../../scenario/scenario.js';
import type { Probe } from '../probe.js';
import type { Window } from '../window.js';
import type { Access } from './access.js';
import type { Channel } from './channel.js';

/** Whoever sends accesses into a channel. Each access may be used again once its call returns. */
export interface ChannelOwner {
  /** The column command of `access` goes out at `clock` of the DRAM. */
  served(channel: Channel, access: Access, clock: number): void;
  /** A read was answered from the write queue, at `clock` of the DRAM. */
  covered(channel: Channel, access: Access, clock: number): void;
}

/** What a channel is made from. */
export interface ChannelParams {
  readonly calendar: Calendar;
  readonly probe: Probe;
  readonly window: Window;
  readonly spec: DdrSpec;
  /** The DRAM's clock, at its exact tCK. */
  readonly clock: Clock;
  /** Numbers of the element and of this channel in it, for the command log. */
  readonly element: number;
  readonly number: number;
  /** By rank: when its first refresh is due. */
  readonly phasesPs: readonly number[];
  readonly owner: ChannelOwner;
}
