import { type Question, shown } from './question.js';

const jars = { artefact_class: ['stoneware jar'] };
const seasons = 'Seasons and ground';
const squares = 'Squares';
const record = 'The record';

/** Questions of seasons, squares and the record. */
export const recordQuestions: readonly Question[] = [
  {
    number: 37,
    group: seasons,
    words: 'Did one season find more nails per m² than another?',
    process: 'season-comparison',
    inputs: { artefact_class: ['nail'], first: 'S1', second: 'S2' },
  },
  {
    number: 38,
    group: seasons,
    words: 'Is that due to sieving?',
    process: 'season-comparison',
    inputs: { artefact_class: ['nail', 'lead shot', 'bone'], first: 'S1', second: 'S2' },
  },
  {
    number: 39,
    group: seasons,
    words: 'Have we found most types yet?',
    process: 'class-table',
    inputs: {},
    result: (s) =>
      `${s.accumulation.classes} classes met, ${s.accumulation.once} of them once; about ${shown(s.accumulation.estimate)} to be expected, ${shown(s.accumulation.next_square, 1)} new ones in the next square`,
  },
  { number: 40, group: seasons, words: 'Which square next?', process: 'next-squares', inputs: {} },
  {
    number: 41,
    group: seasons,
    words: 'Are edge squares still rich?',
    process: 'hull-scatter',
    inputs: { distance: 'trench_edge' },
  },
  {
    number: 42,
    group: squares,
    words: 'Is a class spatially autocorrelated by square?',
    process: 'local-autocorrelation',
    inputs: { artefact_class: ['tableware'] },
  },
  {
    number: 43,
    group: squares,
    words: 'Do counts vary more than chance?',
    process: 'quadrat-counts',
    inputs: { artefact_class: ['clay pipe'] },
    result: (s) =>
      `χ² / df ${shown(s.dispersion)}; k of the negative binomial ${s.negative_binomial_k === null ? 'none' : shown(s.negative_binomial_k.k)}, p = ${shown(s.simulated?.p_two_sided, 1)}`,
  },
  {
    number: 44,
    group: squares,
    words: 'Is the pattern an effect of thickness?',
    process: 'quadrat-counts',
    inputs: { artefact_class: ['nail'], beyond: 'thickness' },
  },
  {
    number: 45,
    group: record,
    words: 'What did opening concretions change?',
    process: 'class-table',
    inputs: { list: 'changes', compare_identified_as_of: '2024-12-31' },
  },
  {
    number: 46,
    group: record,
    words: 'Do results hold without finds known by a square only?',
    process: 'nearest-neighbour',
    inputs: { artefact_class: ['clay pipe'], square_only: 'spread' },
    result: (s) =>
      `ratio ${shown(s.ratio)} with them spread (${shown(s.range_over_draws?.ratio?.low)} to ${shown(s.range_over_draws?.ratio?.high)} over the draws)`,
  },
  {
    number: 47,
    group: record,
    words: 'Does the bandwidth decide my story?',
    process: 'kernel-density',
    inputs: jars,
    result: (s) =>
      `${s.peaks} peak${s.peaks === 1 ? '' : 's'} at ${shown(s.bandwidth_m)} m, ${s.half_bandwidth.peaks} at half, ${s.double_bandwidth.peaks} at twice the bandwidth`,
  },
  {
    number: 48,
    group: squares,
    words: 'Where is the weight?',
    process: 'class-table',
    inputs: { list: 'squares_by_size', rate_of: 'weight' },
  },
  {
    number: 49,
    group: record,
    words: 'Which finds came from disturbed ground?',
    process: 'class-table',
    inputs: { list: 'disturbed' },
  },
  {
    number: 51,
    group: record,
    words: 'Class by season by square for the appendix',
    process: 'class-table',
    inputs: { list: 'squares' },
  },
  {
    number: 53,
    group: record,
    words: 'Which drawings, photographs and dives touch a find?',
    process: 'class-table',
    inputs: { list: 'concordance' },
  },
  {
    number: 54,
    group: record,
    words: 'Can I make last year’s figure again?',
    process: 'nearest-neighbour',
    inputs: { ...jars, version: 1, seed: 1790 },
    result: (s) =>
      `ratio ${shown(s.ratio)}, p = ${shown(s.simulated?.p_two_sided, 1)}: data version, seed and parameters stand in the provenance, and the same request gives the same bytes`,
  },
  {
    number: 55,
    group: record,
    words: 'What of the position may I publish?',
    process: 'register-check',
    inputs: {},
    result: (_) =>
      'the archive keeps a public copy without positions, directions, depths and places beside the restricted one',
    command: 'export --site tarn-ledge --format archive --out tarn-ledge.zip',
  },
];
