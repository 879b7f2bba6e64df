import * as z from 'zod';
import { counted, metres, plain, squareMetres } from '../../domain/units.js';

const classNames = (title: string, description: string) =>
  z
    .union([z.string(), z.array(z.string())])
    .transform((v) => (Array.isArray(v) ? v : [v]))
    .default([])
    .meta({ title, description });

export const lowerSurfaces = ['deposit_bottom', 'hard_substrate', 'excavation_limit'] as const;

export const parameters = z.strictObject({
  question: z.enum(['classes', 'keel_distance', 'intrusive']).default('classes').meta({
    title: 'Question',
    description:
      'classes: which lie deeper; keel_distance: does depth change away from the ship axis; intrusive: do later finds lie higher than the ship’s',
  }),
  first: classNames('First classes', 'Classes to compare; none = each class against the rest, or the two chosen'),
  second: classNames('Second classes', 'What the first are compared with; none = all other finds chosen'),
  lower_surface: z.enum(lowerSurfaces).default('deposit_bottom').meta({
    title: 'Lower surface',
    description: 'What counts as depth 1: the bottom of the deposit, hard substrate, or where digging stopped',
  }),
  top_season: z.enum(['find', 'opening']).default('find').meta({
    title: 'Season of the top',
    description:
      'find: the top levelled in the season of the find, unless it was disturbed by then; opening: that of the season that first opened the ground',
  }),
  ground: z.enum(['dug_out', 'all']).default('dug_out').meta({
    title: 'Ground',
    description: 'dug_out: only ground dug down to the lower surface in the seasons chosen; all: half-dug ground too',
  }),
  disturbed_ground: z.enum(['keep', 'leave_out']).default('keep').meta({
    title: 'Disturbed ground',
    description: 'Finds inside contexts recorded as a disturbance',
  }),
  beyond_surfaces: z.enum(['leave_out', 'keep']).default('leave_out').meta({
    title: 'Finds beyond the surfaces',
    description:
      'Finds below the lower surface or above the top by more than two errors: list them and leave them out of the comparison (surface or elevation must be wrong, or they left the deposit), or keep them',
  }),
  z_ranges: z.enum(['middle', 'leave_out']).default('middle').meta({
    title: 'Ranges of elevation',
    description: 'Finds with a lowest and a highest elevation only: take the middle (error: range / √12), or leave out',
  }),
  level_sigma_m: z.number().min(0).max(10).default(0.03).meta({
    title: 'Error of a level',
    description: 'Standard deviation of level readings that state none',
    'x-ogc-unit': 'm',
  }),
  find_sigma_m: z.number().min(0).max(10).default(0.05).meta({
    title: 'Error of a find’s elevation',
    description: 'Standard deviation of elevations that state none',
    'x-ogc-unit': 'm',
  }),
  block_m: z.number().min(0.1).max(100).default(1).meta({
    title: 'Block',
    description: 'Side of the squares within which names are dealt out, where the finds name no square',
    'x-ogc-unit': 'm',
  }),
});
export type Parameters = z.output<typeof parameters>;

const interval = { low: plain('Lower end of 95 %').nullable(), high: plain('Upper end of 95 %').nullable() };
const difference = (title: string) =>
  z.strictObject({
    value_m: metres(title),
    low_m: metres('Lower end of 95 %').nullable(),
    high_m: metres('Upper end of 95 %').nullable(),
  });
const p = plain('Two-sided p: names dealt out within squares').nullable();

const comparison = z.strictObject({
  first: z.string().meta({ title: 'First group' }),
  second: z.string().meta({ title: 'Second group' }),
  n_first: counted('Finds of the first'),
  n_second: counted('Finds of the second'),
  units_first: counted('Units of the first that are dealt as one'),
  units_second: counted('Units of the second'),
  mean_first: plain('Mean relative depth of the first'),
  mean_second: plain('Mean relative depth of the second'),
  difference: plain('First less second: above 0 = the first lie deeper'),
  ...interval,
  expected_by_square: plain('Difference to be expected from the squares they lie in alone'),
  p_two_sided: p,
  p_deeper: plain('One-sided p: the first lie deeper').nullable(),
  p_shallower: plain('One-sided p: the first lie higher').nullable(),
  smallest_seen: plain('Smallest difference seen with 80 % power at the 5 % level').nullable(),
  shared_blocks: counted('Squares that hold both'),
  elevation: difference('Difference of mean elevation, up positive'),
  depth_below_top: difference('Difference of mean depth below the top'),
  height_above_bottom: difference('Difference of mean height above the lower surface'),
  mann_whitney: z
    .strictObject({
      u: plain('U'),
      z: plain('z'),
      p: plain('Two-sided p, squares and pots not allowed for'),
      share_deeper: plain('Share of pairs in which the first lies deeper'),
    })
    .nullable(),
  kolmogorov_smirnov: z.strictObject({ d: plain('D'), p: plain('p, squares and pots not allowed for') }).nullable(),
});

export const result = z.strictObject({
  effect_is: z.string().meta({ title: 'What the effect is' }),
  effect: plain('Effect').nullable(),
  low: interval.low,
  high: interval.high,
  p_two_sided: plain('Two-sided p').nullable(),
  sentence: z.string().meta({ title: 'Answer in one sentence' }),
  tests_made: counted('Tests made in this answer'),
  n: counted('Finds with a relative depth'),
  units: counted('Units that are dealt as one: finds, concretions, sherds of one pot in one square'),
  blocks: counted('Squares with such finds'),
  window_area_m2: squareMetres('Area of the window'),
  lower_surface: z.enum(lowerSurfaces).meta({ title: 'Lower surface' }),
  mean: plain('Mean relative depth: 0 top, 1 lower surface').nullable(),
  median_sigma: plain('Middle error of one relative depth').nullable(),
  comparison: comparison.nullable(),
  trend: z
    .strictObject({
      classes: counted('Classes of known material density'),
      n: counted('Units of known material density'),
      spearman_rho: plain('Rank correlation of relative depth with material density').nullable(),
      ...interval,
      p_two_sided: p,
      kendall_tau_b: plain('Kendall’s tau-b').nullable(),
    })
    .nullable(),
  keel_distance: z
    .strictObject({
      slope_per_m: plain('Change of relative depth for each metre off the ship axis').nullable(),
      ...interval,
      p_two_sided: plain('Two-sided p: squares drawn anew').nullable(),
      spearman_rho: plain('Rank correlation of relative depth with distance off the axis').nullable(),
    })
    .nullable(),
  kruskal_wallis: z
    .strictObject({ h: plain('H'), df: counted('Degrees of freedom'), p: plain('p, squares and pots not allowed for') })
    .nullable(),
  by_class: z.array(
    z.strictObject({
      artefact_class: z.string().nullable().meta({ title: 'Artefact class; none = unknown' }),
      n: counted('Finds with a relative depth'),
      units: counted('Units that are dealt as one'),
      without_elevation: counted('Finds of the class without an elevation'),
      left_out: counted('Finds of the class left out for other reasons'),
      mean: plain('Mean relative depth').nullable(),
      q25: plain('Lower quartile').nullable(),
      median: plain('Median relative depth').nullable(),
      q75: plain('Upper quartile').nullable(),
      median_elevation_m: metres('Median elevation').nullable(),
      median_depth_below_top_m: metres('Median depth below the top').nullable(),
      median_height_above_bottom_m: metres('Median height above the lower surface').nullable(),
      material_density: z.number().nullable().meta({ title: 'Material density', 'x-ogc-unit': 't/m3' }),
      against_rest: plain('Mean relative depth less that of the rest').nullable(),
      ...interval,
      p_two_sided: p,
      p_holm: plain('p raised for the number of classes (Holm)').nullable(),
    }),
  ),
  left_out: z.array(z.strictObject({ reason: z.string().meta({ title: 'Reason' }), count: counted('Finds') })),
  below_lower_surface: z.array(
    z.strictObject({
      find: z.string().meta({ title: 'Find' }),
      artefact_class: z.string().nullable().meta({ title: 'Artefact class' }),
      relative_depth: plain('Relative depth'),
      sigma: plain('Its standard error'),
      below_m: metres('Metres below the lower surface'),
    }),
  ),
  above_top: counted('Finds above the top by more than two standard errors'),
  ranges: counted('Finds placed at the middle of a range of elevation'),
  mixed_seasons: counted('Finds whose top and lower surface were levelled in different seasons'),
  over_hull: counted('Finds over articulated hull'),
  in_disturbed_ground: counted('Finds in disturbed ground'),
});
export type Summary = z.output<typeof result>;
export type Comparison = z.output<typeof comparison>;
