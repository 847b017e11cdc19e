import type { Case, Published } from './case-file.js';

/** Cases that the model has no words for, each with the reason. */
const CASES: readonly { readonly which: RegExp; readonly why: string }[] = [
  {
    which: /^poll_/,
    why: 'an arbiter goes from one requester to the next in no time and stands still while nobody asks; a server that needs time to walk, and walks on past empty queues, is no element',
  },
  {
    which: /^jackson3$/,
    why: 'a burst goes once through each element of a route that is fixed; it is not routed by chance, nor back to a station where it has been',
  },
  {
    which: /^(cq3_|cq2cl)/,
    why: 'a master has one buffer in one memory, so a token cannot visit a station in some rounds and pass it by in others',
  },
  {
    which: /^sat_\d+_drr$/,
    why: 'arbiters grant whole bursts, weighted or not; no policy keeps an account of beats',
  },
];

const TOO_RARE =
  'too rare for the time of this suite: an interval of 1 % of such a quantile takes tens to hundreds of millions of requests';

/** Values of cases that are run which no run is held against, each with the reason. */
const VALUES: readonly { readonly which: RegExp; readonly metric: RegExp; readonly why: string }[] = [
  {
    which: /./,
    metric: /^decay_rate_wait$/,
    why: 'the slope of the tail at infinity, which no sample has; the quantiles lie on that tail',
  },
  {
    which: /^(mm1_r0.95|md1_r0.95|mg1_bimodal_r0.9|mh21_r0.9|mmc_c[24]_r0.9|mxm1_g8_r0.9|mxd1_c4_r0.9)$/,
    metric: /_p99(\.9)?$/,
    why: TOO_RARE,
  },
  {
    which: /^(mek1_k4_r0.9|dm1_r0.9|ippm1_on200_off200|mdc_c[24]_r0.9|mdc_c4_r0.7|tandem|binom_N16|geod1_r0.9)/,
    metric: /_p99\.9$/,
    why: TOO_RARE,
  },
  { which: /^md1_r0.3$/, metric: /^prob_number_eq_[45]$/, why: TOO_RARE },
];

/** Why the model cannot express a case; null if it can. */
export function whyInexpressible({ id }: Case): string | null {
  return CASES.find(({ which }) => which.test(id))?.why ?? null;
}

/** Why a value is not compared although its case is run; null if it is. */
export function whyNotCompared({ id }: Case, { metric }: Published): string | null {
  return VALUES.find((one) => one.which.test(id) && one.metric.test(metric))?.why ?? null;
}
