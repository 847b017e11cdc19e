import seedrandom from 'seedrandom';

/** Draws one number after the other, uniform in [0, 1), multiples of 2^−53. */
export type RandomStream = () => number;

/** Draws by number rather than in turn: the same counters give the same uniform number in [0, 1), in any order. */
export type KeyedDraw = (first: number, second?: number, third?: number) => number;

/**
 * The stream of one purpose of one owner (a master, a cache …) in one replication. Its name alone decides what it gives,
 * so what other streams there are, or how far they were read, changes nothing.
 *
 * Throws a RangeError on an empty or undefined seed and on a replication that is no whole number from 0 on.
 */
export function randomStream(seed: string, replication: number, owner: string, purpose: string): RandomStream {
  // xor4096: of seedrandom's quick generators one whose first draws do not follow neighbouring seeds
  const generator = seedrandom.xor4096(streamName(seed, replication, owner, purpose));
  // what its `double` gives, made here of whole numbers: a fraction that another function answers is an object on the heap
  return () => {
    let drawn = 0;
    while (drawn === 0) {
      const high = generator.int32() >>> 11;
      drawn = (high + (generator.int32() >>> 0) * 2 ** -32) * 2 ** -21;
    }
    return drawn;
  };
}

/**
 * Draws keyed by up to three whole numbers from −2^53 to 2^53 (say cache set and eviction number, or burst and line). A
 * counter left out is 0. Errors as for `randomStream`; shares no draw with the stream of the same name.
 *
 * Mixing: two 32-bit lanes start from two key words; each counter goes into both, its high word multiplied by another
 * odd constant in each, and each lane is then put through MurmurHash3's finaliser (Appleby, public domain), the second
 * lane after adding the first. At the end two more key words go in, so that streams are no permutations of one another,
 * and 27 + 26 bits of the lanes make the number.
 */
export function keyedDraw(seed: string, replication: number, owner: string, purpose: string): KeyedDraw {
  const generator = seedrandom.xor4096(`${streamName(seed, replication, owner, purpose)}keyed`);
  const left = generator.int32();
  const right = generator.int32();
  const leftEnd = generator.int32();
  const rightEnd = generator.int32();
  return (first, second = 0, third = 0) => {
    let a = scramble(left ^ first ^ Math.imul(highWord(first), 0x9e3779b1));
    let b = scramble((right + first + Math.imul(highWord(first), 0x27d4eb2f) + a) | 0);
    a = scramble(a ^ second ^ Math.imul(highWord(second), 0x9e3779b1));
    b = scramble((b + second + Math.imul(highWord(second), 0x27d4eb2f) + a) | 0);
    a = scramble(a ^ third ^ Math.imul(highWord(third), 0x9e3779b1));
    b = scramble((b + third + Math.imul(highWord(third), 0x27d4eb2f) + a) | 0);
    a = scramble(((a + leftEnd) | 0) ^ b);
    b = scramble(((b + rightEnd) | 0) ^ a);
    return ((a >>> 5) * 0x4000000 + (b >>> 6)) * 2 ** -53;
  };
}

/** Parts length-prefixed, so that no two lists of parts share a name; NFC, so that one text in two encodings does. */
function streamName(seed: string, replication: number, owner: string, purpose: string): string {
  // a file read without types may still lack the seed, and an unnamed stream would be seeded from the clock
  if (typeof seed !== 'string' || seed === '') throw new RangeError('seed: must be a text of at least one character');
  if (!Number.isSafeInteger(replication) || replication < 0) {
    throw new RangeError(`replication: must be a whole number from 0 on, got ${replication}`);
  }
  return [seed, String(replication), owner, purpose]
    .map((part) => part.normalize('NFC'))
    .map((part) => `${part.length}:${part}`)
    .join('');
}

/** What a whole number has above its low 32 bits. */
function highWord(counter: number): number {
  return Math.floor(counter / 0x100000000);
}

function scramble(word: number): number {
  let mixed = word;
  mixed = Math.imul(mixed ^ (mixed >>> 16), 0x85ebca6b);
  mixed = Math.imul(mixed ^ (mixed >>> 13), 0xc2b2ae35);
  return mixed ^ (mixed >>> 16);
}
