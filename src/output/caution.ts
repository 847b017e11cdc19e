/** What every report says, because what it shows is a model. */
export const CAUTION =
  'These numbers come from a model, not from silicon. The largest latency seen is not a worst-case bound. A timing ' +
  'that the safety of people depends on must be measured on the hardware, and assessed under the functional-safety ' +
  'process and the local rules that apply to the machine, by those qualified to do it. Not modelled: instruction ' +
  'fetch, hardware prefetch, address translation for accelerators, exclusive and locked accesses, error responses, ' +
  'inline ECC, frequency scaling, DRAM power-down.';
