// Hot path: one decode per column access. Shifts and masks are worked out once; nothing is allocated per decode.
import type { DdrSpec } from '../../scenario/scenario.js';

/** Bits of a block number that fit the low half; the rest is reached by division, as numbers go up to 2^45. */
const HALF_BITS = 26;
const HALF = 2 ** HALF_BITS;

const FIELDS = ['row', 'rank', 'bankgroup', 'bank', 'column', 'channel'] as const;
const [ROW, RANK, GROUP, BANK, COLUMN, CHANNEL] = [0, 1, 2, 3, 4, 5];

/**
 * Where an address lies in the DRAM. `decode` leaves its answer in the fields.
 *
 * The address counts from the start of the memory. The interleave granule picks the channel and is taken out; what is
 * left, in blocks of one DRAM burst, is cut into the fields of the mapping, most significant first. A mapping that names
 * channel bits picks the channel itself, and the granule is not used.
 */
export class Mapping {
  channel = 0;
  rank = 0;
  group = 0;
  /** Bank within the rank: group × banks per group + bank within the group. */
  bank = 0;
  row = 0;
  /** In whole DRAM bursts. */
  column = 0;
  /** Bytes of one DRAM burst: one column access. */
  readonly accessBytes: number;

  /** The address that is looked for, and that which the fields are of. */
  private asked = 0.5;
  private decoded = -0.5;
  /** Blocks side by side that differ in their column only; 1 where that cannot be said, as with several channels. */
  private readonly run: number;
  /** The run that the fields lie in, and its first column. */
  private decodedRun = -1;
  private runColumn = 0;
  private readonly channels: number;
  private readonly granule: number;
  private readonly banksPerGroup: number;
  private readonly hashMask: number;
  // one entry per piece of a field that lies within one half of the block number, most significant first
  private readonly pieceField: Int32Array;
  private readonly pieceHigh: Uint8Array;
  private readonly pieceShift: Int32Array;
  private readonly pieceMask: Int32Array;
  private readonly pieceBits: Int32Array;
  private readonly value = new Int32Array(FIELDS.length);

  constructor(spec: DdrSpec) {
    const { timing, mapping } = spec;
    this.accessBytes = timing.burstLength * timing.busBytes;
    const mapped = mapping.some(({ field, bits }) => field === 'channel' && bits > 0);
    this.channels = mapped ? 1 : spec.channels;
    this.granule = spec.interleaveBytes;
    this.banksPerGroup = timing.banks / timing.bankGroups;
    this.hashMask = spec.bankHash ? timing.banks - 1 : 0;
    checkMapping(spec, mapped);
    const pieces = piecesOf(mapping);
    this.pieceField = Int32Array.from(pieces, (piece) => piece.field);
    this.pieceHigh = Uint8Array.from(pieces, (piece) => (piece.offset >= HALF_BITS ? 1 : 0));
    this.pieceShift = Int32Array.from(pieces, (piece) => piece.offset % HALF_BITS);
    this.pieceMask = Int32Array.from(pieces, (piece) => 2 ** piece.bits - 1);
    this.pieceBits = Int32Array.from(pieces, (piece) => piece.bits);
    const lowest = pieces.at(-1);
    this.run = this.channels === 1 && lowest?.field === COLUMN ? 2 ** lowest.bits : 1;
  }

  /** Finds the place of byte `address`, at most 2^45. */
  decode(address: number): void {
    this.asked = address;
    this.find();
  }

  /** The same for what lies so many bytes beyond an address in a column: a large one, if passed, is put on the heap. */
  decodeBeyond(addresses: Float64Array, at: number, bytes: number): void {
    this.asked = addresses[at]! + bytes;
    this.find();
  }

  private find(): void {
    const address = this.asked;
    if (address === this.decoded) return;
    this.decoded = address;
    let local = address;
    let channel = 0;
    if (this.channels > 1) {
      const granules = Math.floor(address / this.granule);
      const turn = Math.floor(granules / this.channels);
      channel = granules - turn * this.channels;
      local = turn * this.granule + (address - granules * this.granule);
    }
    const block = Math.floor(local / this.accessBytes);
    const run = Math.floor(block / this.run);
    if (this.run > 1 && run === this.decodedRun) {
      this.column = this.runColumn + (block - run * this.run);
      return;
    }
    this.decodeBlock(block, channel);
    this.decodedRun = run;
    this.runColumn = this.column - (block - run * this.run);
  }

  private decodeBlock(block: number, channel: number): void {
    const { value, pieceField, pieceHigh, pieceShift, pieceMask, pieceBits } = this;
    const high = Math.floor(block / HALF);
    const low = block - high * HALF;
    for (let field = 0; field < value.length; field++) value[field] = 0;
    for (let i = 0; i < pieceField.length; i++) {
      const half = pieceHigh[i] === 1 ? high : low;
      const field = pieceField[i]!;
      value[field] = (value[field]! << pieceBits[i]!) | ((half >>> pieceShift[i]!) & pieceMask[i]!);
    }
    this.row = value[ROW!]!;
    this.rank = value[RANK!]!;
    this.column = value[COLUMN!]!;
    this.channel = channel + value[CHANNEL!]!;
    const bank = value[GROUP!]! * this.banksPerGroup + value[BANK!]!;
    this.bank = bank ^ (this.row & this.hashMask);
    this.group = Math.floor(this.bank / this.banksPerGroup);
  }
}

interface FieldPiece {
  readonly field: number;
  /** Lowest bit, in the block number. */
  readonly offset: number;
  readonly bits: number;
}

/** The fields with their offsets, most significant first; one that straddles the halves becomes two. */
function piecesOf(mapping: DdrSpec['mapping']): FieldPiece[] {
  const pieces: FieldPiece[] = [];
  let offset = 0;
  for (const { field, bits } of mapping.toReversed()) {
    const number = FIELDS.indexOf(field);
    const low = Math.max(0, Math.min(bits, HALF_BITS - offset));
    if (low > 0) pieces.unshift({ field: number, offset, bits: low });
    if (bits > low) pieces.unshift({ field: number, offset: offset + low, bits: bits - low });
    offset += bits;
  }
  return pieces;
}

/** Throws where the mapping and the geometry disagree: `check` should have said so before. */
function checkMapping({ name, timing, mapping, ranks, channels, ...spec }: DdrSpec, mapped: boolean): void {
  const accessBytes = timing.burstLength * timing.busBytes;
  const expected: [string, number][] = [
    ['rank', ranks],
    ['bankgroup', timing.bankGroups],
    ['bank', timing.banks / timing.bankGroups],
    ['column', timing.rowBytes / accessBytes],
  ];
  if (mapped) expected.push(['channel', channels]);
  for (const [field, count] of expected) {
    const bits = mapping.reduce((sum, piece) => sum + (piece.field === field ? piece.bits : 0), 0);
    if (2 ** bits !== count)
      throw new RangeError(`${name}.mapping: ${field} must have log2(${count}) bits, got ${bits}`);
  }
  const total = mapping.reduce((sum, piece) => sum + piece.bits, 0);
  if (2 ** total * accessBytes < spec.bytes / (mapped ? 1 : channels)) {
    throw new RangeError(`${name}.mapping: must cover ${spec.bytes} bytes, has ${total} bits above a DRAM burst`);
  }
  if (!mapped && channels > 1 && spec.interleaveBytes % accessBytes !== 0) {
    throw new RangeError(`${name}.interleave: must be a multiple of ${accessBytes} bytes, got ${spec.interleaveBytes}`);
  }
}
