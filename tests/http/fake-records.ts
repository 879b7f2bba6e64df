import proj4 from 'proj4';
import {
  booleanColumn,
  codeColumn,
  type FeatureTable,
  type Geometry,
  numberColumn,
  textColumn,
  type Value,
  valueAt,
} from '../../src/domain/feature-table.js';
import type { Field } from '../../src/domain/fields.js';
import { compileFilter } from '../../src/filter/compile.js';
import { randomStream } from '../../src/math/random.js';
import type { Box } from '../../src/math/rings.js';
import type { CollectionView, OutputCrs, Selection, SelectionFilter } from '../../src/operations/service.js';

const utm = '+proj=utm +zone=26 +datum=WGS84 +units=m +no_defs';
export const origin = { easting: 412_037.4, northing: 4_984_118.25 };

type Pair = [number, number];

/** Coordinates of a grid position in each system, in that system's own axis order; by proj4 alone, not by the code under test. */
export function inCrs(crs: OutputCrs, x: number, y: number): Pair {
  const projected: Pair = [origin.easting + x, origin.northing + y];
  if (crs === 'storage') return projected;
  const [lon, lat] = proj4(utm, 'EPSG:4326', projected) as Pair;
  if (crs === 'crs84') return [lon, lat];
  if (crs === 'epsg4326') return [lat, lon];
  return proj4('EPSG:4326', 'EPSG:3857', [lon, lat]) as Pair;
}

const eastFirst = (crs: OutputCrs, pair: Pair): Pair => (crs === 'epsg4326' ? [pair[1], pair[0]] : pair);

/** Corners of one feature, part by part. */
function partsOf({ geometry }: FeatureTable, row: number): Pair[][] {
  if (geometry === null) return [];
  if (geometry.type === 'point') {
    const x = geometry.coordinates[2 * row];
    return Number.isNaN(x) ? [] : [[[x, geometry.coordinates[2 * row + 1]]]];
  }
  const parts: Pair[][] = [];
  for (let p = geometry.featureStart[row]; p < geometry.featureStart[row + 1]; p++) {
    const part: Pair[] = [];
    for (let c = geometry.partStart[p]; c < geometry.partStart[p + 1]; c++) {
      part.push([geometry.coordinates[2 * c], geometry.coordinates[2 * c + 1]]);
    }
    parts.push(part);
  }
  return parts;
}

function featureJson(table: FeatureTable, row: number, crs: OutputCrs): unknown {
  const parts = partsOf(table, row).map((part) => part.map(([x, y]) => inCrs(crs, x, y)));
  const type = table.geometry?.type;
  let geometry: unknown = null;
  if (parts.length > 0 && type === 'point') geometry = { type: 'Point', coordinates: parts[0][0] };
  if (parts.length > 0 && type === 'line') geometry = { type: 'LineString', coordinates: parts[0] };
  if (parts.length > 0 && type === 'area') geometry = { type: 'Polygon', coordinates: parts.map((p) => [...p, p[0]]) };
  const properties: Record<string, Value> = {};
  for (const [name, column] of table.columns) properties[name] = valueAt(column, row);
  return { type: 'Feature', id: table.ids[row], geometry, properties };
}

function boxOf(table: FeatureTable, row: number, crs: OutputCrs): Box | null {
  const corners = partsOf(table, row)
    .flat()
    .map(([x, y]) => eastFirst(crs, inCrs(crs, x, y)));
  if (corners.length === 0) return null;
  const xs = corners.map((c) => c[0]);
  const ys = corners.map((c) => c[1]);
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}

function touches(box: Box | null, [west, south, east, north]: Box): boolean {
  if (box === null) return true;
  if (box[3] < south || box[1] > north) return false;
  return west <= east ? box[2] >= west && box[0] <= east : box[2] >= west || box[0] <= east;
}

export const parents: Readonly<Record<string, string | null>> = {
  ceramics: null,
  jar: 'ceramics',
  pipe: 'ceramics',
  nail: null,
};

function within(value: Value, classes: readonly string[]): boolean {
  for (let word = value as string | null; word != null; word = parents[word] ?? null)
    if (classes.includes(word)) return true;
  return false;
}

/** Marks of a filter; what it means is tested in tests/filter. */
function filterMarks(table: FeatureTable, { expression, crs }: SelectionFilter): Uint8Array {
  const local = table.geometry?.coordinates ?? new Float64Array(0);
  const places = new Float64Array(local.length).fill(Number.NaN);
  for (let i = 0; i < local.length; i += 2) {
    if (!Number.isNaN(local[i])) places.set(eastFirst(crs, inCrs(crs, local[i], local[i + 1])), i);
  }
  const unit = crs === 'crs84' || crs === 'epsg4326' ? 'degree' : 'metre';
  return compileFilter(expression, { table, unit, places: () => places, unknownProperty: 'refuse' }).marks();
}

/** Slow and plain: one row after the other, one condition after the other. */
export function selectRows(view: CollectionView, selection: Selection): Uint32Array {
  const { table } = view;
  const value = (name: string, row: number) => {
    const column = table.columns.get(name);
    return column === undefined ? null : valueAt(column, row);
  };
  const rows: number[] = [];
  const marks = selection.filter ? filterMarks(table, selection.filter) : null;
  for (let row = 0; row < table.length; row++) {
    if (marks !== null && marks[row] === 0) continue;
    if (selection.seasons.length > 0 && !view.surface && !selection.seasons.includes(String(value('season', row))))
      continue;
    if (selection.classes.length > 0 && !within(value('artefact_class', row), selection.classes)) continue;
    if (selection.bbox && !touches(boxOf(table, row, selection.bbox.crs), selection.bbox.box)) continue;
    if (selection.equals.some((e) => value(e.field, row) !== e.value)) continue;
    if (selection.datetime && view.timeField) {
      const date = value(view.timeField, row);
      const start = date === null ? null : Date.parse(String(date));
      if (start !== null && (start > selection.datetime.endMs || start + 86_399_999 < selection.datetime.startMs))
        continue;
    }
    rows.push(row);
  }
  return Uint32Array.from(rows);
}

interface Made {
  readonly id: string;
  readonly title: string;
  readonly fields: readonly Field[];
  readonly columns: FeatureTable['columns'];
  readonly geometry: Geometry | null;
  readonly ids: readonly number[];
  readonly timeField?: string;
  readonly surface?: true;
}

export function collectionView(made: Made): CollectionView {
  const table: FeatureTable = {
    name: made.id,
    length: made.ids.length,
    fields: made.fields,
    columns: made.columns,
    geometry: made.geometry,
    ids: Float64Array.from(made.ids),
  };
  let extent: Box | null = null;
  for (let row = 0; row < table.length; row++) {
    const box = boxOf(table, row, 'crs84');
    if (box === null) continue;
    extent = extent
      ? [
          Math.min(extent[0], box[0]),
          Math.min(extent[1], box[1]),
          Math.max(extent[2], box[2]),
          Math.max(extent[3], box[3]),
        ]
      : box;
  }
  return {
    id: made.id,
    title: made.title,
    description: `${made.title} of an invented site`,
    geometryType: made.geometry?.type ?? null,
    table,
    extent,
    timeField: made.timeField ?? null,
    interval: made.timeField ? ['2021-07-01', '2021-07-28'] : null,
    surface: made.surface ?? false,
    featureText: (rows, crs) => Array.from(rows, (row) => JSON.stringify(featureJson(table, row, crs))).join(','),
  };
}

function shapes(type: 'line' | 'area', parts: readonly Pair[][][]): Geometry {
  const coordinates: number[] = [];
  const partStart = [0];
  const featureStart = [0];
  const hole: number[] = [];
  for (const feature of parts) {
    feature.forEach((part, k) => {
      for (const [x, y] of part) coordinates.push(x, y);
      partStart.push(coordinates.length / 2);
      hole.push(type === 'area' && k > 0 ? 1 : 0);
    });
    featureStart.push(hole.length);
  }
  return {
    type,
    coordinates: Float64Array.from(coordinates),
    partStart: Uint32Array.from(partStart),
    featureStart: Uint32Array.from(featureStart),
    hole: Uint8Array.from(hole),
  };
}

export const findCount = 137;
export const hostile = '</script><script>alert(1)</script>"\'&';

function finds(): CollectionView {
  const random = randomStream(1790, 1);
  const rows = Array.from({ length: findCount }, (_, i) => i);
  // every ninth find has no position; the first lies at grid 3, 4
  const coordinates = rows.flatMap((i) =>
    i % 9 === 8 ? [Number.NaN, Number.NaN] : i === 0 ? [3, 4] : [random.next() * 34, random.next() * 20],
  );
  const words = ['jar', 'pipe', 'nail'];
  return collectionView({
    id: 'finds',
    title: 'Finds',
    timeField: 'found_on',
    ids: rows.map((i) => 1001 + 3 * i),
    geometry: { type: 'point', coordinates: Float64Array.from(coordinates) },
    fields: [
      { name: 'find', title: 'Register number', type: 'text', distinct: true },
      { name: 'season', title: 'Season', type: 'text' },
      { name: 'artefact_class', title: 'Artefact class', type: 'text' },
      { name: 'weight_g', title: 'Weight', type: 'number', unit: 'g', min: 0 },
      { name: 'count', title: 'Count', type: 'integer', unit: '1' },
      { name: 'intrusive', title: 'Intrusive', type: 'boolean' },
      { name: 'found_on', title: 'Found on', type: 'date' },
      { name: 'notes', title: 'Notes', type: 'text', distinct: true },
    ],
    columns: new Map<string, FeatureTable['columns'] extends ReadonlyMap<string, infer C> ? C : never>([
      ['find', textColumn(rows.map((i) => `F${i + 1}`))],
      ['season', codeColumn(rows.map((i) => (i % 11 === 0 ? null : i % 2 === 0 ? 'S1' : 'S2')))],
      ['artefact_class', codeColumn(rows.map((i) => words[i % 3]))],
      ['weight_g', numberColumn(rows.map((i) => (i % 7 === 0 ? null : 10 + (i % 5))))],
      [
        'count',
        numberColumn(
          rows.map(() => 1),
          'integer',
        ),
      ],
      ['intrusive', booleanColumn(rows.map((i) => (i % 4 === 0 ? null : i % 4 === 1)))],
      [
        'found_on',
        codeColumn(rows.map((i) => (i % 10 === 0 ? null : `2021-07-${String(1 + (i % 28)).padStart(2, '0')}`))),
      ],
      ['notes', textColumn(rows.map((i) => (i === 1 ? hostile : null)))],
    ]),
  });
}

function hullLines(): CollectionView {
  const rows = Array.from({ length: 12 }, (_, i) => i);
  return collectionView({
    id: 'hull-lines',
    title: 'Hull features, lines',
    ids: rows.map((i) => i + 1),
    geometry: shapes(
      'line',
      rows.map((i) => [
        [
          [2 + i, 3],
          [3 + i, 9],
        ],
      ]),
    ),
    fields: [{ name: 'element', title: 'Element', type: 'text', choices: ['keelson', 'frame'] }],
    columns: new Map([['element', codeColumn(rows.map((i) => (i === 0 ? 'keelson' : 'frame')))]]),
  });
}

function square(x: number, y: number, side: number): Pair[] {
  return [
    [x, y],
    [x + side, y],
    [x + side, y + side],
    [x, y + side],
  ];
}

function squares(): CollectionView {
  const rows = Array.from({ length: 20 }, (_, i) => i);
  return collectionView({
    id: 'grid-squares',
    title: 'Grid squares',
    ids: rows.map((i) => i + 1),
    // the last one has a hole
    geometry: shapes(
      'area',
      rows.map((i) => (i === 19 ? [square(i, 0, 1), square(i + 0.4, 0.4, 0.2).reverse()] : [square(i, 0, 1)])),
    ),
    fields: [{ name: 'square', title: 'Square', type: 'text' }],
    columns: new Map([['square', textColumn(rows.map((i) => `A${i + 1}`))]]),
  });
}

function depositTop(): CollectionView {
  return collectionView({
    id: 'deposit-top',
    title: 'Top of the deposit',
    ids: [1],
    surface: true,
    geometry: shapes('area', [
      [
        [
          [0, 0],
          [34, 0],
          [34, 20],
          [0, 20],
        ],
      ],
    ]),
    fields: [{ name: 'unit', title: 'Unit', type: 'text' }],
    columns: new Map([['unit', codeColumn(['m'])]]),
  });
}

function documents(): CollectionView {
  return collectionView({
    id: 'documents',
    title: 'Drawings and photographs',
    ids: [1, 2],
    geometry: null,
    fields: [{ name: 'title', title: 'Title', type: 'text' }],
    columns: new Map([['title', textColumn(['Plan 1', 'Plan 2'])]]),
  });
}

/** A handful of seeded collections: points, lines, areas, a surface, a table. */
export function fakeCollections(): ReadonlyMap<string, CollectionView> {
  return new Map([finds(), hullLines(), squares(), depositTop(), documents()].map((view) => [view.id, view]));
}
