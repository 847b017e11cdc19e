import { type Area, judge } from '../outside-check.js';
import { coherentPortChecks } from './coherent-port.js';
import { disjointPairChecks } from './disjoint-pairs.js';
import { onChipChecks } from './on-chip-jitter.js';
import { peakChecks } from './peaks.js';

const PARTS = [peakChecks, coherentPortChecks, onChipChecks, disjointPairChecks];

/** Facts that the trade takes for granted; common practice, without a source. */
export const trade: Area = {
  name: 'trade',
  title: 'peaks of channels, coherent port, on-chip memory and crossbar, as common practice has them',
  run(depth, progress) {
    const found = PARTS.flatMap((part, done) => {
      const checks = part(depth);
      progress((done + 1) / PARTS.length);
      return checks;
    });
    return found.map((comparison) => judge('trade', comparison));
  },
};
