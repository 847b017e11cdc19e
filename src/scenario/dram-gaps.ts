import { type DramInputs, valueOf } from './dram-grade.js';
import type { DramTimingSpec } from './scenario.js';

type GapInputs = Pick<
  DramTimingSpec,
  'burstLength' | 'nCL' | 'nCWL' | 'nCCD_S' | 'nWR' | 'nWRauto' | 'nWTR_S' | 'nWTR_L' | 'nRTP' | 'nDQSCK'
>;

/**
 * Command-to-command gaps in clocks, same rank, additive latency 0.
 *
 * Published: DDR3 in Alliance AS4C512M16D3L Rev 2.0 p.157; DDR4 in Micron 4Gb DDR4 Rev G p.205; LPDDR2 write to read in
 * Micron 2Gb LPDDR2-S4 Rev N Table 43; DDR2 write to precharge in Samsung K4N51163QC Rev 1.5 p.46; LPDDR4 read to write
 * as quoted from the standard in the Infineon LPDDR4 driver. From memory of the standards: DDR2 and LPDDR2 read to
 * write, LPDDR4 write to read, and read to precharge of DDR2, LPDDR2 and LPDDR4.
 */
export function commandGaps(inputs: DramInputs, clocks: GapInputs) {
  // LPDDR writes start a clock after WL
  const writeEnd = clocks.nCWL + clocks.burstLength / 2 + (inputs.standard.startsWith('LPDDR') ? 1 : 0);
  const gaps = {
    nReadToWrite: clocks.nCL - clocks.nCWL + readToWriteData(inputs, clocks),
    nWriteToRead_S: writeEnd + clocks.nWTR_S,
    nWriteToRead_L: writeEnd + clocks.nWTR_L,
    nReadToPrecharge: readToPrecharge(inputs, clocks),
    nWriteToPrecharge: writeEnd + clocks.nWR,
    nWriteToAutoPrecharge: writeEnd + clocks.nWRauto,
  };
  // a write latency far above the read latency must not let a write go before its read
  return { ...gaps, nReadToWrite: Math.max(1, gaps.nReadToWrite) };
}

/** From the first clock of read data to the first of write data: the data itself, preambles and the turn of the bus. */
function readToWriteData(inputs: DramInputs, { burstLength, nCCD_S, nDQSCK }: GapInputs): number {
  const data = burstLength / 2;
  const preamble = preambleOf(inputs);
  switch (inputs.standard) {
    case 'DDR2':
      return data + 1;
    case 'DDR3':
      // burst chop 4 on the fly halves tCCD in this formula
      return (burstLength === 4 ? Math.ceil(nCCD_S / 2) : nCCD_S) + 2;
    case 'LPDDR2-S4':
      return nDQSCK + data + 1;
    case 'LPDDR4':
    case 'LPDDR4X':
      // the read postamble is half a clock, which the standard rounds down
      return nDQSCK + data + preamble;
    case 'DDR4':
    case 'custom':
      return nDQSCK + data + 1 + preamble;
  }
}

/** Clocks of write preamble: 1 (DDR4, no grade) or 2 (LPDDR4) unless stated; the other standards have no choice. */
function preambleOf(inputs: DramInputs): number {
  const { standard } = inputs;
  const chosen = valueOf(inputs, 'write_preamble');
  const hasChoice = standard === 'DDR4' || standard === 'custom' || standard.startsWith('LPDDR4');
  if (chosen !== undefined && !hasChoice) throw new RangeError(`write_preamble must not be stated for ${standard}`);
  return chosen ?? (standard.startsWith('LPDDR4') ? 2 : 1);
}

function readToPrecharge(inputs: DramInputs, { burstLength, nRTP }: GapInputs): number {
  const data = burstLength / 2;
  switch (inputs.standard) {
    case 'DDR2':
    case 'LPDDR2-S4':
      return data + Math.max(2, nRTP) - 2;
    case 'LPDDR4':
    case 'LPDDR4X':
      return data + Math.max(8, nRTP) - 8;
    case 'DDR3':
    case 'DDR4':
    case 'custom':
      return nRTP;
  }
}
