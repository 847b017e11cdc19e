/** By example of `data/examples.csv`: how it is measured on the model. */
export type Measures = Readonly<Record<string, () => number>>;
