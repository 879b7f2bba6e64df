/** Streams of random numbers set aside for each question, as the number of the first block; a block serves one run of simulations. */
export interface StreamBlocks {
  readonly centres: number;
  readonly all_seasons: number;
  readonly class_mix: number;
  readonly rates: number;
  readonly rates_of_deposit: number;
  readonly swapped: number;
  readonly syrjala: number;
  readonly shared_shift: number;
  readonly resampled_centres: number;
  readonly resampled_depths: number;
}

/** at most 24 seasons, 276 pairs */
const blocks: StreamBlocks = {
  centres: 0,
  all_seasons: 30,
  class_mix: 31,
  rates: 100,
  rates_of_deposit: 400,
  swapped: 700,
  syrjala: 1000,
  shared_shift: 1300,
  resampled_centres: 5000,
  resampled_depths: 5100,
};
/** as many as simulations can be asked for */
const blockSize = 100_000;

/** First stream of a question, of its season or pair `number`. */
export function blockOf(question: keyof StreamBlocks, number = 0): number {
  return (blocks[question] + number) * blockSize;
}
