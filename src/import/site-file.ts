import { classTree } from '../domain/class-tree.js';
import { projectionOf } from '../domain/crs.js';
import { recordFiles } from '../domain/records/records.js';
import { type Site, siteSchema } from '../domain/site.js';
import { Problem } from '../problems.js';
import type { Complaints } from './complaints.js';
import { membersOf, parseJson } from './json-text.js';

/** The one file every site folder begins with. */
export const siteFileName = 'site.json';

/** Whether a text can be the name of a file in the folder itself: no path, nothing hidden. */
export function isPlainName(name: string): boolean {
  return /^[\p{L}\p{N}_][\p{L}\p{N}_ .()-]{0,199}$/u.test(name) && !name.includes('..');
}

/** Reads and checks site.json. → the site, or null when complaints were added */
export function readSiteFile(bytes: Uint8Array, complaints: Complaints): Site | null {
  const before = complaints.total;
  const complain = (path: readonly PropertyKey[], value: unknown, reason: string) =>
    complaints.add({ file: siteFileName, row: null, column: pathInWords(path), value: shown(value), reason });
  let given: unknown;
  try {
    given = parseJson(bytes, 32);
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    complaints.addFile(siteFileName, error.message);
    return null;
  }
  if (!membersOf(given)) {
    complaints.addFile(siteFileName, 'is no JSON object');
    return null;
  }
  // a name that JavaScript gives a meaning of its own would be dropped silently by any parser further on
  for (const path of namesOfPower(given, [])) complain(path, undefined, 'is no name that a member may have');
  const parsed = siteSchema.safeParse(given);
  if (!parsed.success) {
    for (const issue of parsed.error.issues) complain(issue.path, valueAt(given, issue.path), issue.message);
    return null;
  }
  checkSite(parsed.data, complain);
  return complaints.total === before ? parsed.data : null;
}

function namesOfPower(value: unknown, path: readonly string[]): string[][] {
  if (typeof value !== 'object' || value === null) return [];
  return Object.entries(value).flatMap(([name, inner]) => {
    const here = [...path, name];
    const bad = name === '__proto__' || name === 'constructor' || name === 'prototype';
    return bad ? [here] : namesOfPower(inner, here);
  });
}

/** `grids.0.azimuth_deg` as a person reads it: `grids, entry 1, azimuth_deg`. */
function pathInWords(path: readonly PropertyKey[]): string | null {
  if (path.length === 0) return null;
  return path.map((step) => (typeof step === 'number' ? `entry ${step + 1}` : String(step))).join(', ');
}

function valueAt(value: unknown, path: readonly PropertyKey[]): unknown {
  let at = value;
  for (const step of path) {
    if (typeof at !== 'object' || at === null) return undefined;
    at = Object.getOwnPropertyDescriptor(at, step)?.value;
  }
  return at;
}

function shown(value: unknown): string | null {
  if (value === undefined || (typeof value === 'object' && value !== null)) return null;
  return String(value);
}

type Complain = (path: readonly PropertyKey[], value: unknown, reason: string) => void;

/** What a schema cannot say: names that refer to each other, and no name twice. */
function checkSite(site: Site, complain: Complain): void {
  for (const list of ['grids', 'seasons', 'artefact_classes'] as const) {
    const seen = new Set<string>();
    site[list].forEach(({ id }, i) => {
      if (seen.has(id)) complain([list, i, 'id'], id, 'stands twice');
      seen.add(id);
    });
  }
  try {
    classTree(site.artefact_classes);
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    complain(['artefact_classes'], undefined, error.message.replace(/^site\.json: /, ''));
  }
  checkGrids(site, complain);
  if (site.bathymetry) checkBathymetry(site.bathymetry, complain);
  const axis = site.ship_axis;
  if (axis && axis.after_end[0] === axis.bow_end[0] && axis.after_end[1] === axis.bow_end[1])
    complain(['ship_axis', 'bow_end'], axis.bow_end.join(', '), 'is the after end again; the axis needs two ends');
  checkColumns(site, complain);
}

/** Whether a bathymetry is text with one sounding in each line; false: a GeoTIFF. */
export const isSoundings = (file: string): boolean => /\.(xyz|csv)$/i.test(file);

function checkBathymetry(given: NonNullable<Site['bathymetry']>, complain: Complain): void {
  const at = (member: string, value: unknown, reason: string) => complain(['bathymetry', member], value, reason);
  const { file, crs } = given;
  if (!isPlainName(file)) at('file', file, 'is not the name of a file in this folder');
  else if (!isSoundings(file) && !/\.tiff?$/i.test(file))
    at('file', file, 'is neither a GeoTIFF (.tif) nor soundings with x, y and z in each line (.xyz, .csv)');
  else if (crs === null && isSoundings(file))
    at('crs', undefined, 'is needed for soundings: the projected CRS of their x and y, such as "EPSG:32626"');
  if (crs !== null) {
    try {
      projectionOf(crs);
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      at('crs', crs, error.message);
    }
  }
  const stated = [given.uncertainty_m, given.sigma_m, given.iho_order].filter((value) => value !== null);
  if (stated.length !== 1)
    at(
      'uncertainty_m',
      undefined,
      `${stated.length === 0 ? 'is missing' : 'is stated in more than one way'}: give either uncertainty_m (half width of the 95 % interval), sigma_m (standard deviation) or iho_order (S-44: exclusive, special, 1a, 1b, 2)`,
    );
}

function checkGrids(site: Site, complain: Complain): void {
  const seasons = new Set(site.seasons.map((season) => season.id));
  site.grids.forEach((grid, i) => {
    try {
      projectionOf(grid.crs);
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      complain(['grids', i, 'crs'], grid.crs, error.message);
    }
    if (grid.labels.columns === grid.labels.rows && grid.labels.separator.trim() === '')
      complain(
        ['grids', i, 'labels', 'separator'],
        grid.labels.separator,
        'is needed when columns and rows are both labelled by letters, or both by digits',
      );
    grid.valid_seasons.forEach((season, k) => {
      if (!seasons.has(season)) complain(['grids', i, 'valid_seasons', k], season, 'is no season of this site');
    });
  });
}

function checkColumns(site: Site, complain: Complain): void {
  for (const [file, mapping] of Object.entries(site.columns)) {
    const record = recordFiles.find((candidate) => candidate.file === file);
    if (!record) {
      complain(['columns', file], undefined, 'is no file whose columns can be renamed');
      continue;
    }
    const known = new Set(
      [...record.tables.flatMap((table) => table.fields), ...record.readOnlyFields].map((f) => f.name),
    );
    for (const [heading, column] of Object.entries(mapping))
      if (!known.has(column)) complain(['columns', file, heading], column, `is no column of ${file}`);
  }
}
