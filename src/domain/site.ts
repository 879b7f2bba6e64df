import * as z from 'zod';
import { surveyOrders } from '../math/vertical-uncertainty.js';
import { degrees, metres } from './units.js';

const word = z.string().trim().min(1);
const identifier = z.string().regex(/^[a-z0-9][a-z0-9-]{0,63}$/, 'lower-case letters, digits and hyphens, at most 64');

/** One site grid: where it lies, how its squares are named, when it was in force. */
export const gridSchema = z.strictObject({
  id: identifier,
  /** seasons in which coordinates were taken in this grid; none = all */
  valid_seasons: z.array(word).default([]),
  crs: word.meta({ title: 'Projected CRS', description: 'EPSG code such as EPSG:32626, or a PROJ string in metres' }),
  origin_easting: metres('Easting of the grid origin'),
  origin_northing: metres('Northing of the grid origin'),
  azimuth_deg: degrees('Azimuth of site_north from map_grid_north, clockwise'),
  scale: z
    .number()
    .min(0.9)
    .max(1.1)
    .default(1)
    .meta({ title: 'Metres of the projected CRS for one metre of the grid' }),
  node_spacing: z.number().min(0.05).max(100).default(1).meta({ title: 'Node spacing', 'x-ogc-unit': 'm' }),
  columns: z.int().min(1).max(2000),
  rows: z.int().min(1).max(2000),
  /** letters: A, B, … Z, AA, AB …, with `skip` left out; digits: 1, 2, … */
  labels: z
    .strictObject({
      columns: z.enum(['letters', 'digits']).default('letters'),
      rows: z.enum(['letters', 'digits']).default('digits'),
      skip: z.string().default(''),
      /** number of the first row or column when labelled by digits */
      first: z.int().default(1),
      /** between column and row label, as in "E 4" or "12-3"; needed when both are digits */
      separator: z.string().max(2).default(''),
    })
    .default({ columns: 'letters', rows: 'digits', skip: '', first: 1, separator: '' }),
  /** the corner of a square that its label and its in-square offsets start from */
  corner: z.enum(['south-west', 'north-west', 'south-east', 'north-east']).default('south-west'),
  /** where a find on a line between two squares belongs */
  boundary_rule: z.enum(['lower', 'upper']).default('lower'),
});
export type GridRecord = z.output<typeof gridSchema>;

export const artefactClassSchema = z.strictObject({
  id: word,
  title: word.optional(),
  parent: word.nullable().default(null),
  functional_group: word.nullable().default(null),
  material: word.nullable().default(null),
  material_density: z
    .number()
    .positive()
    .nullable()
    .default(null)
    .meta({ title: 'Material density', 'x-ogc-unit': 't/m3' }),
  sensitivity: z.enum(['human_remains', 'precious_metal', 'ordnance']).nullable().default(null),
});
export type ArtefactClass = z.output<typeof artefactClassSchema>;

export const seasonSchema = z.strictObject({
  id: word,
  title: word.optional(),
  start: z.iso.date().nullable().default(null),
  end: z.iso.date().nullable().default(null),
  note: z.string().optional(),
});

const point = z.tuple([z.number(), z.number()]);

/** site.json: what holds for the whole site. */
export const siteSchema = z.strictObject({
  id: identifier,
  name: word,
  period: z.string().optional(),
  authority: z.string().optional(),
  permit: z.string().optional(),
  licence: z.string().optional(),
  rights: z.string().optional(),
  embargo_until: z.iso.date().nullable().default(null),
  cautions: z.array(z.string()).default([]),
  vertical_datum: z.strictObject({
    name: word,
    kind: z.enum([
      'control_point_plane',
      'mean_sea_level',
      'lowest_astronomical_tide',
      'lake_level',
      'ellipsoid',
      'other',
    ]),
    /** elevation of the site zero above the hydrographic datum, metres; negative when it lies below */
    hydrographic_datum: word.nullable().default(null),
    offset_m: z.number().nullable().default(null),
    offset_sigma_m: z.number().positive().nullable().default(null),
  }),
  grids: z.array(gridSchema).min(1),
  declination: z
    .strictObject({ degrees: degrees('Magnetic declination, east positive'), date: z.iso.date() })
    .nullable()
    .default(null),
  seasons: z.array(seasonSchema).min(1),
  artefact_classes: z.array(artefactClassSchema).min(1),
  ship_axis: z
    .strictObject({
      after_end: point,
      bow_end: point,
      certainty: z.enum(['certain', 'probable', 'unresolved']),
      heel_deg: z.number().nullable().default(null),
      heel_to: z.enum(['port', 'starboard']).nullable().default(null),
      note: z.string().optional(),
    })
    .nullable()
    .default(null),
  bathymetry: z
    .strictObject({
      /** a GeoTIFF, or soundings as text (.xyz, .csv) with x, y and z in each line */
      file: word,
      /** projected CRS: needed for soundings; a GeoTIFF names its own */
      crs: word.nullable().default(null),
      vertical_datum: word,
      sign: z.enum(['elevation_up_positive', 'depth_down_positive']),
      /** how far a value may be off, one of three ways: half width of the 95 % interval, … */
      uncertainty_m: z.number().positive().nullable().default(null),
      /** … standard deviation, … */
      sigma_m: z.number().positive().nullable().default(null),
      /** … or the order of the hydrographic standard IHO S-44 that the survey kept */
      iho_order: z.enum(surveyOrders).nullable().default(null),
      licence: word,
      date: z.iso.date().nullable().default(null),
    })
    .nullable()
    .default(null),
  csv: z
    .strictObject({
      delimiter: z.enum([',', ';', '\t', '|']).default(','),
      decimal: z.enum(['.', ',']).default('.'),
      encoding: z.enum(['utf-8', 'windows-1252', 'utf-16le']).default('utf-8'),
    })
    .default({ delimiter: ',', decimal: '.', encoding: 'utf-8' }),
  /** file → { column heading as it stands in the file → our column } */
  columns: z.record(z.string(), z.record(z.string(), z.string())).default({}),
});
export type Site = z.output<typeof siteSchema>;
/** What site.json states of a bathymetry file. */
export type BathymetryRecord = NonNullable<Site['bathymetry']>;
/** How the text files of a folder are written. */
export type CsvForm = Site['csv'];
