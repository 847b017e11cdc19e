import { type Area, judge } from '../outside-check.js';
import { fixedPriorityChecks } from './fixed-priority.js';
import { meanBoundChecks } from './mean-bounds.js';
import { rateLatencyChecks } from './rate-latency.js';
import { roundRobinChecks } from './round-robin.js';
import { sharedLinkChecks } from './shared-link.js';
import { timeSlotChecks } from './time-slots.js';

const PARTS = [
  roundRobinChecks,
  fixedPriorityChecks,
  rateLatencyChecks,
  sharedLinkChecks,
  timeSlotChecks,
  meanBoundChecks,
];

/** Worst-case bounds: never passed, and reached or nearly so by an adversarial load. */
export const bounds: Area = {
  name: 'bounds',
  title: 'the largest delay seen against worst-case bounds, and how near an adversarial load comes',
  run(depth, progress) {
    const found = PARTS.flatMap((part, done) => {
      const checks = part(depth);
      progress((done + 1) / PARTS.length);
      return checks;
    });
    return found.map((comparison) => judge('bounds', comparison));
  },
};
