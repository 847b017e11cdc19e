import { type Access, RowState } from './access.js';

const { hit: HIT, empty: EMPTY } = RowState;

/** Whose access had the last commands of a channel, and of each of its banks, for whoever keeps books; −1 before the first. */
export class LastUsers {
  ofAny = -1;
  ofActivate = -1;
  ofColumn = -1;
  /** The clock of the last column command. */
  columnClock = -Infinity;

  /** The first command for an access has been chosen, by what it found. */
  chosen(access: Access, found: number): void {
    this.used(access);
    if (found !== HIT) access.bank.openedBy = access.master;
    if (found === EMPTY) this.ofActivate = access.master;
  }

  /** An access has its column command. */
  column(access: Access, clock: number): void {
    this.used(access);
    this.ofColumn = access.master;
    this.columnClock = clock;
  }

  private used({ bank, master }: Access): void {
    bank.usedBy = master;
    this.ofAny = master;
  }
}
