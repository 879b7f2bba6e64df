import * as z from 'zod';
import { counted, perSquareMetre, plain, squareMetres } from '../../domain/units.js';

export const parameters = z.strictObject({
  list: z
    .enum([
      'squares',
      'squares_wide',
      'squares_by_size',
      'classes',
      'concordance',
      'changes',
      'disturbed',
      'disturbed_finds',
    ])
    .default('squares')
    .meta({
      title: 'Rows of the table',
      description:
        'squares: one row for each class, season and square; squares_wide: one for each season and square, classes as columns; squares_by_size: one for each season, square and size class, with weights, as for ballast; classes: one for each class and season; concordance: one for each find with its former, accession, drawing and photograph numbers; changes: one for each find whose class is another than in the version or at the date compared with; disturbed: one for each class, finds per m² in disturbed contexts against those in other ground; disturbed_finds: one for each find that lies in a disturbed context, or may',
    }),
  rate_of: z.enum(['find', 'piece', 'pot_vessel', 'weight']).default('find').meta({
    title: 'Unit of rates',
    description: 'What rates per m² and m³ count: finds, pieces, different pot vessels, or grams',
  }),
  compare_version: z.int().min(1).nullable().default(null).meta({
    title: 'Data version to compare with',
    description: 'What changed by class from that version to the one of this run',
  }),
  compare_identified_as_of: z.iso.date().nullable().default(null).meta({
    title: 'Identification date to compare with',
    description: 'What changed by class from the classes known at that date to those of this run',
  }),
  disturbed_kinds: z.array(z.string()).nullable().default(null).meta({
    title: 'Kinds of disturbed context',
    description: 'With list = disturbed: contexts of these kinds, such as disturbance; none = every kind but layer',
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

const disturbedRow = {
  disturbed: counted('Finds in disturbed ground'),
  undisturbed: counted('Finds in other dug ground'),
  either: counted('Finds known by a square only that holds both'),
  disturbed_measured: counted('Of those in disturbed ground, finds with a measured position: what rates are made of'),
  undisturbed_measured: counted('The same in other dug ground'),
  disturbed_per_m2: perSquareMetre('Measured finds per m² of disturbed ground').nullable(),
  undisturbed_per_m2: perSquareMetre('Measured finds per m² of other ground').nullable(),
  rate_ratio: plain('The first over the second').nullable(),
  low: plain('Lower end of its exact 95 % interval').nullable(),
  high: plain('Upper end; none = no end').nullable(),
  p_two_sided: plain('Exact two-sided p that both are as rich').nullable(),
};

export const result = z.strictObject({
  sentence: z.string().meta({ title: 'The answer in a sentence' }),
  rate_of: z.enum(['find', 'piece', 'pot_vessel', 'weight']).meta({ title: 'Unit of rates' }),
  per_m2: rates.per_m2,
  per_m2_low: rates.per_m2_low,
  per_m2_high: rates.per_m2_high,
  tests_made: counted('Tests made: none, but for disturbed ground: all finds and each class'),
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
  by_size_class: z
    .array(
      z.strictObject({
        size_class: z.string().nullable().meta({ title: 'Size class; none = not stated' }),
        finds: counted('Finds'),
        pieces: plain('Pieces of the finds that were counted'),
        weight_g: tally.weight_g,
        unweighed: tally.unweighed,
        finds_per_m2: perSquareMetre('Finds per m² dug').nullable(),
        g_per_m2: z.number().nullable().meta({ title: 'Weight per m² dug', 'x-ogc-unit': 'g/m2' }),
      }),
    )
    .meta({ title: 'By size class, as of ballast; empty when no find states one' }),
  disturbed: z
    .strictObject({
      contexts: z.array(z.string()).meta({ title: 'Disturbed contexts' }),
      disturbed_m2: squareMetres('Dug ground in them: area times the share dug'),
      undisturbed_m2: squareMetres('Other dug ground'),
      all: z.strictObject(disturbedRow),
      by_class: z.array(
        z.strictObject({
          artefact_class: z.string().nullable().meta({ title: 'Artefact class; none = unknown' }),
          ...disturbedRow,
          p_holm: plain('p allowing for all classes (Holm)').nullable(),
        }),
      ),
    })
    .nullable()
    .meta({ title: 'Disturbed ground against other ground; none = not asked for' }),
  reidentified: z.array(
    z.strictObject({
      registered: z.string().nullable().meta({ title: 'Class as first registered' }),
      known: z.string().nullable().meta({ title: 'Class as known at the date asked for' }),
      finds: counted('Finds'),
    }),
  ),
  changes: z
    .strictObject({
      from_version: counted('Data version compared with').nullable(),
      from_identified_as_of: z.string().nullable().meta({ title: 'Classes as known at; none = as known last' }),
      to_version: counted('Data version of this run').nullable(),
      to_identified_as_of: z.string().nullable().meta({ title: 'Classes as known at; none = as known last' }),
      by_class: z.array(
        z.strictObject({
          artefact_class: z.string().nullable().meta({ title: 'Artefact class; none = unknown' }),
          before: counted('Finds before'),
          arrived: counted('Finds new in the register'),
          gone: counted('Finds no longer in the register'),
          became: counted('Finds that were of another class'),
          ceased: counted('Finds that are of another class now'),
          after: counted('Finds after'),
        }),
      ),
    })
    .nullable()
    .meta({ title: 'What changed by class; none = nothing to compare with was asked for' }),
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
