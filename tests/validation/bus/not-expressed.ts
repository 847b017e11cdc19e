const ONE_GRANT = 'address and data of a write move as one grant: no data comes before its address';
const NO_ERRORS =
  'no address leads nowhere, and no slave fails: scenarios with a hole are refused, error responses are not modelled';
const NO_EXCLUSIVES = 'exclusive and locked accesses are not modelled';

/** Examples that the model cannot express, by name, each with the reason. */
export const NOT_EXPRESSED: ReadonlyMap<string, string> = new Map([
  ['handshake.data_before_address', ONE_GRANT],
  ['response.after_address', ONE_GRANT],
  ['fixed.addresses', 'masters send INCR bursts only; of FIXED ones there is the limit of their length'],
  ['order.two_slaves', 'the requests of one master go to one buffer, which lies in one slave'],
  ['order.old_data', 'bursts carry no values, so that no read can show old data'],
  ['write_order.axi3_interleave', 'the way to memory is AXI4: writes are never interleaved'],
  ['error.read_beats', NO_ERRORS],
  ['error.write_responses', NO_ERRORS],
  ['error.mixed_read', NO_ERRORS],
  ['qos.same_id', 'QoS belongs to a master: all of its requests have the same'],
  ['exclusive.4x4', NO_EXCLUSIVES],
  ['exclusive.3x4', NO_EXCLUSIVES],
  ['exclusive.16x16', NO_EXCLUSIVES],
  ['exclusive.32x4', NO_EXCLUSIVES],
  ['exclusive.broken', NO_EXCLUSIVES],
  [
    'modify.one_last',
    'masters cut, not the interconnect: each part is a burst at the master too, with a last beat of its own',
  ],
]);
