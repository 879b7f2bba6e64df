import * as z from 'zod';
import { counted, degrees, metres, plain } from '../../domain/units.js';

/** Own inputs of survey-adjustment. */
export const parameters = z.strictObject({
  dimensions: z
    .union([z.enum(['auto', '2', '3']), z.number().min(2).max(3).multipleOf(1)])
    .default('auto')
    .meta({
      title: 'Dimensions',
      description: 'auto: 3 where control has elevations and the readings fix the points in space, else 2 (plan)',
    }),
  start: z
    .array(z.strictObject({ name: z.string(), x: z.number(), y: z.number(), z: z.number().nullable().optional() }))
    .nullable()
    .default(null)
    .meta({
      title: 'Approximate positions',
      description:
        'Where points lie roughly, in metres of the grid; they decide between places that fit equally well. none = places found from the readings, and listed places of detail points',
    }),
  sigma_m: z.number().positive().max(100).default(0.025).meta({
    title: 'Standard deviation where none is stated',
    description: 'Of readings without a sigma of their own; 0.025 is a fibreglass tape under water',
    'x-ogc-unit': 'm',
  }),
  slope: z.enum(['reduce', 'as_read']).default('reduce').meta({
    title: 'Slope of tapes in plan',
    description:
      'In 2 dimensions: reduce = tapes between points of known elevation are reduced to the horizontal; as_read = they are taken as horizontal',
  }),
  tide: z.enum(['reduce', 'as_read']).default('reduce').meta({
    title: 'Tide in depth readings',
    description: 'reduce: depths of a reading series with tide readings lose the tide; as_read: they do not',
  }),
  zero_depth_elevation_m: z.number().default(0).meta({
    title: 'Elevation of zero depth',
    description: 'Elevation, in the site datum, of the level that depth readings are counted down from',
    'x-ogc-unit': 'm',
  }),
  test: z.enum(['baarda', 'pope']).default('baarda').meta({
    title: 'Test for gross errors',
    description: 'baarda: the stated sigmas are trusted; pope: their common size is estimated from the readings',
  }),
  alpha: z.number().gt(0).lt(0.5).nullable().default(null).meta({
    title: 'Share of good readings that may be called suspect',
    description: 'none = 0.001 for baarda (critical value 3.29), 0.05 for pope',
  }),
  suspects: z.enum(['keep', 'set_aside']).default('keep').meta({
    title: 'Suspect readings',
    description: 'keep: the positions come from all readings; set_aside: from those left when suspects are taken out',
  }),
  set_aside: z.array(z.int().min(1)).default([]).meta({
    title: 'Rows set aside',
    description: 'Rows of the measurements that take no part, counted from 1 without the heading',
  }),
});
export type Parameters = z.output<typeof parameters>;

const ellipse = z.strictObject({
  semi_major_m: metres('Longer half axis'),
  semi_minor_m: metres('Shorter half axis'),
  azimuth_deg: degrees('Azimuth of the longer axis, clockwise from site_north'),
});
const axes = z.strictObject({ semi_major_m: metres('Longer half axis'), semi_minor_m: metres('Shorter half axis') });

const position = {
  x: metres('x'),
  y: metres('y'),
  z: metres('Elevation, up-positive').optional(),
};

const pointResult = z.strictObject({
  ...position,
  sx: metres('Standard deviation of x, sigmas trusted'),
  sy: metres('Standard deviation of y, sigmas trusted'),
  sz: metres('Standard deviation of the elevation, sigmas trusted').optional(),
  ellipse: ellipse.meta({ title: 'Standard error ellipse (39 %), sigmas trusted' }),
  ellipse_95: axes.meta({ title: '95 % ellipse, sigmas trusted: factor 2.4477' }),
  ellipse_95_a_posteriori: axes
    .nullable()
    .meta({ title: '95 % ellipse with the variance factor estimated: factor √(2 F(2, r))' }),
  readings: counted('Readings that touch the point'),
  best_cut_deg: degrees('Best angle at which two tapes cut; 90 is best').nullable(),
  weak: z.boolean().meta({ title: 'To be measured again: flat cut, or nothing checks it' }),
});

const words = (title: string) => z.string().nullable().meta({ title });

/** What survey-adjustment answers. */
export const result = z.strictObject({
  dimensions: z.int().meta({ title: 'Dimensions of the adjustment' }),
  points: z.record(z.string(), pointResult).meta({ title: 'Adjusted points by name' }),
  variance_factor: plain('vᵀPv over redundancy; near 1 when the sigmas are right').nullable(),
  redundancy: counted('Readings more than unknown coordinates'),
  measurements: z.array(
    z.strictObject({
      row: counted('Row of the file'),
      from: words('From'),
      to: words('To'),
      kind: z.string().meta({ title: 'Kind' }),
      value: metres('Reading').nullable(),
      reduced: metres('Reading as adjusted: slope or tide taken off, elevation for a depth').nullable(),
      sigma: metres('Standard deviation used').nullable(),
      state: z.enum(['used', 'set_aside', 'not_used']).meta({ title: 'Took part' }),
      residual: metres('Adjusted less observed').nullable(),
      redundancy: plain('Share of an error that shows in the residual').nullable(),
      normalised: plain('Residual over its standard deviation, sigmas trusted').nullable(),
      tau: plain('The same with the variance factor estimated').nullable(),
      mdb: metres('Smallest gross error the test would find').nullable(),
      suspect: z.boolean().meta({ title: 'Suspect' }),
      error: metres('Suspects: how much too long or too high the reading is').nullable(),
      cause: words('Likely cause, or why it took no part'),
    }),
  ),
  mirror: z
    .strictObject({
      points: z.record(z.string(), z.strictObject(position)).meta({ title: 'Other places that fit equally well' }),
      chosen_by: z.enum(['rule', 'start']).meta({
        title: 'rule: left of the first → last control point, in 3-D the higher; start: approximate positions',
      }),
    })
    .nullable(),
  undetermined: z.array(
    z.strictObject({
      name: z.string().meta({ title: 'Point' }),
      reason: z.string().meta({ title: 'Why it is not placed' }),
    }),
  ),
  network: z.strictObject({
    found: counted('Points found'),
    fixed: counted('Control points held fixed that readings touch'),
    readings: counted('Readings that took part'),
    unknowns: counted('Unknown coordinates'),
    vtpv: plain('vᵀPv'),
    global_test_p: plain('Probability of a vᵀPv as large when all sigmas are right').nullable(),
    rms_residual_m: metres('Root mean square residual').nullable(),
    critical_normalised: plain('Normalised residuals beyond this are suspect').nullable(),
    suspects: counted('Suspect readings'),
    unchecked: counted('Readings that no other checks'),
    mean_position_sigma_m: metres('Mean over the points of √(sx² + sy²)').nullable(),
    largest_ellipse: z
      .strictObject({ point: z.string(), ...ellipse.shape, semi_major_95_m: metres('Longer half axis, 95 %') })
      .nullable(),
  }),
});
export type Summary = z.output<typeof result>;
