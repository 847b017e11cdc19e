/** Kinds of DRAM command, as they appear in the command log. A column command with auto-precharge closes its bank. */
export const Command = {
  none: 0,
  activate: 1,
  read: 2,
  write: 3,
  readAuto: 4,
  writeAuto: 5,
  precharge: 6,
  prechargeAll: 7,
  refresh: 8,
  refreshBank: 9,
} as const;
