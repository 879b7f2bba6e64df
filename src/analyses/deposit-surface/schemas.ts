import * as z from 'zod';
import { counted, metres, plain, squareMetres } from '../../domain/units.js';
import { variogramKinds } from '../../math/variogram.js';

const surfaces = [
  'seabed_before',
  'deposit_top',
  'deposit_bottom',
  'excavation_limit',
  'hard_substrate',
  'thickness',
] as const;

const methods = ['bilinear', 'tin', 'inverse-distance', 'ordinary-kriging'] as const;

const squareMetre = (title: string) => z.number().meta({ title, 'x-ogc-unit': 'm2' });

export const parameters = z.strictObject({
  surface: z.enum(surfaces).default('deposit_top').meta({
    title: 'Surface',
    description: 'Which levels: a levelled surface, or thickness (deposit_top less deposit_bottom, node by node)',
  }),
  method: z.enum(methods).default('bilinear').meta({
    title: 'Method',
    description:
      'Between the four nodes of each square (bilinear), in triangles (tin), by inverse distance, or by ordinary kriging with its variance',
  }),
  node_value: z.enum(['newest', 'mean']).default('newest').meta({
    title: 'Several seasons at a node',
    description: 'Take the newest of the seasons chosen, or the mean of all of them',
  }),
  missing_corner: z.enum(['none', 'triangle']).default('none').meta({
    title: 'Missing corner',
    description: 'bilinear, a square with three nodes: no value, or the plane of the three inside their triangle',
  }),
  model: z.enum(variogramKinds).default('spherical').meta({
    title: 'Variogram model',
    description: 'Kriging: how levels become unlike with distance',
  }),
  nugget: z.number().min(0).nullable().default(null).meta({
    title: 'Nugget',
    description: 'Kriging: variance of two levels at (almost) one place; none = fitted',
    'x-ogc-unit': 'm2',
  }),
  sill: z.number().min(0).nullable().default(null).meta({
    title: 'Partial sill',
    description: 'Kriging: variance that distance adds to the nugget; none = fitted',
    'x-ogc-unit': 'm2',
  }),
  range: z.number().positive().nullable().default(null).meta({
    title: 'Range parameter',
    description:
      'Kriging: a of the model; a spherical model is flat beyond a, an exponential one has 95 % of its sill at 3a, a Gaussian one at √3 a; none = fitted',
    'x-ogc-unit': 'm',
  }),
  lag_m: z.number().positive().nullable().default(null).meta({
    title: 'Lag',
    description: 'Width of the distance classes of the variogram; none = a fifteenth of the cut-off',
    'x-ogc-unit': 'm',
  }),
  cutoff_m: z.number().positive().nullable().default(null).meta({
    title: 'Cut-off',
    description: 'Largest distance in the variogram; none = a third of the diagonal of the levels',
    'x-ogc-unit': 'm',
  }),
  exponent: z.number().min(0.1).max(20).default(2).meta({
    title: 'Power',
    description: 'Inverse distance: weights are 1 / distance to this power',
  }),
  neighbours: z.int().min(1).nullable().default(null).meta({
    title: 'Neighbours',
    description: 'Inverse distance: only the nearest so many, ties included; none = all',
  }),
  cell_m: z.number().positive().nullable().default(null).meta({
    title: 'Cell',
    description: 'Side of the cells of the surface; none = a fifth of the node spacing, at most 512 to the longer side',
    'x-ogc-unit': 'm',
  }),
  cells_along: z.enum(['map', 'site_grid']).default('map').meta({
    title: 'Cells along',
    description:
      'map: rows and columns of the surface lie along the projected CRS; site_grid: along the site grid, so that squares hold whole cells (the file then states its turn)',
  }),
  contour_interval_m: z.number().positive().nullable().default(null).meta({
    title: 'Contour interval',
    description: 'Step between contour lines; none = a round step that makes about ten',
    'x-ogc-unit': 'm',
  }),
  mesh: z.enum(['none', 'quads', 'triangles']).default('none').meta({
    title: 'Mesh in space',
    description:
      'Also give the surface as polygons of x, y, z in site-grid metres: between the nodes of the grid (bilinear), the triangles (tin) or the raster’s cells; triangles = four-cornered cells are cut from south-west to north-east. Not made together with at',
  }),
  at: z
    .array(z.tuple([z.number(), z.number()]))
    .max(100_000)
    .nullable()
    .default(null)
    .meta({
      title: 'Places',
      description: 'Site-grid places [x, y] in metres to read the surface at, never masked; no grid is then made',
    }),
  mask: z.enum(['three_nodes', 'window', 'none']).default('three_nodes').meta({
    title: 'Mask',
    description:
      'Where the surface has values: in squares with at least three nodes (without a grid: within the outline of the levels), there and in the dug area, or everywhere the method reaches (then flagged)',
  }),
});
export type Parameters = z.output<typeof parameters>;

const value = (title: string) => metres(title).nullable();

export const result = z.strictObject({
  n: counted('Nodes used'),
  readings: counted('Readings behind them'),
  surface: z.enum(surfaces).meta({ title: 'Surface' }),
  method: z.enum(methods).meta({ title: 'Method' }),
  node_value: z.enum(['newest', 'mean']).meta({ title: 'Several seasons at a node' }),
  seasons: z.array(z.string()).meta({ title: 'Seasons of the levels used; empty text = not named' }),
  min_elevation_m: metres('Lowest node (for thickness: smallest)'),
  max_elevation_m: metres('Highest node'),
  mean_elevation_m: metres('Mean of the nodes'),
  mean_surface_m: value('Mean of the surface over its area'),
  area_m2: squareMetres('Ground with a value').nullable(),
  area_beyond_nodes_m2: squareMetres('Of it beyond the ground that was levelled').nullable(),
  cell_m: value('Cell of the surface'),
  mesh_cells: counted('Cells of the mesh in space').nullable(),
  contour_interval_m: value('Contour interval'),
  node_spacing_m: value('Node spacing'),
  squares_four_nodes: counted('Squares with all four nodes').nullable(),
  squares_three_nodes: counted('Squares with three of their nodes').nullable(),
  missing_nodes: counted('Nodes that such squares lack').nullable(),
  beside_grid: counted('Levels beside every grid'),
  prediction: z.array(value('Value')).meta({ title: 'Values at the places asked' }),
  variance: z.array(squareMetre('Variance').nullable()).meta({ title: 'Variances at the places asked' }),
  at: z.array(z.strictObject({ x_m: metres('local_x'), y_m: metres('local_y') })).meta({ title: 'The places asked' }),
  variogram: z
    .strictObject({
      model: z.enum(variogramKinds).meta({ title: 'Model' }),
      nugget: squareMetre('Nugget'),
      sill: squareMetre('Partial sill'),
      range: metres('Range parameter'),
      sse: plain('Weighted sum of squares against the classes'),
      fitted: z.array(z.enum(['nugget', 'sill', 'range'])).meta({ title: 'What was fitted' }),
      range_at_boundary: z.boolean().meta({ title: 'The range ran to the end of what was searched' }),
      bins: z.array(
        z.strictObject({
          pairs: counted('Pairs'),
          distance_m: metres('Mean distance'),
          gamma_m2: squareMetre('Half the mean squared difference'),
        }),
      ),
    })
    .nullable(),
  leave_one_out: z
    .strictObject({
      n: counted('Nodes left out in turn'),
      mean_error_m: metres('Mean error: level less prediction'),
      rmse_m: metres('Root mean squared error'),
      mean_standardised: plain('Mean of error / predicted standard deviation').nullable(),
      rms_standardised: plain('Root mean square of it: 1 when the variances are right').nullable(),
      largest_error_m: metres('Largest error'),
      largest_error_node: z.string().nullable().meta({ title: 'Node of the largest error' }),
    })
    .nullable(),
});
export type Summary = z.output<typeof result>;
