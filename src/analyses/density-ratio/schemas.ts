import * as z from 'zod';
import { counted, metres, perSquareMetre, plain, squareMetres } from '../../domain/units.js';

export const bandwidthRules = ['scott', 'lcv', 'lscv'] as const;

const names = (title: string, description: string) =>
  z
    .union([z.string(), z.array(z.string())])
    .transform((v) => (Array.isArray(v) ? v : [v]))
    .default([])
    .meta({ title, description });

export const parameters = z.strictObject({
  by: z.enum(['class', 'season']).default('class').meta({
    title: 'Sides are',
    description:
      'class: artefact classes held against each other on the same ground; season: seasons held against each other on the ground both dug',
  }),
  numerator: names(
    'Numerator',
    'Classes or seasons above the line; none = all finds, but the commonest class when the denominator names none either, or the last season',
  ),
  denominator: names(
    'Denominator',
    'Classes or seasons below the line; none = all finds (those of the numerator among them), or all other seasons',
  ),
  bandwidth: z
    .union([z.number().positive(), z.enum(bandwidthRules)])
    .default('scott')
    .meta({
      title: 'Bandwidth',
      description:
        'Standard deviation of the kernel in metres, common to both sides, or a rule on the finds of both sides pooled: scott (with the geometric mean of both numbers of finds), lcv, lscv (cross-validation)',
      'x-ogc-unit': 'm',
    }),
  floor_finds: z.number().min(0.01).max(1000).default(1).meta({
    title: 'Floor',
    description:
      'No value where the denominator is so thin that fewer finds of the smaller side than this would be expected under the kernel (density × 4πσ², before edge correction)',
  }),
  cell_m: z.number().positive().nullable().default(null).meta({
    title: 'Cell',
    description: 'Side of the cells of the surface; none = a sixth of the bandwidth, at most 512 to the longer side',
    'x-ogc-unit': 'm',
  }),
  at: z
    .array(z.tuple([z.number(), z.number()]))
    .max(10_000)
    .nullable()
    .default(null)
    .meta({ title: 'Places', description: 'Site-grid places [x, y] in metres at which the log ratio is printed' }),
});
export type Parameters = z.output<typeof parameters>;

const extreme = z
  .strictObject({
    ratio: plain('Ratio of the densities'),
    log_ratio: plain('Its natural logarithm'),
    place_x_m: metres('Place, local_x'),
    place_y_m: metres('Place, local_y'),
    dealt_low: plain('Ratio there under random labelling: lower end of the middle 95 %').nullable(),
    dealt_high: plain('Upper end').nullable(),
    p_pointwise: plain(
      'Two-sided rank p at this place; not a test, since the place was chosen by its ratio',
    ).nullable(),
  })
  .nullable();

export const result = z.strictObject({
  reading: z.string().meta({ title: 'Answer in one sentence' }),
  by: z.enum(['class', 'season']).meta({ title: 'Sides are' }),
  numerator: z.string().meta({ title: 'Numerator' }),
  denominator: z.string().meta({ title: 'Denominator' }),
  n: counted('Finds used, each once'),
  n_numerator: counted('Finds of the numerator'),
  n_denominator: counted('Finds of the denominator'),
  n_numerator_shared: counted('Finds of the numerator on the ground compared'),
  n_denominator_shared: counted('Finds of the denominator on the ground compared'),
  window_area_m2: squareMetres('Window'),
  shared_area_m2: squareMetres('Ground compared: dug by both sides'),
  masked_area_m2: squareMetres('Of it, ground without a value: the denominator is too thin there'),
  bandwidth_m: metres('Common bandwidth'),
  bandwidth_rule: z.enum(['metres', ...bandwidthRules]).meta({ title: 'How the bandwidth was chosen' }),
  bandwidth_at_boundary: z.boolean().meta({ title: 'The rule stopped at the end of its range' }),
  floor_finds: plain('Least number of finds of the smaller side to be expected under the kernel'),
  floor_per_m2: perSquareMetre('The same as a density of the denominator'),
  cell_m: metres('Cell of the surface'),
  test_places: counted('Places at which the ratio is tested'),
  test_step_m: metres('Distance between them'),
  numerator_per_m2: perSquareMetre('Numerator on the ground compared, total weight by area'),
  denominator_per_m2: perSquareMetre('Denominator on the ground compared, total weight by area'),
  overall_ratio: plain('Ratio of the two overall densities: what a log ratio of 0 stands for'),
  root_mean_square_log_ratio: plain(
    'Contrast: root of the mean squared log ratio, half a find added to both sides',
  ).nullable(),
  highest: extreme.meta({ title: 'Where the numerator is relatively thickest' }),
  lowest: extreme.meta({ title: 'Where the numerator is relatively thinnest' }),
  global: z
    .strictObject({
      statistic_m2: squareMetres('Integrated squared log ratio, half a find added to both sides'),
      p: plain('p by random labelling'),
    })
    .nullable()
    .meta({ title: 'One test of the whole surface' }),
  pointwise: z
    .strictObject({
      level: plain('Rank p at each side'),
      higher_areas: counted('Tolerance areas where the numerator is thicker'),
      higher_area_m2: squareMetres('Their area'),
      lower_areas: counted('Tolerance areas where the numerator is thinner'),
      lower_area_m2: squareMetres('Their area'),
      expected_area_m2: squareMetres('Area that random labelling would mark on average'),
    })
    .nullable()
    .meta({ title: 'Tolerance areas: pointwise, not a test' }),
  tests_made: counted('Tests made in this answer'),
  simulations: counted('Dealings'),
  labelling: z.strictObject({
    units: counted('Finds and groups dealt as wholes'),
    grouped: counted('Finds that move only with their concretion or pot vessel'),
    fixed: counted('Finds no dealing gives another name'),
  }),
  at: z.array(plain('Log ratio').nullable()).meta({ title: 'Log ratio at the places asked' }),
  outside_own_ground: counted('Finds left out: outside the ground their own season dug'),
});
export type Summary = z.output<typeof result>;
