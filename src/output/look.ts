/** What a piece of text is, for whoever colours it. */
export type Tone = 'heading' | 'faint' | 'good' | 'bad';

/** Where a text is read. */
export interface Look {
  /** Columns of the terminal. */
  width: number;
  /** Colours a text; must not change its visible characters. */
  paint: (tone: Tone, text: string) => string;
}

/** For pipes and files: 100 columns, no colour. */
export const PLAIN: Look = { width: 100, paint: (_tone, text) => text };
