import * as z from 'zod';
import { counted, plain, squareMetres } from '../../domain/units.js';

const valueKinds = ['rate', 'count', 'standardised_rate', 'mean_sherd_weight', 'sherds_per_vessel'] as const;

export const parameters = z.strictObject({
  value: z.enum(valueKinds).default('rate').meta({
    title: 'Value of a square',
    description:
      'rate: count per m² dug; count: as counted; standardised_rate: rate less its mean, over the spread its ground allows (for squares dug in part); mean_sherd_weight: grams a sherd, of the finds weighed; sherds_per_vessel: sherds of each pot vessel met in the square. The last two ask whether breakage differs from place to place: squares without such sherds are left out, and pots trade places whole',
  }),
  contiguity: z.enum(['rook', 'queen']).default('queen').meta({
    title: 'Neighbours',
    description: 'rook: squares that share a side; queen: a side or a corner',
  }),
  weights: z.enum(['W', 'B']).default('W').meta({
    title: 'Weights',
    description: 'W: the neighbours of a square weigh 1 together; B: each weighs 1',
  }),
  block_m: z.number().positive().nullable().default(null).meta({
    title: 'Side of a block',
    description:
      'Squares of the site grid, or blocks of them, counted from the first square of the grid; none = single squares. On plain files: squares of that side, none = 1 m, or a twentieth of a wider window',
    'x-ogc-unit': 'm',
  }),
});
export type Parameters = z.output<typeof parameters>;

const p = (title: string) => plain(title).nullable();
const statistic = {
  expected: plain('Expected when values are dealt to the squares at random').nullable(),
  low: plain('Value that 2.5 % of dealings stay below').nullable(),
  high: plain('Value that 2.5 % of dealings exceed').nullable(),
  p_permutation: p('Two-sided p by dealing the values anew'),
  z_randomisation: plain('z, variance over all dealings').nullable(),
  p_randomisation: p('Two-sided p of it by the normal law'),
  z_normality: plain('z, variance for normal values').nullable(),
  p_normality: p('Two-sided p of it by the normal law'),
};

export const result = z.strictObject({
  sentence: z.string().meta({ title: 'The answer in a sentence' }),
  moran: z.strictObject({
    i: plain('Moran’s I: above its expectation neighbours are alike, below unlike').nullable(),
    ...statistic,
  }),
  geary: z.strictObject({ c: plain('Geary’s C: below 1 neighbours are alike, above unlike').nullable(), ...statistic }),
  joins: z.strictObject({
    both: plain('Joins of two squares that both have finds'),
    mixed: plain('Joins of a square with and one without'),
    neither: plain('Joins of two squares without'),
    expected_both: plain('Joins of the first kind expected at random').nullable(),
    p_more: p('Share of dealings with as many or more'),
    p_fewer: p('Share of dealings with as few or fewer'),
    p_two_sided: p('Twice the smaller, at most 1'),
  }),
  tests_made: counted('Tests made: three of the whole, one for each square, one for each class'),
  reason: z.string().nullable().meta({ title: 'Why there is no answer' }),
  n: counted('Finds used'),
  window_area_m2: squareMetres('Area of the window'),
  value: z.enum(valueKinds).meta({ title: 'Value of a square' }),
  squares: counted('Squares with dug ground and a dug neighbour'),
  squares_alone: counted('Squares without a dug neighbour, left out'),
  squares_with_finds: counted('Of the squares used, squares with finds'),
  joins_made: counted('Pairs of neighbours'),
  mean: plain('Mean value of the squares').nullable(),
  simulations: counted('Dealings'),
  local: z.strictObject({
    tested: counted('Squares tested'),
    smallest_p: plain('Smallest p that so many dealings can give').nullable(),
    high_fdr: counted('Squares amid high neighbours after false-discovery control at 5 %'),
    low_fdr: counted('Squares amid low neighbours after false-discovery control at 5 %'),
    high_holm: counted('Squares amid high neighbours after Holm at 5 %'),
    low_holm: counted('Squares amid low neighbours after Holm at 5 %'),
  }),
  breakage: z
    .strictObject({
      ratio: plain(
        'How much squares differ, over what chance gives: above 1 breakage differs from place to place',
      ).nullable(),
      spread: plain('Σ parts (value / mean − 1)² / Σ parts'),
      spread_expected: plain('The same when pots trade places').nullable(),
      p_uneven: p('Share of dealings of whole pots with as large a spread'),
      p_neighbours: p('Two-sided p of Moran’s I by dealing whole pots'),
      mean: plain('Mean over all squares: grams a sherd, or sherds a pot vessel'),
      sherd_finds: counted('Finds used'),
      finds_left_out: counted('Finds left out: no weight, no pot vessel or no square'),
      pot_vessels: counted('Pot vessels met'),
      units: counted('Pots, and sherds of no known pot, dealt as wholes'),
      units_fixed: counted('Of them, without a like of their class to trade places with'),
      low_squares: z
        .array(z.string())
        .meta({ title: 'Squares below what pots dealt anew give, after false-discovery control at 5 %' }),
      high_squares: z.array(z.string()).meta({ title: 'Squares above' }),
    })
    .nullable()
    .meta({ title: 'Breakage from place to place; none = not asked for' }),
  by_class: z.array(
    z.strictObject({
      artefact_class: z.string().nullable().meta({ title: 'Artefact class; none = unknown' }),
      n: counted('Finds used'),
      squares_with_finds: counted('Squares with finds of the class'),
      i: plain('Moran’s I').nullable(),
      expected: plain('Expected').nullable(),
      p_two_sided: p('Two-sided p; by dealing where there are simulations, else by the normal law'),
      p_holm: p('The same allowing for all classes tested (Holm)'),
    }),
  ),
});
export type Summary = z.output<typeof result>;
