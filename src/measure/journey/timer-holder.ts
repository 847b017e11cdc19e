// Hot path: once per column access.
import { type Access, RowState } from '../../model/dram/access.js';
import type { Channel } from '../../model/dram/channel.js';
import { Shared } from '../../model/dram/bank-state.js';

/**
 * Who set the timer that held up an access's first command to the last, told while the channel's state is still that from
 * before it: the bank's own (tRP and tRC: whoever opened the row before; tRCD, tRAS, tRTP, tWR: whoever used the bank last),
 * or one that banks share (tRRD and tFAW: the last activate; tCCD, turnaround, the data bus: the last column command). Where
 * none did, another command was before it; where none was, it came between two clocks: its own master.
 */
export function holderOf(channel: Channel, access: Access, found: number, clock: number): number {
  const { state, last } = channel;
  const { bank, direction, master: own, enterClock } = access;
  if (clock <= enterClock) return own;
  let bankAt = bank.prechargeAt;
  let bankBy = bank.usedBy;
  let sharedAt = -1;
  let sharedBy = -1;
  if (found === RowState.hit) {
    bankAt = bank.columnAt;
    sharedAt = state.shared[(direction === 1 ? Shared.write : Shared.read) * state.groups + bank.group]!;
    sharedBy = last.ofColumn;
  } else if (found === RowState.empty) {
    bankAt = bank.activateAt;
    bankBy = bank.openedBy;
    sharedAt = state.shared[Shared.activate * state.groups + bank.group]!;
    sharedBy = last.ofActivate;
  }
  let by = last.ofAny;
  if (bankAt >= clock && bankAt >= sharedAt) by = bankBy;
  else if (sharedAt >= clock) by = sharedBy;
  return by < 0 ? own : by;
}
