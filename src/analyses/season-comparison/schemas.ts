import * as z from 'zod';
import { counted, degrees, metres, perSquareMetre, plain, squareMetres } from '../../domain/units.js';

export const parameters = z.strictObject({
  first: z.string().nullable().default(null).meta({
    title: 'First season of the pair that leads the answer',
    description: 'With `second`; none = the two seasons that share most squares, else the first two',
  }),
  second: z.string().nullable().default(null).meta({
    title: 'Second season of that pair',
    description: 'Ratios say how many times as rich it is as the first',
  }),
  list: z.enum(['seasons', 'pairs', 'strata', 'classes', 'squares']).default('seasons').meta({
    title: 'Rows of the table',
    description:
      'seasons: counts, rates and centres; pairs: every two seasons; strata: by tool and mesh, way of recovery and size; classes: class mix with residuals; squares: squares dug in both seasons of the pair that leads',
  }),
  square_m: z.number().positive().default(1).meta({
    title: 'Side of a square',
    description: 'Plain files only: on a site the squares of the grid count',
    'x-ogc-unit': 'm',
  }),
});
export type Parameters = z.output<typeof parameters>;

const cubicMetres = (title: string) => z.number().meta({ title, 'x-ogc-unit': 'm3' });
const perCubicMetre = (title: string) => z.number().meta({ title, 'x-ogc-unit': 'm-3' });
const probability = (title: string) => plain(title).nullable();
const amount = (title: string) => plain(title);

const ratio = z.strictObject({
  value: plain('Rate of the second season over that of the first').nullable(),
  low: plain('Lower end of the 95 % interval, widened by the dispersion').nullable(),
  high: plain('Upper end; none = it has no end').nullable(),
  exact_low: plain('Lower end if finds fell one by one').nullable(),
  exact_high: plain('Upper end if finds fell one by one').nullable(),
  dispersion: plain('χ² / df over squares: 1 as chance has it, above heaped').nullable(),
  seen_above: plain('Smallest ratio above 1 that so many finds would show with 80 %; none = not any').nullable(),
  seen_below: plain('Largest ratio below 1 that so many finds would show with 80 %').nullable(),
});

const rate = {
  per_m2: perSquareMetre('Count per m² dug').nullable(),
  per_m2_low: perSquareMetre('Lower end of the 95 % interval, widened by the dispersion').nullable(),
  per_m2_high: perSquareMetre('Upper end').nullable(),
  per_m2_exact_low: perSquareMetre('Lower end if finds fell one by one').nullable(),
  per_m2_exact_high: perSquareMetre('Upper end if finds fell one by one').nullable(),
  per_m3: perCubicMetre('Count per m³ of deposit, in squares whose thickness is known').nullable(),
  per_m3_low: perCubicMetre('Lower end of the 95 % interval, widened by the dispersion').nullable(),
  per_m3_high: perCubicMetre('Upper end').nullable(),
  per_m3_exact_low: perCubicMetre('Lower end if finds fell one by one').nullable(),
  per_m3_exact_high: perCubicMetre('Upper end if finds fell one by one').nullable(),
};

const season = z.strictObject({
  season: z.string().meta({ title: 'Season' }),
  finds: counted('Finds of the register'),
  elsewhere: counted('Of them in no square dug in the season: in no rate'),
  uncounted: counted('Of them without what is counted'),
  n: amount('Counted in dug squares'),
  squares: counted('Squares dug'),
  dug_m2: squareMetres('Ground dug: area times the share dug'),
  volume_m3: cubicMetres('Deposit dug in squares whose thickness is known').nullable(),
  squares_with_volume: counted('Squares whose thickness is known'),
  ...rate,
  dispersion: plain('χ² / df over the squares of the season').nullable(),
  negative_binomial_k: plain(
    'k of the negative binomial law over squares; none = no more uneven than chance',
  ).nullable(),
  dug_with: z.array(
    z.strictObject({
      tool: z.string().nullable().meta({ title: 'Tool; none = not stated' }),
      mesh_mm: z.number().nullable().meta({ title: 'Sieve mesh', 'x-ogc-unit': 'mm' }),
    }),
  ),
  meshes_of_finds_mm: z.array(z.number().meta({ title: 'Mesh stated by finds', 'x-ogc-unit': 'mm' })),
  placed: counted('Positions behind centre and ellipse'),
  placed_units: counted('Of them finds, pots and concretions laid down as one'),
  centre_x_m: metres('Mean centre, x').nullable(),
  centre_y_m: metres('Mean centre, y').nullable(),
  standard_distance_m: metres('Standard distance (divisor n)').nullable(),
  ellipse: z
    .strictObject({
      bearing_deg: degrees('Longer axis from site_north').nullable(),
      semi_major_m: metres('Longer half axis (divisor n)'),
      semi_minor_m: metres('Shorter half axis'),
    })
    .nullable(),
  ground_x_m: metres('Middle of the ground dug, x').nullable(),
  ground_y_m: metres('Middle of the ground dug, y').nullable(),
  expected_standard_distance_m: metres('Standard distance of random scatters in the same ground').nullable(),
  expected_elongation: plain('Longer over shorter half axis of random scatters').nullable(),
  p_centre: probability('p: centre as far from the middle of the ground by chance'),
  p_spread: probability('p, two-sided: as gathered or as spread by chance'),
  p_elongation: probability('p: as long for its breadth by chance'),
  p_bearing: probability('p: turned as far from the long axis of the ground by chance'),
});

const pair = z.strictObject({
  first: z.string().meta({ title: 'First season' }),
  second: z.string().meta({ title: 'Second season' }),
  shared_squares: counted('Squares dug in both'),
  place: z.enum(['differs', 'shared']).meta({
    title: 'differs: place and recovery differ; shared: at least 8 squares were dug in both',
  }),
  reading: z.enum(['differ', 'no_difference_seen', 'cannot_tell']).meta({ title: 'What the rates allow to be said' }),
  n_first: amount('Counted in dug squares of the first season'),
  n_second: amount('… of the second'),
  per_m2: ratio,
  p: probability('p: rates per m² as unequal when squares are dealt out over both seasons'),
  p_holm: probability('p raised for the number of pairs'),
  per_m3: ratio.nullable(),
  p_per_m3: probability('p: the same per m³'),
  shared: z
    .strictObject({
      n_first: amount('Counted in shared squares, first season'),
      n_second: amount('… second season'),
      dug_m2_first: squareMetres('Ground dug there by the first season'),
      dug_m2_second: squareMetres('… by the second'),
      per_m2: ratio,
      p: probability('p: rates as unequal when seasons are swapped within squares'),
      per_m3: ratio.nullable(),
      centre_shift_m: metres('Shift of the centre on shared squares').nullable(),
      p_centre_shift: probability('p: season names dealt out there, pots and concretions whole'),
    })
    .nullable(),
  syrjala: z
    .strictObject({
      psi: plain('Ψ: how differently both are spread over the shared squares'),
      p: plain('p over swaps within squares'),
      ks: plain('Mean over corners of the largest difference'),
      p_ks: plain('p of it'),
      swaps: counted('Swaps looked at'),
      exact: z.boolean().meta({ title: 'All swaps there are' }),
    })
    .nullable(),
  syrjala_reason: z.string().nullable().meta({ title: 'Why there is no such test; none = there is' }),
  centre_shift: z
    .strictObject({
      shift_m: metres('From the centre of the first season to that of the second'),
      bearing_deg: degrees('From site_north').nullable(),
      low_m: metres('Lower end of the middle 95 % when squares are drawn anew').nullable(),
      high_m: metres('Upper end').nullable(),
      ground_shift_m: metres('Between the middles of the ground dug').nullable(),
      p: probability('p: as far from the shift of the ground with random scatters in each window'),
    })
    .nullable(),
  depth: z
    .strictObject({
      measure: z.enum(['relative_depth', 'elevation']).meta({ title: 'What is compared' }),
      n_first: counted('Finds, pots and concretions with it, first season'),
      n_second: counted('… second season'),
      median_first: plain('Median, first season'),
      median_second: plain('… second season'),
      share_larger: plain('Share of pairs in which the second season has the larger value; 0.5 = none'),
      low: plain('Lower end of the middle 95 % when squares are drawn anew').nullable(),
      high: plain('Upper end').nullable(),
      p_mann_whitney: probability('p, Mann–Whitney, two-sided'),
      p_kolmogorov_smirnov: probability('p, Kolmogorov–Smirnov'),
    })
    .nullable(),
  strata: z.array(
    z.strictObject({
      by: z.enum(['tool_and_mesh', 'recovery_method', 'size_class']).meta({ title: 'Stratified by' }),
      stratum: z.string().meta({ title: 'Stratum' }),
      n_first: amount('Counted, first season'),
      n_second: amount('… second season'),
      dug_m2_first: squareMetres('Ground, first season'),
      dug_m2_second: squareMetres('… second season'),
      per_m2: ratio,
    }),
  ),
  strata_reason: z.string().nullable().meta({ title: 'Why ground dug alike cannot be compared; none = it can' }),
});

export const result = z.strictObject({
  sentence: z.string().meta({ title: 'The answer in a sentence' }),
  headline: z.string().meta({ title: 'Whether place and recovery differ' }),
  first: z.string().nullable().meta({ title: 'First season of the pair that leads' }),
  second: z.string().nullable().meta({ title: 'Second season of that pair' }),
  over: z.enum(['shared_squares', 'all_ground']).nullable().meta({ title: 'Ground of the ratio that leads' }),
  ratio: plain('Rate per m² of the second season over that of the first').nullable(),
  ratio_low: plain('Lower end of its 95 % interval, widened by the dispersion').nullable(),
  ratio_high: plain('Upper end').nullable(),
  p: probability('p of that ratio: squares dealt out, or seasons swapped within shared squares'),
  reading: z
    .enum(['differ', 'no_difference_seen', 'cannot_tell'])
    .nullable()
    .meta({ title: 'What it allows to be said' }),
  tests_made: counted('Tests made'),
  n: amount('Counted in dug squares, all seasons'),
  count_unit: z.enum(['find', 'piece', 'pot_vessel', 'weight']).meta({ title: 'What is counted' }),
  window_area_m2: squareMetres('Area of the window'),
  without_season: counted('Finds of no season, or of one without dug ground'),
  simulations: counted('Simulations'),
  seasons: z.array(season),
  all_seasons: z.strictObject({
    p: probability('p: rates of all seasons as unequal when squares are dealt out over them'),
    dispersion: plain('χ² / df of squares about the rate of their season').nullable(),
  }),
  pairs: z.array(pair),
  class_mix: z
    .strictObject({
      chi2: plain('χ² of seasons by classes'),
      df: counted('Degrees of freedom of the table'),
      p: probability('p: seasons dealt out over finds, pots and concretions whole'),
      units: counted('Things dealt out as one'),
      cells: z.array(
        z.strictObject({
          season: z.string().meta({ title: 'Season' }),
          artefact_class: z.string().nullable().meta({ title: 'Artefact class; none = unknown' }),
          n: amount('Counted'),
          expected: amount('Expected from both margins'),
          residual: plain('Standardised residual').nullable(),
          p: probability('p, two-sided, over dealings'),
          p_holm: probability('p raised for the number of cells'),
        }),
      ),
    })
    .nullable(),
});
export type Summary = z.output<typeof result>;
export type SeasonRow = Summary['seasons'][number];
export type PairRow = Summary['pairs'][number];
