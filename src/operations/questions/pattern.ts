import { type Question, shown } from './question.js';

const jars = { artefact_class: ['stoneware jar'] };
const together = 'Clustered, together, apart';
const depth = 'Depth in the deposit';

/** Questions of classes: clustered, together, apart, deep. */
export const patternQuestions: readonly Question[] = [
  {
    number: 12,
    group: together,
    words: 'Are the ceramics clustered?',
    process: 'nearest-neighbour',
    inputs: jars,
    result: (s) =>
      `mean distance ${shown(s.mean_distance_m)} m, ratio ${shown(s.ratio)}, simulated p = ${shown(s.simulated?.p_two_sided, 1)}, ${s.n} finds`,
  },
  {
    number: 13,
    group: together,
    words: 'At what distance?',
    process: 'distance-functions',
    inputs: { ...jars, simulations: 99 },
  },
  { number: 14, group: together, words: 'How many clusters, and where?', process: 'clusters', inputs: jars },
  {
    number: 15,
    group: together,
    words: 'Where is one class denser than all finds?',
    process: 'density-ratio',
    inputs: { numerator: ['window glass'], simulations: 99 },
  },
  {
    number: 16,
    group: together,
    words: 'Do two classes occur together?',
    process: 'class-association',
    inputs: { first: 'leather', second: 'window glass', simulations: 999 },
  },
  {
    number: 17,
    group: together,
    words: 'Do two classes avoid each other?',
    process: 'class-association',
    inputs: { first: 'bone', second: 'copper sheathing', simulations: 999 },
  },
  {
    number: 18,
    group: together,
    words: 'Which classes share squares?',
    process: 'class-association',
    inputs: { simulations: 2999 },
  },
  {
    number: 19,
    group: depth,
    words: 'Are the lead shot deeper in the deposit than the ceramics, given both surfaces?',
    process: 'vertical-distribution',
    inputs: { first: ['lead shot'], second: ['stoneware jar', 'tableware'] },
  },
  {
    number: 20,
    group: depth,
    words: 'Do dense classes lie deeper overall?',
    process: 'vertical-distribution',
    inputs: {},
  },
  {
    number: 21,
    group: depth,
    words: 'Which finds lie below the deposit bottom?',
    process: 'vertical-distribution',
    inputs: { simulations: 99 },
    result: (s) => `${s.below_lower_surface.length} finds lie below the deposit bottom by more than two errors`,
  },
  {
    number: 22,
    group: depth,
    words: 'Does relative depth depend on the distance from the keel?',
    process: 'vertical-distribution',
    inputs: { question: 'keel_distance' },
  },
  {
    number: 23,
    group: depth,
    words: 'Is later material mixed into the ship’s?',
    process: 'vertical-distribution',
    inputs: { question: 'intrusive' },
  },
];
