// Hot path: once per burst. Numbers only.

/** Masters that may contend while the waiting of every burst of the sample is charged; beyond, that of every k-th is. */
const ALL_CHARGED = 32;
/** So many bursts of a path, and of what is left again and again, until the share that is followed, or charged, is halved. */
const FOLLOWED = 4096;
const CHARGED = 1024;
/** 2^32 over the golden ratio, which sets neighbouring paths far apart. */
const GOLDEN = 0x9e3779b9;

/**
 * Which bursts are followed step by step, to tell where their time went, and which of these are charged, to whoever caused
 * their waiting. Some fifty steps cost a third of all else about a burst; to charge it is a walk through the logs of all
 * places that it came by, and costs three times all else. So of a path's bursts that count a first round is taken whole, and
 * of later ones a share that halves after one, three, seven ... rounds; each stands for as many as its share says. A path of
 * few bursts is told whole, one of many by some thousands of them. The choice goes by the burst's number, mixed, so that it
 * falls in step with no pattern; who is charged is followed.
 */
export class Sampling {
  private readonly every: number;
  /** By path: the number of its first burst that counts, or −1. */
  private readonly first: Float64Array;

  /**
   * @param contending masters that issue anything
   * @param paths how many there are
   */
  constructor(contending: number, paths: number) {
    this.every = Math.max(1, Math.ceil(contending / ALL_CHARGED));
    this.first = new Float64Array(paths).fill(-1);
  }

  /** For how many bursts, by share, burst `number` of a path stands, which counts: 0 where it is not followed. */
  weightOf(path: number, number: number): number {
    return this.drawn(path, number, FOLLOWED);
  }

  /** The same of those that are charged. */
  chargedWeightOf(path: number, number: number): number {
    return number % this.every === 0 ? this.drawn(path, number, CHARGED) : 0;
  }

  private drawn(path: number, number: number, round: number): number {
    const { first } = this;
    if (first[path]! < 0) first[path] = number;
    const rounds = Math.floor((number - first[path]!) / round);
    const halvings = rounds > 0 ? 31 - Math.clz32(rounds + 1) : 0;
    if (halvings === 0) return 1;
    return mixed(path, number) >>> (32 - halvings) === 0 ? 1 << halvings : 0;
  }
}

/**
 * 32 bits, each of them dependent on all those of a path and a number: multiply and shift, twice (common practice, no source).
 * Paths that go in step are to have their own, or all would miss the same rare event.
 */
function mixed(path: number, number: number): number {
  let bits = Math.imul(path + 1, GOLDEN) + number;
  bits = Math.imul(bits ^ (bits >>> 16), 0x7feb352d);
  bits = Math.imul(bits ^ (bits >>> 15), 0x846ca68b);
  return (bits ^ (bits >>> 16)) >>> 0;
}
