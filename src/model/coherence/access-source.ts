/**
 * What a core asks of its source of accesses: the next one, whose fields are valid after `advance`. An open source says
 * when it wants; a closed one is asked when its turn comes.
 */
export interface AccessSource {
  readonly isOpen: boolean;
  /** Open sources: when the next access is wanted; Infinity for never. */
  readonly wantedPs: number;
  readonly write: boolean;
  /** Offset within the master's buffer. */
  readonly offset: number;
  readonly bytes: number;
  /** Dependent sources: from the end of this access to the next want. */
  readonly thinkPs: number;
  readonly serviceDraw: number;
  advance(): void;
}
