import * as z from 'zod';
import { counted, perSquareMetre, plain, squareMetres } from '../../domain/units.js';

export const parameters = z.strictObject({
  list: z.enum(['squares', 'squares_wide', 'classes', 'concordance']).default('squares').meta({
    title: 'Rows of the table',
    description:
      'squares: one row for each class, season and square; squares_wide: one for each season and square, classes as columns; classes: one for each class and season; concordance: one for each find with its former, accession, drawing and photograph numbers',
  }),
  rate_of: z.enum(['find', 'piece', 'pot_vessel', 'weight']).default('find').meta({
    title: 'Unit of rates',
    description: 'What rates per m² and m³ count: finds, pieces, different pot vessels, or grams',
  }),
  square_m: z.number().positive().default(1).meta({
    title: 'Side of a square',
    description: 'Plain files only: on a site the squares of the grid count',
    'x-ogc-unit': 'm',
  }),
  sequences: z.int().min(1).max(9999).default(199).meta({
    title: 'Sequences',
    description: 'Random sequences of squares behind the band of the accumulation curve',
  }),
});
export type Parameters = z.output<typeof parameters>;

const tally = {
  finds: counted('Finds'),
  pieces: plain('Pieces of the finds that were counted'),
  uncounted: counted('Finds whose pieces were not counted'),
  weight_g: z.number().meta({ title: 'Weight of the finds that were weighed', 'x-ogc-unit': 'g' }),
  unweighed: counted('Finds that were not weighed'),
  pot_vessels: counted('Different pot vessels'),
};
const cubicMetres = (title: string) => z.number().meta({ title, 'x-ogc-unit': 'm3' });
const perCubicMetre = (title: string) => z.number().meta({ title, 'x-ogc-unit': 'm-3' });
const rates = {
  per_m2: perSquareMetre('Count per m² dug').nullable(),
  per_m2_low: perSquareMetre('Lower end of the exact 95 % interval').nullable(),
  per_m2_high: perSquareMetre('Upper end').nullable(),
  per_m3: perCubicMetre('Count per m³ of deposit, in squares whose thickness is known').nullable(),
  per_m3_low: perCubicMetre('Lower end of the exact 95 % interval').nullable(),
  per_m3_high: perCubicMetre('Upper end').nullable(),
};

export const result = z.strictObject({
  sentence: z.string().meta({ title: 'The answer in a sentence' }),
  rate_of: z.enum(['find', 'piece', 'pot_vessel', 'weight']).meta({ title: 'Unit of rates' }),
  per_m2: rates.per_m2,
  per_m2_low: rates.per_m2_low,
  per_m2_high: rates.per_m2_high,
  tests_made: counted('Tests made: none, a table tells and does not test'),
  n: counted('Finds in the table'),
  ...tally,
  in_dug_squares: counted('Finds in squares dug in their season'),
  in_other_squares: counted('Finds in squares with no ground dug in their season'),
  without_square: counted('Finds without a square'),
  window_area_m2: squareMetres('Area of the window'),
  dug_m2: squareMetres('Ground dug: area times the share dug'),
  squares: counted('Dug squares'),
  squares_without_finds: counted('Of them, squares without a find of the selection'),
  classes: counted('Classes that occur'),
  by_class: z.array(
    z.strictObject({
      artefact_class: z.string().nullable().meta({ title: 'Artefact class; none = unknown' }),
      ...tally,
      squares_with_finds: counted('Dug squares with finds'),
      ...rates,
      dispersion: plain('χ² / df over dug squares: 1 random, above heaped').nullable(),
    }),
  ),
  by_season: z.array(
    z.strictObject({
      season: z.string().nullable().meta({ title: 'Season; none = unknown' }),
      ...tally,
      squares: counted('Squares dug'),
      dug_m2: squareMetres('Ground dug: area times the share dug'),
      volume_m3: cubicMetres('Deposit dug in squares whose thickness is known').nullable(),
      squares_with_volume: counted('Squares whose thickness is known'),
      ...rates,
      dispersion: plain('χ² / df over the squares of the season').nullable(),
    }),
  ),
  vessels: z.strictObject({
    met: counted('Pot vessels the finds belong to'),
    minimum: plain('Fewest vessels, as recorded for those vessels').nullable(),
    maximum: plain('Most vessels').nullable(),
    rim_equivalents: plain('Vessels by rim preserved: sum of rim shares').nullable(),
    without_record: counted('Vessels without a record'),
  }),
  reidentified: z.array(
    z.strictObject({
      registered: z.string().nullable().meta({ title: 'Class as first registered' }),
      known: z.string().nullable().meta({ title: 'Class as known at the date asked for' }),
      finds: counted('Finds'),
    }),
  ),
  accumulation: z
    .strictObject({
      squares: z.array(counted('Squares looked at')),
      mean: z.array(plain('Classes to be expected in so many squares')),
      low: z.array(plain('Classes that 2.5 % of sequences stay below')),
      high: z.array(plain('Classes that 2.5 % of sequences exceed')),
      classes: counted('Classes in all dug squares'),
      once: counted('Classes in one square only'),
      estimate: plain('Classes there may be, at least (Chao)'),
      estimate_low: plain('Lower end of its 95 % interval'),
      estimate_high: plain('Upper end'),
      next_square: plain('New classes to be expected in one more square of this ground'),
    })
    .nullable(),
});
export type Summary = z.output<typeof result>;
