import * as z from 'zod';
import { counted, metres, perSquareMetre, plain, squareMetres } from '../../domain/units.js';
import { trends } from './trend.js';

const length = (title: string, description: string, value: number) =>
  z.number().min(0).max(100).default(value).meta({ title, description, 'x-ogc-unit': 'm' });

export const questions = ['hull_limits', 'scatter_limits', 'class_boundary'] as const;

export const parameters = z.strictObject({
  question: z.enum(questions).default('hull_limits').meta({
    title: 'Question',
    description:
      'What a square should settle: how far the hull goes on, how far the scatter reaches, or where one class gives way to another',
  }),
  candidates: z.enum(['planned', 'edge']).default('planned').meta({
    title: 'Candidates',
    description:
      'planned: unfinished and planned squares; edge: also every undug square that shares a side with dug ground',
  }),
  trend: z
    .enum(['best', ...trends])
    .default('best')
    .meta({
      title: 'Trend',
      description:
        'Terms of the log rate: none (one mean rate), distance to the hull, place (linear or quadratic in east and north), or both; best = the one that foretells dug squares best when their neighbourhood is left out',
    }),
  neighbour_m: length('Neighbourhood', 'Dug squares whose middles lie no farther give the rate beside the trend', 2),
  extrapolation_m: length(
    'Extrapolation',
    'A square whose middle lies farther than this from that of the nearest dug square is flagged',
    2,
  ),
  edge_m: length(
    'At the edge',
    'A hull feature that ends this near to the edge of the digging was cut off by it',
    0.25,
  ),
  continue_m: length('Continuation', 'Hull lines and the ship axis are drawn on so far beyond their ends', 2),
});
export type Parameters = z.output<typeof parameters>;

const square = z.strictObject({
  square: z.string().meta({ title: 'Square' }),
  rank: counted('Place by what it would settle of the question; 1 = most').nullable(),
  state: z.enum(['part_dug', 'planned', 'opened', 'undug']).meta({ title: 'State' }),
  ground_left_m2: squareMetres('Ground not yet dug').nullable(),
  found: plain('Count so far, after the count unit'),
  expected: plain('Count expected on the ground left').nullable(),
  expected_low: plain('95 % of such counts lie above').nullable(),
  expected_high: plain('95 % of such counts lie below').nullable(),
  per_m2: perSquareMetre('Rate of the trend').nullable(),
  per_m2_low: perSquareMetre('Lower end of the 95 % interval of the rate').nullable(),
  per_m2_high: perSquareMetre('Upper end').nullable(),
  neighbours: counted('Dug squares in the neighbourhood'),
  neighbours_per_m2: perSquareMetre('Count per m² in them').nullable(),
  chance_of_none: plain('Chance to find nothing').nullable(),
  distance_to_dug_m: metres('From its middle to that of the nearest dug square; 0 = it is dug in part').nullable(),
  extrapolated: z.boolean().meta({ title: 'Whether the prediction reaches beyond what was dug' }),
  distance_to_hull_m: metres('From its middle to the nearest hull feature').nullable(),
  hull_ends: z.array(z.string()).meta({ title: 'Hull features that end at its edge where the digging stopped' }),
  hull_points: z.array(z.string()).meta({ title: 'Hull features that would run into it further off' }),
  hull_seen: z.array(z.string()).meta({ title: 'Hull features seen in it' }),
  hull_projected: z.array(z.string()).meta({ title: 'Hull features drawn in it where hull is thought to have been' }),
  ship_axis: z.enum(['within', 'beyond_bow', 'beyond_after']).nullable().meta({
    title: 'Ship axis through it: within its length, or drawn on beyond an end',
  }),
  ship_axis_beyond_m: metres('How far beyond that end').nullable(),
  settles_value: plain('Measure of what it would settle of the question').nullable(),
  settles: z.string().meta({ title: 'What it would settle' }),
  reasons: z.string().meta({ title: 'Reasons' }),
});

const validation = z
  .strictObject({
    squares: counted('Dug squares foretold from the others'),
    covered: counted('Of them, with a count inside the 95 % interval'),
    coverage: plain('Share'),
    mean_error: plain('Mean difference of count and prediction'),
    mean_error_of_mean_rate: plain('The same if the mean rate foretold it'),
  })
  .nullable();

export const result = z.strictObject({
  sentence: z.string().meta({ title: 'The answer in a sentence' }),
  question: z.enum(questions).meta({ title: 'Question' }),
  settles_value_is: z.string().meta({ title: 'What settles_value measures' }),
  n: counted('Finds used'),
  total: plain('What they count together, after the count unit'),
  window_area_m2: squareMetres('Area of the window'),
  squares_dug: counted('Dug squares the trend rests on'),
  squares_proposed: counted('Unfinished, planned and edge squares'),
  squares_extrapolated: counted('Of them, beyond what the dug squares can tell'),
  expected_total: z
    .strictObject({
      squares: counted('Squares summed: those not extrapolated'),
      expected: plain('Count expected on all of their ground left'),
      low: plain('Lower end of the 95 % interval'),
      high: plain('Upper end'),
    })
    .nullable(),
  trend: z.enum(trends).nullable().meta({ title: 'Trend used; none when nothing could be fitted' }),
  trend_reason: z.string().nullable().meta({ title: 'Why it is not the one asked for' }),
  trends_tried: z.array(
    z.strictObject({
      trend: z.enum(trends).meta({ title: 'Trend' }),
      deviance_apart: plain('Mean deviance of dug squares foretold without their neighbourhood: small is good'),
    }),
  ),
  dispersion: plain('Variance of counts over the trend beyond chance: 1 = as chance has it').nullable(),
  terms: z.array(
    z.strictObject({
      term: z.string().meta({ title: 'Term of the log rate, metres from the grid origin' }),
      estimate: plain('Estimate'),
      standard_error: plain('Standard error, overdispersion included'),
    }),
  ),
  cross_validation: validation,
  cross_validation_apart: validation,
  boundary_classes: z.array(z.string().nullable()).meta({ title: 'The two classes of the boundary' }),
  squares: z.array(square),
});
export type Summary = z.output<typeof result>;
export type SquareRow = Summary['squares'][number];
