// Hot path: once per burst. Numbers only.
import { halvings, mixed } from './mixed.js';

/** So many bursts of a path, and of what is left again and again, until the share that is followed is halved. */
const FOLLOWED = 2048;

/**
 * Which bursts are followed step by step, to tell where their time went. Some fifty steps cost half as much as all else about a
 * burst. So of a path's bursts that count a first round is taken whole, and of later ones a share that halves after one, three,
 * seven ... rounds; each stands for as many as its share says. A path of few bursts is told whole, one of many by some
 * thousands of them. The choice goes by the burst's number, mixed, so that it falls in step with no pattern.
 */
export class Sampling {
  /** By path: the number of its first burst that counts, or −1. */
  private readonly first: Float64Array;

  /** @param paths how many there are */
  constructor(paths: number) {
    this.first = new Float64Array(paths).fill(-1);
  }

  /** For how many bursts, by share, burst `number` of a path stands, which counts: 0 where it is not followed. */
  weightOf(path: number, number: number): number {
    const rounds = Math.floor(this.before(path, number) / FOLLOWED);
    if (rounds === 0) return 1;
    const halved = halvings(rounds);
    return mixed(path, number) >>> (32 - halved) === 0 ? 1 << halved : 0;
  }

  /** How many bursts of a path that count come before number `number`, which counts. */
  before(path: number, number: number): number {
    const { first } = this;
    if (first[path]! < 0) first[path] = number;
    return number - first[path]!;
  }
}
