import { regionArea } from '../math/rings.js';
import { numbers, partsOf, wordReader } from './columns.js';
import { type FeatureTable, valueAt } from './feature-table.js';
import { gridToGrid, nodeAt } from './grid.js';
import type { DugArea, LevelReadings, NamedRegion, PositionDetail } from './sample.js';
import type { Survey } from './survey.js';
import { dugStates } from './window.js';

/** A detail with nothing known of n positions, as plain files give it. */
export function unknownDetail(n: number): PositionDetail {
  const unknown = () => new Float64Array(n).fill(Number.NaN);
  const none = () => new Array<string | null>(n).fill(null);
  return {
    square: none(),
    potVessel: none(),
    concretion: none(),
    orientationDeg: unknown(),
    lengthM: unknown(),
    sigmaZ: unknown(),
    zMin: unknown(),
    zMax: unknown(),
    materialDensity: unknown(),
    intrusive: new Uint8Array(n),
    weightG: unknown(),
    pieces: unknown(),
    sizeClass: none(),
    material: none(),
  };
}

/** What the register says of the finds in some rows. @param classAt  class of a row as known at the date asked for */
export function positionDetail(
  survey: Survey,
  rows: readonly number[],
  classAt: (row: number) => string,
): PositionDetail {
  const { finds, placed } = survey;
  const number = (name: string) => {
    const column = numbers(finds, name);
    return Float64Array.from(rows, (row) => column[row]);
  };
  const word = (name: string) => {
    const column = wordReader(finds, name);
    return rows.map(column);
  };
  const densities = new Map(survey.classTree.classes.map((c) => [c.id, c.material_density ?? Number.NaN]));
  const stated = numbers(finds, 'orientation_deg');
  const ends = (row: number) => [
    placed.end[2 * row] - placed.start[2 * row],
    placed.end[2 * row + 1] - placed.start[2 * row + 1],
  ];
  const intrusive = finds.columns.get('intrusive');
  return {
    square: rows.map((row) => placed.square[row]),
    potVessel: word('pot_vessel'),
    concretion: word('concretion'),
    orientationDeg: Float64Array.from(rows, (row) => {
      if (!Number.isNaN(stated[row])) return stated[row];
      const [dx, dy] = ends(row);
      return ((Math.atan2(dx, dy) * 180) / Math.PI + 360) % 360;
    }),
    lengthM: Float64Array.from(rows, (row) => {
      const [dx, dy] = ends(row);
      return Math.sqrt(dx * dx + dy * dy);
    }),
    sigmaZ: number('sigma_z'),
    zMin: number('z_min'),
    zMax: number('z_max'),
    materialDensity: Float64Array.from(rows, (row) => densities.get(classAt(row)) ?? Number.NaN),
    intrusive: Uint8Array.from(rows, (row) => (intrusive?.kind === 'boolean' ? intrusive.values[row] : 0)),
    weightG: number('weight_g'),
    pieces: number('count'),
    sizeClass: word('size_class'),
    material: word('material'),
  };
}

/** The dug areas of the seasons chosen, one for each polygon. */
export function dugAreas(survey: Survey, seasons: ReadonlySet<string>): DugArea[] {
  return workedAreas(survey, seasons, (progress) => dugStates.has(progress));
}

/** Areas of the seasons chosen that were planned, opened or abandoned. */
export function undugAreas(survey: Survey, seasons: ReadonlySet<string>): DugArea[] {
  return workedAreas(survey, seasons, (progress) => !dugStates.has(progress));
}

function workedAreas(survey: Survey, seasons: ReadonlySet<string>, isWanted: (progress: string) => boolean): DugArea[] {
  const areas = survey.table('excavated-areas');
  if (areas?.geometry?.type !== 'area') return [];
  const season = wordReader(areas, 'season');
  const progress = wordReader(areas, 'progress');
  const tool = wordReader(areas, 'tool');
  const backfilled = areas.columns.get('backfilled');
  const fraction = numbers(areas, 'dug_fraction');
  const mesh = numbers(areas, 'mesh_mm');
  const out: DugArea[] = [];
  for (let i = 0; i < areas.length; i++) {
    const s = season(i) ?? '';
    if (!isWanted(progress(i) ?? '') || (seasons.size > 0 && !seasons.has(s))) continue;
    const region = { rings: partsOf(areas.geometry, i).map((part) => part.ring) };
    out.push({
      season: s,
      progress: progress(i) ?? '',
      region,
      areaM2: regionArea(region),
      dugFraction: Number.isNaN(fraction[i]) ? 1 : fraction[i],
      meshMm: Number.isNaN(mesh[i]) ? null : mesh[i],
      tool: tool(i),
      backfilled: backfilled ? (valueAt(backfilled, i) as boolean | null) : null,
    });
  }
  return out;
}

/** Level readings of the seasons chosen in metres of the first grid; null when the site has none. */
export function levelReadings(
  survey: Pick<Survey, 'site' | 'frame' | 'table'>,
  seasons: ReadonlySet<string>,
): LevelReadings | null {
  const levels = survey.table('levels');
  if (!levels) return null;
  const { site, frame } = survey;
  const season = wordReader(levels, 'season');
  const rows: number[] = [];
  for (let i = 0; i < levels.length; i++) if (seasons.size === 0 || seasons.has(season(i) ?? '')) rows.push(i);
  const gridId = wordReader(levels, 'grid');
  const node = wordReader(levels, 'node');
  const kind = wordReader(levels, 'kind');
  const surface = wordReader(levels, 'surface');
  const series = wordReader(levels, 'reading_series');
  const state = wordReader(levels, 'state');
  const value = numbers(levels, 'value');
  const x = numbers(levels, 'local_x');
  const y = numbers(levels, 'local_y');
  const sigma = numbers(levels, 'sigma');
  const toFirst = new Map(site.grids.map((grid) => [grid.id, gridToGrid(grid, frame.grid)]));
  const placeOf = (i: number): readonly [number, number] => {
    const grid = site.grids.find((g) => g.id === (gridId(i) ?? frame.grid.id));
    const label = node(i);
    const place = grid && label !== null ? nodeAt(grid, label) : ([x[i], y[i]] as const);
    const convert = grid && toFirst.get(grid.id);
    return place && convert ? convert(place[0], place[1]) : [Number.NaN, Number.NaN];
  };
  const places = rows.map(placeOf);
  return {
    x: Float64Array.from(places, (p) => p[0]),
    y: Float64Array.from(places, (p) => p[1]),
    elevation: Float64Array.from(rows, (i) => (kind(i) === 'depth' ? -value[i] : value[i])),
    sigma: Float64Array.from(rows, (i) => sigma[i]),
    surface: rows.map((i) => surface(i) ?? ''),
    season: rows.map((i) => season(i) ?? ''),
    node: rows.map(node),
    series: rows.map(series),
    state: rows.map(state),
    // levels.csv knows one datum, the site's
    datum: rows.map(() => site.vertical_datum.name),
  };
}

/** Areas of a table by name: zones of the ship, contexts. */
export function namedRegions(
  table: FeatureTable | null,
  fields: { readonly name: string; readonly kind: string | null },
): NamedRegion[] {
  if (table?.geometry?.type !== 'area') return [];
  const { geometry } = table;
  const name = wordReader(table, fields.name);
  const kind = fields.kind === null ? () => null : wordReader(table, fields.kind);
  return Array.from({ length: table.length }, (_, i) => ({
    name: name(i) ?? '',
    kind: kind(i),
    region: { rings: partsOf(geometry, i).map((part) => part.ring) },
  }));
}

/** Joins of the register whose both finds stand in the sample, by position number. */
export function joinsWithin(
  survey: Survey,
  positionOfFind: ReadonlyMap<string, number>,
): { a: number; b: number; kind: string }[] {
  const refits = survey.table('refits');
  if (!refits) return [];
  const a = wordReader(refits, 'find_a');
  const b = wordReader(refits, 'find_b');
  const kind = wordReader(refits, 'kind');
  const out: { a: number; b: number; kind: string }[] = [];
  for (let i = 0; i < refits.length; i++) {
    const from = positionOfFind.get(a(i) ?? '');
    const to = positionOfFind.get(b(i) ?? '');
    if (from !== undefined && to !== undefined) out.push({ a: from, b: to, kind: kind(i) ?? '' });
  }
  return out;
}
