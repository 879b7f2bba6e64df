import * as z from 'zod';
import { counted, metres, plain, squareMetres } from '../../domain/units.js';

export const parameters = z.strictObject({
  spike_sigmas: z.number().min(2).max(20).default(5).meta({
    title: 'Robust errors of a spike',
    description: 'A level further than this from what its neighbours say is a spike',
    'x-ogc-unit': '1',
  }),
  series_offset_m: z.number().positive().default(0.1).meta({
    title: 'Least offset of a reading series',
    description: 'A reading series this far from the series around it looks like a tide not taken off',
    'x-ogc-unit': 'm',
  }),
  beyond_sigmas: z.number().min(1).max(10).default(2).meta({
    title: 'Errors beyond a surface',
    description: 'A find further than this above the top or below the bottom is listed',
    'x-ogc-unit': '1',
  }),
  boundary_tolerance_m: z.number().min(0).max(1).default(0.005).meta({
    title: 'Boundary tolerance',
    description: 'A find this close to its stated square lies in it',
    'x-ogc-unit': 'm',
  }),
  level_sigma_m: z.number().positive().default(0.02).meta({
    title: 'Error of a level that states none',
    'x-ogc-unit': 'm',
  }),
  find_sigma_m: z.number().positive().default(0.03).meta({
    title: 'Error of a find’s elevation that states none',
    'x-ogc-unit': 'm',
  }),
});
export type Parameters = z.output<typeof parameters>;

/** What can be odd, in the order of the list: survey first, then finds, then what is still to be done. */
export const kinds = [
  'inverted_node',
  'series_offset',
  'neighbour_spike',
  'several_readings',
  'missing_node',
  'square_without_top',
  'square_without_bottom',
  'part_dug_square',
  'open_square',
  'duplicate_number',
  'missing_number',
  'child_without_parent',
  'class_unknown',
  'season_unknown',
  'outside_stated_square',
  'find_outside_dug_ground',
  'above_top',
  'below_bottom',
  'heaped_offsets',
  'identical_coordinates',
  'find_without_elevation',
] as const;
export type Kind = (typeof kinds)[number];

const row = z.strictObject({
  kind: z.enum(kinds).meta({ title: 'Kind' }),
  where: z.string().meta({ title: 'Square, node, find or series' }),
  season: z.string().nullable().meta({ title: 'Season' }),
  x_m: metres('x, site grid').nullable(),
  y_m: metres('y, site grid').nullable(),
  value: z.number().nullable().meta({ title: 'Value found' }),
  unit: z.string().meta({ title: 'Unit of the value, UCUM' }),
  beyond: z.number().nullable().meta({ title: 'How far beyond the rule, in the unit of the value' }),
  rule: z.string().meta({ title: 'The rule it does not fit' }),
  severity: z.enum(['serious', 'look', 'note']).meta({ title: 'Severity' }),
  before_backfill: z.boolean().meta({ title: 'To be settled before backfilling' }),
});
/** One thing that is plausible but odd. */
export type Oddity = z.output<typeof row>;

const node = { node: z.string().meta({ title: 'Node' }), season: z.string().meta({ title: 'Season' }) };

export const result = z.strictObject({
  sentence: z.string().meta({ title: 'The answer in a sentence' }),
  n: counted('Finds looked at'),
  window_area_m2: squareMetres('Area of the window'),
  levels: counted('Level readings looked at'),
  squares: counted('Dug squares looked at, each season for itself'),
  finds_against_surfaces: counted('Finds compared with the top or the bottom'),
  area_finds_against_surfaces: counted('Finds known by an area compared with all of the surface there'),
  tests_made: counted('Seasons tested for heaped offsets'),
  rows_found: counted('Rows of the list'),
  counts: z.array(
    z.strictObject({
      kind: z.enum(kinds).meta({ title: 'Kind' }),
      rows: counted('Rows'),
      serious: counted('Of these serious'),
      before_backfill: counted('Of these to be settled before backfilling'),
    }),
  ),
  inverted_nodes: z.array(z.strictObject({ ...node, thickness_m: metres('Top less bottom') })),
  missing_nodes: z.array(
    z.strictObject({
      ...node,
      missing: z.enum(['top', 'bottom', 'top and bottom']).meta({ title: 'What is missing' }),
    }),
  ),
  series_offsets: z.array(
    z.strictObject({
      reading_series: z.string().meta({ title: 'Reading series' }),
      season: z.string().meta({ title: 'Season' }),
      readings: counted('Readings of the series'),
      compared: counted('Readings with neighbours of other series'),
      offset_m: metres('Median offset against the series around it').nullable(),
      sigma_m: metres('Robust standard error of it').nullable(),
      looks_unreduced: z.boolean().meta({ title: 'Looks like a tide not taken off' }),
    }),
  ),
  heaping: z.array(
    z.strictObject({
      season: z.string().meta({ title: 'Season' }),
      offsets: counted('In-square offsets, x and y'),
      on_half_metres: counted('Of these on 0.0 or 0.5 m'),
      expected: plain('Expected there by chance'),
      p_binomial: plain('Chance of so many or more'),
      heaped: z.boolean().meta({ title: 'Heaped' }),
    }),
  ),
  rows: z.array(row),
});
export type Summary = z.output<typeof result>;
