import type { Area } from './outside-check.js';
import { queueing } from './queueing/queueing.js';

/** All areas, in the order of the table. */
export const AREAS: readonly Area[] = [queueing];
