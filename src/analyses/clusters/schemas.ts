import * as z from 'zod';
import { counted, metres, perSquareMetre, plain, squareMetres } from '../../domain/units.js';

export const parameters = z.strictObject({
  method: z.enum(['density', 'k_means']).default('density').meta({
    title: 'Method',
    description: 'Whose clusters lead the answer, the table, the layer and the plan; both are always worked out',
  }),
  reach: z.number().positive().max(1000).nullable().default(null).meta({
    title: 'Reach',
    description:
      'Density clusters: finds no farther apart are neighbours; none = the distance at which 1 in 100 finds of a random scatter of as many finds per m² would be a core',
    'x-ogc-unit': 'm',
  }),
  min_finds: z.int().min(2).max(1000).nullable().default(null).meta({
    title: 'Finds of a core',
    description:
      'Density clusters: finds within the reach, the find itself counted, that make a core; none = 4, or the natural logarithm of the number of finds where that is more',
  }),
  k: z.int().min(1).max(50).nullable().default(null).meta({
    title: 'Groups',
    description:
      'k-means: number of groups; none = the number the gap speaks for, and no groups where the gap stays inside the band',
  }),
  k_max: z.int().min(1).max(50).nullable().default(null).meta({
    title: 'Most groups',
    description: 'k-means: the curve runs from 1 to this many groups; none = 10, or a fifth of the finds where fewer',
  }),
  restarts: z.int().min(1).max(1000).default(10).meta({
    title: 'Restarts',
    description: 'k-means: how often it starts anew from other seeds; the best end counts',
  }),
});
export type Parameters = z.output<typeof parameters>;

const verdict = (title: string) =>
  z
    .boolean()
    .nullable()
    .meta({ title: `${title}; none = no simulations` });

const density = z.strictObject({
  reach_m: metres('Reach').nullable(),
  reach_rule: z.string().meta({ title: 'Where the reach comes from' }),
  min_finds: counted('Finds within the reach that make a core'),
  min_finds_rule: z.string().meta({ title: 'Where that number comes from' }),
  clusters: counted('Density clusters'),
  clustered: counted('Finds in clusters'),
  cores: counted('Of them, cores'),
  outside: counted('Finds in no cluster'),
  share: plain('Share of finds in clusters').nullable(),
  random: z
    .strictObject({
      share: plain('Mean share of random scatters').nullable(),
      share_low: plain('Share that 2.5 % of random scatters stay below'),
      share_high: plain('Share that 2.5 % of random scatters exceed'),
      clusters_low: counted('Clusters: lower end of the middle 95 % of random scatters'),
      clusters_high: counted('Clusters: upper end'),
    })
    .nullable(),
  p_clustered: plain('Share of random scatters with as many finds in clusters, ties by nearness of pairs').nullable(),
  better_than_random: verdict('Whether more finds lie in clusters than chance would have it'),
});

const kMeans = z.strictObject({
  k: counted('Groups').nullable(),
  k_rule: z.string().meta({ title: 'Where that number comes from' }),
  k_max: counted('Groups up to which the curve runs'),
  restarts: counted('Restarts'),
  seed: counted('Seed'),
  start: z.string().meta({ title: 'How a restart is seeded' }),
  sse_m2: squareMetres('Sum of squared distances to the own centre, at k').nullable(),
  sse_share_of_random: plain('The same over that of random points').nullable(),
  restarts_at_best: counted('Restarts that ended at this sum').nullable(),
  p: plain('Share of random scatters whose curve is as extreme anywhere').nullable(),
  better_than_random: verdict('Whether the sum at k lies below the band'),
  curve: z.array(
    z.strictObject({
      k: counted('Groups'),
      sse_m2: squareMetres('Sum of squares of the finds'),
      random_sse_m2: squareMetres('Sum of squares of random points, geometric mean').nullable(),
      gap: plain('ln (random / finds)').nullable(),
      gap_error: plain('Simulation error of the gap').nullable(),
      low_m2: squareMetres('Lower end of the band over the whole curve').nullable(),
      high_m2: squareMetres('Upper end').nullable(),
      below_band: z.boolean().nullable().meta({ title: 'Whether the finds lie below the band here' }),
    }),
  ),
});

const content = z.array(
  z.strictObject({
    name: z.string().nullable().meta({ title: 'Name; none = unknown' }),
    count: plain('Count, after the count unit'),
  }),
);

export const result = z.strictObject({
  sentence: z.string().meta({ title: 'The answer in a sentence' }),
  method: z.enum(['density', 'k_means']).meta({ title: 'Method that leads' }),
  tests_made: counted('Tests made: the share in density clusters, the curve of k-means'),
  n: counted('Finds used'),
  window_area_m2: squareMetres('Area of the window'),
  coincident: counted('Finds that share their place with another'),
  density,
  k_means: kMeans,
  clusters: z.array(
    z.strictObject({
      cluster: counted('Number, 1 = the largest; 0 = finds in no cluster'),
      n: counted('Finds'),
      count: plain('Count, after the count unit'),
      centre_x_m: metres('Mean position, east along the site grid').nullable(),
      centre_y_m: metres('Mean position, north along the site grid').nullable(),
      hull_area_m2: squareMetres('Area of its hull').nullable(),
      dug_m2: squareMetres('Dug ground in its hull').nullable(),
      per_m2: perSquareMetre('Count per m² of dug ground in its hull').nullable(),
      classes: content,
      seasons: content,
    }),
  ),
});
export type Summary = z.output<typeof result>;
