import { bounds } from './bounds/area.js';
import { bus } from './bus/area.js';
import { caches } from './caches/area.js';
import { legality } from './dram/legality-area.js';
import { memory } from './dram/memory-area.js';
import type { Area } from './outside-check.js';
import { queueing } from './queueing/queueing.js';
import { trade } from './trade/area.js';

/** All areas, in the order of the table. */
export const AREAS: readonly Area[] = [queueing, memory, legality, bus, caches, bounds, trade];
