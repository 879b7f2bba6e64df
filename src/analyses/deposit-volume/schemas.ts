import * as z from 'zod';
import { counted, metres, plain, squareMetres } from '../../domain/units.js';

const cubicMetres = (title: string) => z.number().meta({ title, 'x-ogc-unit': 'm3' });

const surfaceNames = ['seabed_before', 'deposit_top', 'deposit_bottom', 'excavation_limit', 'hard_substrate'] as const;

export const parameters = z.strictObject({
  top: z.enum(surfaceNames).default('deposit_top').meta({
    title: 'Upper surface',
    description: 'The volume lies below this surface',
  }),
  bottom: z.enum(surfaceNames).default('deposit_bottom').meta({
    title: 'Lower surface',
    description: 'The volume lies above this surface; the limit of excavation gives what was really dug there',
  }),
  node_value: z.enum(['newest', 'mean']).default('newest').meta({
    title: 'Several seasons at one node',
    description: 'Use the newest season that has both surfaces, or the mean of all seasons',
  }),
  sigma_random_m: z.number().min(0).max(10).nullable().default(null).meta({
    title: 'Random error of a level',
    description: 'Standard deviation of one reading; none = as each reading states, 0.03 m where it states none',
    'x-ogc-unit': 'm',
  }),
  sigma_shared_m: z.number().min(0).max(10).default(0.03).meta({
    title: 'Shared error',
    description: 'Standard deviation of a shift that all nodes of one surface have against the other (datum, tide)',
    'x-ogc-unit': 'm',
  }),
  shared_error: z.enum(['separate', 'cancels']).default('separate').meta({
    title: 'Shared error of top and bottom',
    description: 'separate: each surface was tied to the datum for itself; cancels: both share the error',
  }),
  isopach_interval_m: z.number().min(0.001).max(100).nullable().default(null).meta({
    title: 'Isopach interval',
    description: 'Step between isopachs; none = a round step that makes about eight',
    'x-ogc-unit': 'm',
  }),
  layer: z.enum(['squares', 'isopach_areas', 'isopach_lines']).default('squares').meta({
    title: 'Layer',
    description:
      'What the features are: squares with thickness and volume, the ground between isopachs, or the isopachs as lines',
  }),
  cell_m: z.number().positive().nullable().default(null).meta({
    title: 'Cell',
    description: 'Side of the cells of the thickness surface; none = a quarter of the node spacing',
    'x-ogc-unit': 'm',
  }),
  keel_bin_m: z.number().positive().max(100).default(0.5).meta({
    title: 'Strip beside the keel',
    description: 'Width of the strips in which thickness is averaged against distance from the keel',
    'x-ogc-unit': 'm',
  }),
  keel_block_m: z.number().positive().max(100).default(3).meta({
    title: 'Block along the keel',
    description: 'Length of the stretches of keel that are drawn as a whole for the band',
    'x-ogc-unit': 'm',
  }),
});
export type Parameters = z.output<typeof parameters>;

const interval = z.strictObject({ low: cubicMetres('From'), high: cubicMetres('To') });

const row = z.strictObject({
  name: z.string(),
  area_m2: squareMetres('Area'),
  measured_m2: squareMetres('Area with a level at all four nodes'),
  volume_m3: cubicMetres('Volume'),
  positive_m3: cubicMetres('Where top lies above bottom'),
  negative_m3: cubicMetres('Where top lies below bottom'),
  mean_thickness_m: metres('Mean thickness').nullable(),
  sigma_random_m3: cubicMetres('Random error'),
  sigma_shared_m3: cubicMetres('Shared error'),
  sigma_m3: cubicMetres('Both errors'),
  interval95_m3: interval,
  dug_m2: squareMetres('Area dug, dug fractions counted').nullable(),
  dug_m3: cubicMetres('Volume dug of the area measured, dug fractions counted').nullable(),
  left_m3: cubicMetres('Volume left in the area').nullable(),
  below_limit_m3: cubicMetres('Volume between the limit of excavation and the bottom').nullable(),
  whole_estimate_m3: cubicMetres('Guess for all the area, at the mean thickness of the measured part').nullable(),
});

const strip = z.strictObject({
  from_m: metres('From, positive to port'),
  to_m: metres('To'),
  n: counted('Nodes'),
  mean_m: metres('Mean thickness').nullable(),
  low_m: metres('Lower end of the 95 % band').nullable(),
  high_m: metres('Upper end of the 95 % band').nullable(),
});

export const result = z.strictObject({
  n: counted('Nodes with both levels'),
  squares: counted('Cells with four nodes'),
  squares_without: counted('Cells that lack a node'),
  column_step_m: metres('Distance of nodes along a row'),
  row_step_m: metres('Distance of nodes along a column'),
  cell_area_m2: squareMetres('Area of a cell'),
  window_area_m2: squareMetres('Window'),
  area_m2: squareMetres('Area measured: its volume is given'),
  unmeasured_m2: squareMetres('Area of the window without a volume'),
  volume_m3: cubicMetres('Volume'),
  sigma_m3: cubicMetres('Both errors'),
  sigma_random_m3: cubicMetres('Random error of the nodes'),
  sigma_shared_m3: cubicMetres('Error that all nodes share'),
  interval95_m3: interval.meta({ title: '95 % interval of the volume' }),
  whole_estimate: z
    .strictObject({
      volume_m3: cubicMetres('Guess'),
      sigma_m3: cubicMetres('Its error'),
      interval95_m3: interval,
    })
    .nullable()
    .meta({ title: 'Guess for all the window, at the mean thickness of the measured part; not measured' }),
  positive_m3: cubicMetres('Where top lies above bottom'),
  negative_m3: cubicMetres('Where top lies below bottom'),
  prisms_m3: z
    .strictObject({
      sw_ne: cubicMetres('Triangles that share the south-west and north-east nodes'),
      se_nw: cubicMetres('Triangles that share the south-east and north-west nodes'),
    })
    .nullable()
    .meta({ title: 'The same cells as triangular prisms, where they differ' }),
  mean_thickness_m: metres('Mean thickness').nullable(),
  min_thickness_m: metres('Least thickness at a node'),
  max_thickness_m: metres('Largest thickness at a node'),
  thickness_sigma_m: metres('Random error of a node thickness, root mean square'),
  inverted_nodes: counted('Nodes with the bottom above the top'),
  dug_m2: squareMetres('Area dug, each spot once, dug fractions counted'),
  dug_m3: cubicMetres('Volume dug of the area measured, each spot once, dug fractions counted'),
  left_m3: cubicMetres('Volume left in part-dug ground'),
  undug: z
    .strictObject({
      area_m2: squareMetres('Area'),
      measured_m2: squareMetres('Of it with levels at all four nodes'),
      volume_m3: cubicMetres('Volume of that part').nullable(),
      estimate_m3: cubicMetres('Volume of all of it, the rest guessed at the mean thickness measured').nullable(),
      sigma_m3: cubicMetres('Its error').nullable(),
    })
    .nullable()
    .meta({ title: 'Ground planned or opened and not dug in the seasons chosen' }),
  shared_error: z.enum(['separate', 'cancels']).meta({ title: 'Shared error of top and bottom' }),
  node_value: z.enum(['newest', 'mean']).meta({ title: 'Several seasons at one node' }),
  isopach_interval_m: metres('Isopach interval'),
  isopachs: z.array(
    z.strictObject({
      level_m: metres('Isopach'),
      area_m2: squareMetres('Area at least so thick'),
      share: plain('Share of the measured area').nullable(),
    }),
  ),
  by_season: z.array(row).meta({ title: 'By season: ground dug twice counts in both' }),
  by_progress: z.array(row).meta({ title: 'By state of digging' }),
  by_zone: z.array(row).meta({ title: 'By zone of the ship' }),
  keel: z
    .strictObject({
      n: counted('Nodes abreast of the keel'),
      blocks: counted('Blocks along the keel'),
      strips: z.array(strip),
    })
    .nullable()
    .meta({ title: 'Thickness against signed distance from the keel, positive to port' }),
  bathymetry: z
    .strictObject({
      n: counted('Nodes with a thickness that lie on the bathymetry'),
      vertical_datum: z.string().meta({ title: 'Vertical datum of the bathymetry' }),
      uncertainty: z.string().meta({ title: 'Error of the bathymetry, as stated' }),
      survey_sigma_m: metres('Standard deviation of the bathymetry at a node'),
      relief_sd_m: metres('Spread of the bathymetry at the nodes about its plane'),
      thickness_sd_m: metres('Spread of the thickness at these nodes'),
      thickness_sigma_m: metres('Random standard deviation of the thickness at a node'),
      rank_correlation: plain('Spearman’s rank correlation of height above the plane and thickness').nullable(),
      highs: counted('Nodes where the bathymetry stands above its plane by more than its 95 % error'),
      mean_thickness_on_highs_m: metres('Mean thickness there').nullable(),
      mean_thickness_elsewhere_m: metres('Mean thickness at the other nodes').nullable(),
    })
    .nullable()
    .meta({ title: 'Whether highs of the bathymetry stand where the deposit is thick: compared, never subtracted' }),
});
export type Summary = z.output<typeof result>;
