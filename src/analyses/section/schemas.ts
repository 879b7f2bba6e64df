import * as z from 'zod';
import { counted, metres, plain, squareMetres } from '../../domain/units.js';

const place = z.tuple([z.number(), z.number()]);

export const parameters = z.strictObject({
  line: z
    .union([z.string(), z.array(place).min(2).max(1000)])
    .default('axis')
    .meta({
      title: 'Section line',
      description:
        'Two places or more [[x, y], …] in site-grid metres (as text "2,3 10,8"), axis for the ship axis, row:7 or column:E for a line of nodes',
    }),
  step_m: z.number().min(0.001).max(1000).default(0.25).meta({
    title: 'Step',
    description: 'Distance at which surfaces are read along the line; bends are always read',
    'x-ogc-unit': 'm',
  }),
  band_m: z.number().min(0).max(1000).default(0.5).meta({
    title: 'Band',
    description: 'Finds up to so far on either side are carried onto the section',
    'x-ogc-unit': 'm',
  }),
  exaggeration: z.number().min(0.1).max(100).default(2).meta({
    title: 'Vertical exaggeration',
    description: 'How many times heights are drawn larger than lengths',
    'x-ogc-unit': '1',
  }),
  node_value: z.enum(['newest', 'mean']).default('newest').meta({
    title: 'Several seasons at a node',
    description: 'Take the newest of the seasons chosen, or the mean of all of them',
  }),
  missing_corner: z.enum(['none', 'triangle']).default('none').meta({
    title: 'Missing corner',
    description: 'A square with three nodes: no value, or the plane of the three inside their triangle',
  }),
});
export type Parameters = z.output<typeof parameters>;

const bySurface = z.record(z.string(), metres('Elevation in the site datum').nullable());

export const result = z.strictObject({
  n: counted('Finds carried onto the section'),
  finds_without_z: counted('Of them without any elevation: in table and layer, not drawn'),
  line: z.string().meta({ title: 'Section line' }),
  length_m: metres('Length of the section'),
  step_m: metres('Step'),
  band_m: metres('Band on either side'),
  exaggeration: plain('Vertical exaggeration'),
  surfaces: z.array(
    z.strictObject({
      name: z.string(),
      known_m: metres('Length along which it is known'),
      lowest_m: metres('Lowest elevation').nullable(),
      highest_m: metres('Highest elevation').nullable(),
    }),
  ),
  thickness: z
    .strictObject({
      known_m: metres('Length along which top and bottom are known'),
      area_m2: squareMetres('Area of the cut deposit'),
      mean_m: metres('Mean thickness'),
      least_m: metres('Least thickness'),
      largest_m: metres('Largest thickness'),
    })
    .nullable()
    .meta({ title: 'Thickness of the deposit along the section' }),
  bathymetry: z
    .strictObject({
      vertical_datum: z.string().meta({ title: 'Vertical datum it was surveyed in' }),
      uncertainty: z.string().meta({ title: 'Error of the survey, as stated' }),
      offset_to_site_datum_m: metres('Elevation of the site zero in that datum; null = not tied').nullable(),
      tie_sigma_m: metres('Standard deviation of that tie').nullable(),
      known_m: metres('Length along which it is known in the site datum'),
      combined_sigma_m: metres('Standard deviation in the site datum: survey and tie together').nullable(),
      against_levels: z
        .strictObject({
          surface: z.string(),
          places: counted('Places where both are known'),
          mean_above_m: metres('Mean height of the bathymetry above the levelled surface'),
          combined_95_m: metres('95 % of both errors and the tie, as shared along the line'),
          within_95: z.boolean().meta({ title: 'The two agree within their errors' }),
        })
        .nullable()
        .meta({ title: 'Against the seabed of the levels: two different surveys, never one surface' }),
    })
    .nullable()
    .meta({ title: 'Bathymetry along the section; null = the site has none' }),
  profile: z.array(
    z.strictObject({
      along_m: metres('Along the section'),
      local_x_m: metres('local_x'),
      local_y_m: metres('local_y'),
      elevation_m: bySurface,
      sigma_m: bySurface,
      thickness_m: metres('Thickness').nullable(),
    }),
  ),
});
export type Summary = z.output<typeof result>;
