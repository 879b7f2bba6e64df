import * as z from 'zod';
import { counted, degrees, metres, plain, squareMetres } from '../../domain/units.js';

export const parameters = z.strictObject({
  axial: z.boolean().default(true).meta({
    title: 'Axial',
    description: 'Long objects have no head and tail (timbers, bars); false: both ends are told apart (0 to 360°)',
  }),
  offset_from: z.enum(['ship_axis', 'hull']).default('ship_axis').meta({
    title: 'Offset from',
    description: 'ship_axis: from the line between its ends; hull: from the nearest articulated hull feature in place',
  }),
  drawing: z.enum(['auto', 'plan', 'rose']).default('auto').meta({
    title: 'Drawing',
    description:
      'plan: centres and ellipse; rose: directions of long objects; auto: rose when most finds are long objects',
  }),
});
export type Parameters = z.output<typeof parameters>;

const place = (title: string) => z.array(z.number()).length(2).nullable().meta({ title, 'x-ogc-unit': 'm' });
const p = (title: string) => plain(title).nullable();

const ellipse = z
  .strictObject({
    bearing_deg: degrees('Bearing of the longer axis from site_north, clockwise, 0 to 180').nullable(),
    semi_major_m: metres('Longer half axis: standard deviation along it, divisor n'),
    semi_minor_m: metres('Shorter half axis, divisor n'),
  })
  .nullable();

const offset = z.strictObject({
  off_axis_m: metres('Mean distance off the ship axis, positive to port').nullable(),
  expected_m: metres('The same of all finds of these seasons').nullable(),
  labelled_low_m: metres('Lower end of the middle 95 % when names are dealt out').nullable(),
  labelled_high_m: metres('Upper end').nullable(),
  p_off_axis: p('Two-sided p: further to one side than names dealt out'),
  offset_m: metres('Length of the mean step from hull or axis').nullable(),
  offset_bearing_deg: degrees('Bearing of that step from site_north').nullable(),
  downslope_m: metres('Its part down the slope of the deposit bottom').nullable(),
  expected_downslope_m: metres('The same of all finds of these seasons').nullable(),
  p_downslope: p('Two-sided p: further down or up the slope than names dealt out'),
  shift_m: metres('From the mean centre of all finds of these seasons').nullable(),
  shift_bearing_deg: degrees('Bearing of that shift from site_north').nullable(),
  p_shift: p('p: a shift as long when names are dealt out'),
});
export type Offset = z.output<typeof offset>;

export const result = z.strictObject({
  effect_is: z.string().meta({ title: 'What the effect is' }),
  effect: z.number().nullable().meta({ title: 'Effect' }),
  low: z.number().nullable().meta({ title: 'Lower end of 95 %' }),
  high: z.number().nullable().meta({ title: 'Upper end of 95 %' }),
  p_two_sided: p('p of the effect'),
  sentence: z.string().meta({ title: 'Answer in one sentence' }),
  tests_made: counted('Tests made in this answer'),
  n: counted('Finds used'),
  window_area_m2: squareMetres('Area of the window'),
  mean_centre: place('Mean centre: x, y'),
  median_centre: place('Median centre: x, y with the smallest sum of distances'),
  median_centre_unique: z.boolean().nullable().meta({ title: 'Whether no other place is as good a median centre' }),
  weighted_centre: place('Mean centre weighted by the count unit: x, y'),
  standard_distance_m: metres('Standard distance, divisor n').nullable(),
  ellipse,
  bearing_error_deg: degrees('Half width of the 95 % interval of the ellipse’s bearing, by resampling').nullable(),
  bearings: z
    .strictObject({
      site_north_deg: degrees('From site_north'),
      map_grid_north_deg: degrees('From map_grid_north'),
      true_north_deg: degrees('From true_north').nullable(),
      magnetic_north_deg: degrees('From magnetic_north').nullable(),
      magnetic_date: z.string().nullable().meta({ title: 'Date of the declination' }),
    })
    .nullable(),
  hull_area_m2: squareMetres('Area of the convex hull of the finds').nullable(),
  long_objects: z
    .strictObject({
      n: counted('Long objects with a direction'),
      axial: z.boolean().meta({ title: 'Axial' }),
      mean_direction_deg: degrees('Mean direction from site_north').nullable(),
      error_deg: degrees('Half width of its 95 % interval').nullable(),
      rbar: plain('Mean resultant: 0 no preference, 1 all alike'),
      standard_deviation_deg: degrees('Circular standard deviation').nullable(),
      rayleigh_z: plain('Rayleigh z'),
      rayleigh_p: plain('Rayleigh p after Greenwood & Durand'),
      rayleigh_p_series: plain('The same by the series'),
      rao_u_deg: degrees('Rao’s spacing: how unevenly the directions stand round the circle'),
      rao_p: p('Simulated p of Rao’s spacing'),
      from_ship_axis_deg: degrees('Turn from the ship axis to the mean direction').nullable(),
      bearings: z
        .strictObject({
          map_grid_north_deg: degrees('Mean direction from map_grid_north'),
          true_north_deg: degrees('From true_north').nullable(),
          magnetic_north_deg: degrees('From magnetic_north').nullable(),
        })
        .nullable(),
    })
    .nullable(),
  slope: z
    .strictObject({
      dip_deg: degrees('Dip of the deposit bottom'),
      downslope_deg: degrees('Downslope direction from site_north').nullable(),
      error_deg: degrees('Standard error of that direction').nullable(),
      nodes: counted('Levels the plane rests on'),
    })
    .nullable(),
  offset_from: z.string().nullable().meta({ title: 'What offsets are taken from' }),
  offset: offset.nullable(),
  by_class: z.array(
    z.strictObject({
      artefact_class: z.string().nullable().meta({ title: 'Artefact class; none = unknown' }),
      n: counted('Finds used'),
      mean_centre: place('Mean centre'),
      median_centre: place('Median centre'),
      standard_distance_m: metres('Standard distance, divisor n').nullable(),
      ellipse,
      ...offset.shape,
      p_holm: p('p of the side raised for the number of classes (Holm)'),
    }),
  ),
  by_size_class: z.array(
    z.strictObject({
      size_class: z.string().nullable().meta({ title: 'Size class; none = not stated' }),
      n: counted('Finds used'),
      weighted_centre: place('Centre weighted by the count unit'),
    }),
  ),
  coincident: counted('Finds that share their place with another'),
});
export type Summary = z.output<typeof result>;
