import { nearestShapes, straightPieces } from '../../math/hull-distance.js';
import { numbers, pickRows, shapes, tableOf, wordReader } from '../columns.js';
import { type Column, codeColumn, type FeatureTable, type Geometry, numberColumn } from '../feature-table.js';
import type { Field } from '../fields.js';
import type { Survey } from '../survey.js';

const derived: readonly Field[] = [
  { name: 'recorded_x', title: 'x as recorded, in the grid named', type: 'number', unit: 'm' },
  { name: 'recorded_y', title: 'y as recorded, in the grid named', type: 'number', unit: 'm' },
  { name: 'depth_below_datum', title: 'Depth below the site datum', type: 'number', unit: 'm' },
  { name: 'thickness_at_find', title: 'Thickness of the deposit at the find', type: 'number', unit: 'm' },
  {
    name: 'relative_depth',
    title: 'Relative depth in the deposit',
    description: '0 at the top of the deposit, 1 at its bottom',
    type: 'number',
    unit: '1',
  },
  {
    name: 'distance_to_hull_m',
    title: 'Distance to the nearest articulated hull feature in place',
    type: 'number',
    unit: 'm',
  },
];

const points = (coordinates: Float64Array): Geometry => ({ type: 'point', coordinates });

/**
 * Every register entry with all its columns, positions in metres of the first grid, and what a desktop would
 * otherwise have to join. A find known by a square or as a line has no point here: see `find-areas`, `find-lines`.
 */
export function publishedFinds(survey: Survey): FeatureTable | null {
  const { finds, placed } = survey;
  if (finds.length === 0) return null;
  const n = finds.length;
  const coordinates = new Float64Array(2 * n).fill(Number.NaN);
  const localX = new Float64Array(n).fill(Number.NaN);
  const localY = new Float64Array(n).fill(Number.NaN);
  for (let i = 0; i < n; i++) {
    const what = placed.kind[i];
    if (what === 'point') coordinates.set(placed.xy.subarray(2 * i, 2 * i + 2), 2 * i);
    if (what === 'point' || what === 'line') {
      localX[i] = placed.xy[2 * i];
      localY[i] = placed.xy[2 * i + 1];
    }
  }
  const columns = new Map<string, Column>(finds.columns);
  for (const field of finds.fields) {
    if (!columns.has(field.name)) columns.set(field.name, emptyColumn(field, n));
  }
  columns.set('recorded_x', numberColumn([...numbers(finds, 'local_x')]));
  columns.set('recorded_y', numberColumn([...numbers(finds, 'local_y')]));
  columns.set('local_x', { kind: 'number', values: localX });
  columns.set('local_y', { kind: 'number', values: localY });
  columns.set('artefact_class', survey.classAt(null));
  columns.set('square', codeColumn(placed.square));
  for (const [name, values] of Object.entries(derivedNumbers(survey))) columns.set(name, { kind: 'number', values });
  return {
    name: 'finds',
    length: n,
    fields: [...finds.fields, ...derived],
    columns,
    geometry: points(coordinates),
    ids: finds.ids,
  };
}

function emptyColumn(field: Field, n: number): Column {
  if (field.type === 'number' || field.type === 'integer')
    return { kind: field.type, values: new Float64Array(n).fill(Number.NaN) };
  if (field.type === 'boolean') return { kind: 'boolean', values: new Uint8Array(n) };
  return { kind: 'code', codes: new Uint32Array(n), words: [''] };
}

function derivedNumbers(survey: Survey): Record<string, Float64Array> {
  const { finds, placed, deposit } = survey;
  const n = finds.length;
  const none = () => new Float64Array(n).fill(Number.NaN);
  const out = {
    depth_below_datum: none(),
    thickness_at_find: none(),
    relative_depth: none(),
    distance_to_hull_m: none(),
  };
  const z = numbers(finds, 'z_elevation');
  const season = wordReader(finds, 'season');
  const hull = hullDistance(survey);
  const isLevelled = (survey.table('levels')?.length ?? 0) > 0;
  const millimetres = (v: number) => Math.round(v * 1000) / 1000;
  for (let i = 0; i < n; i++) {
    if (!Number.isNaN(z[i])) out.depth_below_datum[i] = z[i] === 0 ? 0 : -z[i];
    const x = placed.xy[2 * i];
    const y = placed.xy[2 * i + 1];
    if (Number.isNaN(x)) continue;
    if (hull) out.distance_to_hull_m[i] = millimetres(hull(x, y));
    if (!isLevelled) continue;
    const top = deposit.elevation('deposit_top', season(i), x, y);
    const bottom = deposit.elevation('deposit_bottom', season(i), x, y);
    const thickness = top - bottom;
    if (!Number.isNaN(thickness)) out.thickness_at_find[i] = millimetres(thickness);
    // nothing can be said of a relative depth where the deposit has no thickness or its nodes are inverted
    if (thickness > 0 && !Number.isNaN(z[i])) out.relative_depth[i] = millimetres((top - z[i]) / thickness);
  }
  return out;
}

/** Distance to the articulated hull in place, 0 inside an area of it; null when there is none. */
function hullDistance(survey: Survey): ((x: number, y: number) => number) | null {
  const standing = survey.hull.filter((element) => element.state !== 'loose' && element.place !== 'displaced');
  if (standing.length === 0) return null;
  const { grid } = survey.frame;
  return nearestShapes(straightPieces(standing), [
    0,
    0,
    grid.columns * grid.node_spacing,
    grid.rows * grid.node_spacing,
  ]).distance;
}

const rowsWhere = (n: number, test: (row: number) => boolean): Uint32Array =>
  Uint32Array.from(Array.from({ length: n }, (_, i) => i).filter(test));

/** Long objects (bars, planks, guns) as lines from end to end: a centroid would hide the way they lie. */
export function publishedFindLines(survey: Survey): FeatureTable | null {
  const finds = survey.collection('finds');
  if (!finds) return null;
  const { start, end } = survey.placed;
  const rows = rowsWhere(finds.length, (i) => !Number.isNaN(start[2 * i] + end[2 * i]));
  const lines = [...rows].map((i) => [
    { ring: Float64Array.of(start[2 * i], start[2 * i + 1], end[2 * i], end[2 * i + 1]) },
  ]);
  return pickRows(finds, { name: 'find-lines', rows, geometry: shapes('line', lines) });
}

/** Finds known only by a square, a part of one or a drawn area, with that area. */
export function publishedFindAreas(survey: Survey): FeatureTable | null {
  const finds = survey.collection('finds');
  if (!finds) return null;
  const { area } = survey.placed;
  const rows = rowsWhere(finds.length, (i) => area[i] !== null);
  const areas = [...rows].map((i) => [{ ring: area[i] as Float64Array }]);
  return pickRows(finds, { name: 'find-areas', rows, geometry: shapes('area', areas) });
}

/** Concretions: one spot each, with the finds that came out of it in the laboratory. */
export function publishedConcretions(survey: Survey): FeatureTable | null {
  const { finds, placed } = survey;
  const parent = wordReader(finds, 'concretion');
  const label = wordReader(finds, 'find');
  const children = new Map<string, number[]>();
  for (let i = 0; i < finds.length; i++) {
    const name = parent(i);
    if (name !== null) children.set(name, [...(children.get(name) ?? []), i]);
  }
  if (children.size === 0) return null;
  const classOf = survey.classAt(null);
  const season = wordReader(finds, 'season');
  const names = [...children.keys()];
  const coordinates = new Float64Array(2 * names.length).fill(Number.NaN);
  const rows = names.map((name, k) => {
    const own = survey.findRow(name);
    const members = children.get(name) ?? [];
    const placedRow = [own, ...members].find((i) => i !== undefined && !Number.isNaN(placed.xy[2 * i]));
    if (placedRow !== undefined) coordinates.set(placed.xy.subarray(2 * placedRow, 2 * placedRow + 2), 2 * k);
    const classes = new Set(members.map((i) => classOf.words[classOf.codes[i]]).filter((word) => word !== ''));
    return {
      concretion: name,
      season: season(own ?? members[0]),
      children: members.filter((i) => i !== own).length,
      child_finds: members
        .filter((i) => i !== own)
        .map((i) => label(i))
        .join(' '),
      child_classes: [...classes].sort().join(', '),
      in_register: own !== undefined,
    };
  });
  const ids = Float64Array.from(names, (name, k) => {
    const own = survey.findRow(name);
    return own === undefined ? 1e9 + k : finds.ids[own];
  });
  const order = names.map((_, k) => k).sort((a, b) => ids[a] - ids[b]);
  return tableOf({
    name: 'concretions',
    fields: [
      { name: 'concretion', title: 'Concretion number', type: 'text', distinct: true },
      { name: 'season', title: 'Season', type: 'text' },
      { name: 'children', title: 'Finds taken out of it', type: 'integer', unit: '1' },
      { name: 'child_finds', title: 'Their numbers', type: 'text', distinct: true },
      { name: 'child_classes', title: 'Their classes', type: 'text' },
      { name: 'in_register', title: 'The concretion itself stands in the register', type: 'boolean' },
    ],
    rows: order.map((k) => rows[k]),
    geometry: points(Float64Array.from(order.flatMap((k) => [coordinates[2 * k], coordinates[2 * k + 1]]))),
    ids: Float64Array.from(order, (k) => ids[k]),
  });
}
