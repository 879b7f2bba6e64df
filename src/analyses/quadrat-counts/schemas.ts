import * as z from 'zod';
import { counted, metres, plain, squareMetres } from '../../domain/units.js';

const count = (title: string, description: string) =>
  z.int().min(1).max(1000).nullable().default(null).meta({ title, description });

export const parameters = z.strictObject({
  block_m: z.number().positive().nullable().default(null).meta({
    title: 'Side of a block',
    description:
      'Squares of the site grid, or blocks of them (1, 2, 4 … m), counted from the first square of the grid; none = single squares. On plain files: squares of that side',
    'x-ogc-unit': 'm',
  }),
  columns: count(
    'Columns',
    'Plain files only: tiles from west to east over the bounding box of the window; none = about five finds a tile',
  ),
  rows: count('Rows', 'Plain files only: tiles from south to north; none = as many as columns'),
  beyond: z.enum(['none', 'thickness', 'log_thickness']).default('none').meta({
    title: 'Counts beyond',
    description:
      'thickness: also what counts are left with once thickness of the deposit and ground dug are allowed for, the rate rising by a factor with every metre; log_thickness: the rate going as a power of thickness (1 = finds go with the volume dug)',
  }),
});
export type Parameters = z.output<typeof parameters>;

const dispersion = plain('χ² / df: 1 random, above clustered, below evenly spread').nullable();
const tail = (title: string) => plain(title).nullable();
const simulated = z
  .strictObject({
    p_clustered: plain('Share of random scatters with a χ² as large or larger'),
    p_regular: plain('Share of random scatters with a χ² as small or smaller'),
    p_two_sided: plain('Twice the smaller of both, at most 1'),
    dispersion_low: plain('χ² / df that 2.5 % of random scatters stay below'),
    dispersion_high: plain('χ² / df that 2.5 % of random scatters exceed'),
    simulations: counted('Random scatters on the same ground'),
  })
  .nullable();
const negativeBinomial = z
  .strictObject({
    k: plain('Most likely k: small = heaped; none = no heaping beyond chance').nullable(),
    low: plain('Lower end of its 95 % interval').nullable(),
    high: plain('Upper end; none = no end').nullable(),
  })
  .nullable();

export const result = z.strictObject({
  sentence: z.string().meta({ title: 'The answer in a sentence' }),
  dispersion,
  simulated,
  p_two_sided: tail('Twice the smaller tail of χ², at most 1'),
  p_clustered: tail('Upper tail of χ²: clustered'),
  p_regular: tail('Lower tail of χ²: evenly spread'),
  p_reason: z.string().nullable().meta({ title: 'Why there is no p from the χ² law' }),
  tests_made: counted('Tests made: all finds, and each class'),
  n: counted('Finds used'),
  total: plain('What the tiles count together, after the count unit'),
  window_area_m2: squareMetres('Area of the window'),
  columns: counted('Tiles from west to east'),
  rows: counted('Tiles from south to north'),
  tile_width_m: metres('Width of a tile'),
  tile_height_m: metres('Height of a tile'),
  counts: z.array(plain('Count of a tile, row by row from the north, each from west to east')),
  areas_m2: z.array(squareMetres('Ground of a tile inside the window, in the same order')),
  exposure_m2: z.array(squareMetres('The same, each spot times the share of it that was dug')),
  chi2: plain('χ² against counts in proportion to the ground dug').nullable(),
  df: counted('Degrees of freedom: tiles with ground, less one').nullable(),
  smallest_expected: plain('Smallest count expected in a tile').nullable(),
  tiles_with_ground: counted('Tiles with ground'),
  empty_tiles: counted('Of them, tiles without a find'),
  equal_tiles: z.boolean().meta({ title: 'Whether all tiles have the same ground' }),
  variance_mean_ratio: plain('Variance of counts over their mean; meaningful with equal tiles only').nullable(),
  variance_mean_reason: z.string().nullable().meta({ title: 'Why the variance ratio is missing or misleads' }),
  morisita: plain('Morisita’s index: 1 random, above clustered').nullable(),
  negative_binomial_k: negativeBinomial,
  block_sizes: z.array(
    z.strictObject({
      block_m: metres('Side of the block (root of its area)'),
      blocks: counted('Blocks with ground'),
      chi2: plain('χ²'),
      dispersion: plain('χ² / df'),
      dispersion_low: plain('χ² / df that 2.5 % of random scatters stay below').nullable(),
      dispersion_high: plain('χ² / df that 2.5 % of random scatters exceed').nullable(),
      variance_mean_ratio: plain('Variance over mean').nullable(),
      morisita: plain('Morisita’s index').nullable(),
    }),
  ),
  by_area: z.strictObject({
    counted: counted('Finds known by an area only that were counted'),
    straddling: counted('Of them, finds whose area reaches into several tiles'),
    draws: counted('Redraws of those'),
    dispersion_low: plain('Smallest χ² / df over the redraws').nullable(),
    dispersion_high: plain('Largest χ² / df over the redraws').nullable(),
  }),
  by_class: z.array(
    z.strictObject({
      artefact_class: z.string().nullable().meta({ title: 'Artefact class; none = unknown' }),
      n: counted('Finds used'),
      dispersion,
      p_clustered: tail('p clustered: simulated where there are simulations, else of the χ² law'),
      p_regular: tail('p evenly spread'),
      p_two_sided: tail('p two-sided'),
      p_holm: tail('Two-sided p allowing for all classes tested (Holm)'),
      negative_binomial_k: plain('Most likely k').nullable(),
    }),
  ),
  beyond_thickness: z
    .strictObject({
      term: z.enum(['thickness', 'log_thickness']).meta({ title: 'How the rate goes with thickness' }),
      coefficient: plain('Of log rate: for each metre of thickness, or for each unit of its natural log').nullable(),
      low: plain('Lower end of its 95 % interval, widened by the dispersion').nullable(),
      high: plain('Upper end').nullable(),
      times_per_step: plain('Times as many finds per m² for 0.1 m more, or for twice the thickness').nullable(),
      times_low: plain('Lower end of its 95 % interval').nullable(),
      times_high: plain('Upper end').nullable(),
      p_two_sided: tail('Two-sided p of the coefficient by Student’s law'),
      reason: z.string().nullable().meta({ title: 'Why there is no answer' }),
      squares: counted('Squares of known thickness'),
      squares_without_thickness: counted('Dug squares left out: thickness not known'),
      dispersion_before: plain('χ² / df of these squares by ground alone').nullable(),
      dispersion_after: plain('χ² / df after thickness: 1 = nothing left to explain').nullable(),
      standing_out: z.array(
        z.strictObject({
          square: z.string().meta({ title: 'Square' }),
          count: plain('Count'),
          expected: plain('Count expected of its ground and thickness'),
          residual: plain('Count less expected, in standard deviations'),
        }),
      ),
    })
    .nullable()
    .meta({ title: 'What is left after thickness; none = not asked for' }),
});
export type Summary = z.output<typeof result>;
