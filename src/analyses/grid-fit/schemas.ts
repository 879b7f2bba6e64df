import * as z from 'zod';
import { counted, degrees, metres, plain } from '../../domain/units.js';

/** Own inputs of grid-fit. */
export const parameters = z.strictObject({
  fixed_scale: z.number().min(0.5).max(2).nullable().default(null).meta({
    title: 'Fixed scale',
    description: 'Metres of the projected CRS for one metre of the grid, held instead of fitted; none = fitted',
    'x-ogc-unit': '1',
  }),
  point_scale: z.number().min(0.5).max(2).nullable().default(null).meta({
    title: 'Point scale of the projection',
    description: 'At the site; none = from lon and lat, or from the grid of the site',
    'x-ogc-unit': '1',
  }),
  lon: z.number().min(-180).max(180).nullable().default(null).meta({
    title: 'Longitude of the site',
    description: 'For convergence and point scale on UTM; none = from the grid of the site',
    'x-ogc-unit': 'deg',
  }),
  lat: z.number().min(-84).max(84).nullable().default(null).meta({
    title: 'Latitude of the site',
    description: 'For convergence and point scale on UTM',
    'x-ogc-unit': 'deg',
  }),
  utm_zone: z.int().min(1).max(60).nullable().default(null).meta({
    title: 'UTM zone',
    description: 'Where it is not the zone the longitude lies in',
  }),
  declination_deg: z.number().min(-180).max(180).nullable().default(null).meta({
    title: 'Magnetic declination',
    description: 'East positive, at the site and on the date; none = as the site states it',
    'x-ogc-unit': 'deg',
  }),
  declination_date: z.iso.date().nullable().default(null).meta({
    title: 'Date of the declination',
    description: 'It changes by some tenths of a degree a year',
  }),
});
export type Parameters = z.output<typeof parameters>;

const otherFit = (title: string) =>
  z
    .strictObject({
      rms_m: metres('Root mean square residual of that fit'),
      rotation_deg: degrees('Rotation of that fit, anticlockwise'),
      scale: plain('Scale of that fit'),
      note: z.string().meta({ title: 'What it means' }),
    })
    .nullable()
    .meta({ title });

/** What grid-fit answers. */
export const result = z.strictObject({
  n: counted('Common points'),
  rotation_deg: degrees('Rotation from grid to map axes, anticlockwise').nullable(),
  scale: plain('Metres of the projected CRS for one metre of the grid').nullable(),
  tx: metres('Easting of the grid origin').nullable(),
  ty: metres('Northing of the grid origin').nullable(),
  rms_m: metres('Root mean square residual of one coordinate').nullable(),
  rms_point_m: metres('Root mean square distance of the points from their given place').nullable(),
  sigma0_m: metres('Standard deviation of one coordinate').nullable(),
  sigma: z
    .strictObject({
      rotation_deg: degrees('Standard deviation of the rotation'),
      scale: plain('Standard deviation of the scale'),
      tx: metres('Standard deviation of tx'),
      ty: metres('Standard deviation of ty'),
    })
    .nullable(),
  redundancy: counted('Coordinates more than parameters').nullable(),
  scale_used: z.enum(['fitted', 'fixed']).nullable().meta({ title: 'Where the scale comes from' }),
  fitted_scale: plain('Scale when it is fitted').nullable(),
  extent_m: metres('Largest distance between common points, on the grid').nullable(),
  point_scale: plain('Point scale of the projection at the site').nullable(),
  scale_departure_mm: plain('Fitted scale less point scale over the extent, millimetres').nullable(),
  residuals: z.array(
    z.strictObject({
      name: z.string().meta({ title: 'Common point' }),
      easting_m: metres('Computed less given easting'),
      northing_m: metres('Computed less given northing'),
      length_m: metres('Distance of both places'),
      redundancy: plain('Share of an error that shows in the residual'),
    }),
  ),
  worst: z.strictObject({ name: z.string(), length_m: metres('Distance from its given place') }).nullable(),
  mirrored: otherFit('Fit of the mirrored grid, where it is better'),
  swapped: otherFit('Fit with x and y exchanged, where it is better'),
  mirrored_rms_m: metres('Root mean square residual of the mirrored fit; the exchanged fit has the same').nullable(),
  slips: z.array(
    z.strictObject({
      points: z.array(z.string()),
      kind: z.enum(['x and y exchanged', 'names exchanged']),
      rms_m: metres('Root mean square residual when that is undone'),
    }),
  ),
  season_shifts: z.array(
    z.strictObject({
      from_season: z.string().meta({ title: 'Season of the grid laid anew' }),
      to_season: z.string().meta({ title: 'Season it is compared with' }),
      n: counted('Control points observed in both'),
      points: z.array(z.string()),
      rotation_deg: degrees('Rotation that brings the later coordinates to the earlier, anticlockwise').nullable(),
      tx_m: metres('Shift of x after that rotation about the grid origin'),
      ty_m: metres('Shift of y after that rotation about the grid origin'),
      mean_shift_x_m: metres('Earlier less later x, mean over the points'),
      mean_shift_y_m: metres('Earlier less later y, mean over the points'),
      mean_shift_z_m: metres('Earlier less later elevation, mean over the points').nullable(),
      rms_m: metres('Root mean square residual of one coordinate after shift and rotation').nullable(),
      sigma_shift_m: metres('Standard deviation of the mean shift, each coordinate').nullable(),
      fitted_scale: plain('Scale between both when it is fitted').nullable(),
      grid: z
        .strictObject({
          origin_easting: metres('Easting of the later grid origin'),
          origin_northing: metres('Northing of the later grid origin'),
          azimuth_deg: degrees('Azimuth of its site_north from map_grid_north'),
        })
        .nullable()
        .meta({ title: 'The later grid on the map, through the declared first grid' }),
    }),
  ),
  norths: z.strictObject({
    site_north_deg: degrees('site_north from map_grid_north, clockwise').nullable(),
    true_north_deg: degrees('true_north from map_grid_north, clockwise').nullable(),
    magnetic_north_deg: degrees('magnetic_north from map_grid_north, clockwise').nullable(),
    convergence_deg: degrees('Convergence: positive where true_north lies west of map_grid_north').nullable(),
    declination_deg: degrees('Magnetic declination, east positive').nullable(),
    declination_date: z.string().nullable().meta({ title: 'Date of the declination' }),
  }),
});
export type Summary = z.output<typeof result>;
