import type { CollectionEntry } from '../domain/collections.js';
import { wordReader } from '../domain/columns.js';
import { type FeatureTable, valueAt } from '../domain/feature-table.js';
import type { GridFrame } from '../domain/grid.js';
import { compileFilter } from '../filter/compile.js';
import type { Expression } from '../filter/expression.js';
import type { Box } from '../math/rings.js';
import { Problem } from '../problems.js';
import { type BoxIndex, boxIndex } from '../tiles/box-query.js';
import { clipShapes } from '../tiles/clip-shapes.js';
import { type MatrixSet, type TileAddress, unitCoordinates, webMercatorQuad } from '../tiles/matrix-set.js';
import { pointTiles, type TileSource } from '../tiles/point-tiles.js';
import { shapeTiles } from '../tiles/shape-tiles.js';
import { thinBelowZoom } from '../tiles/site-matrix-set.js';
import { type FeatureText, featureText } from './feature-text.js';
import { extentOf, type LayerCrs, type PlacedLayer, placedLayer } from './placed-layer.js';

/** Conditions on records of one collection, words already checked against the site. */
export interface RowConditions {
  readonly seasons: ReadonlySet<string> | null;
  readonly classes: ReadonlySet<string> | null;
  readonly bbox: { readonly box: Box; readonly crs: LayerCrs } | null;
  readonly datetime: { readonly startMs: number; readonly endMs: number } | null;
  readonly equals: readonly { readonly field: string; readonly value: string | number | boolean }[];
  readonly filter: RowFilter | null;
}

/** A filter in CQL2, and what becomes of a property the collection does not have. */
export interface RowFilter {
  readonly expression: Expression;
  readonly crs: LayerCrs;
  readonly key: string;
  readonly unknownProperty: 'refuse' | 'unknown';
}

const decimals: Record<LayerCrs, number> = { crs84: 9, epsg4326: 9, epsg3857: 4, storage: 4 };

/** What a layer is made from beside its records. */
export interface PublishedEntry extends Omit<CollectionEntry, 'build' | 'deferred'> {
  /** of records worked out when first looked at: corners [2m], metres of the first grid, between which they lie */
  readonly reach?: Float64Array;
  /** of records worked out anew for every choice of seasons: those of a choice */
  readonly inSeasons?: (seasons: ReadonlySet<string>) => FeatureTable | null;
}

/** One published layer: what it is, and how its rows are found, written and drawn. Indexes are made when first used and kept. */
export class PublishedCollection {
  readonly id: string;
  readonly title: string;
  readonly description: string;
  readonly geometryType: 'point' | 'line' | 'area' | null;
  readonly table: FeatureTable;
  readonly timeField: string | null;
  readonly surface: boolean;
  readonly bySeason: boolean;
  readonly deferred: boolean;
  readonly placed: PlacedLayer;
  readonly #texts = new Map<LayerCrs, FeatureText>();
  readonly #boxes = new Map<LayerCrs, BoxIndex>();
  readonly #filters = new Map<string, Uint8Array>();
  readonly #expressions = new Map<string, Uint8Array>();
  readonly #tiles = new Map<MatrixSet, TileSource>();

  readonly #entry: PublishedEntry;
  readonly #frame: GridFrame;
  readonly #chosen = new Map<string, PublishedCollection>();
  #reach: Box | null | undefined;

  constructor(entry: PublishedEntry, table: FeatureTable, frame: GridFrame) {
    this.#entry = entry;
    this.#frame = frame;
    this.id = entry.id;
    this.title = entry.title;
    this.description = entry.description;
    this.geometryType = entry.geometryType;
    this.timeField = entry.timeField ?? null;
    this.surface = entry.surface ?? false;
    this.bySeason = entry.bySeason ?? false;
    this.deferred = entry.reach !== undefined;
    this.table = table;
    this.placed = placedLayer(table, frame);
  }

  get extent(): Box | null {
    if (!this.#entry.reach) return this.placed.extent;
    this.#reach ??= extentOf(this.#entry.reach, this.#frame);
    return this.#reach;
  }

  /** The layer as a choice of seasons shows it: the same one, unless it is worked out anew for every choice. */
  inSeasons(seasons: ReadonlySet<string>): PublishedCollection {
    if (!this.#entry.inSeasons || seasons.size === 0) return this;
    const key = JSON.stringify([...seasons].sort());
    let chosen = this.#chosen.get(key);
    if (!chosen) {
      const table = this.#entry.inSeasons(seasons);
      if (!table) throw new Error(`collection ${this.id} vanished`);
      const { inSeasons: _inSeasons, ...entry } = this.#entry;
      chosen = new PublishedCollection(entry, table, this.#frame);
      if (this.#chosen.size >= 8) this.#chosen.clear();
      this.#chosen.set(key, chosen);
    }
    return chosen;
  }

  get interval(): readonly [string | null, string | null] | null {
    if (this.timeField === null) return null;
    const date = wordReader(this.table, this.timeField);
    let [first, last]: [string | null, string | null] = [null, null];
    for (let row = 0; row < this.table.length; row++) {
      const value = date(row);
      if (value === null) continue;
      if (first === null || value < first) first = value;
      if (last === null || value > last) last = value;
    }
    return [first, last];
  }

  /** The features of some rows, joined by commas. */
  featureText(rows: Uint32Array, crs: LayerCrs): string {
    return [...this.#text(crs).features(rows)].join('');
  }

  #text(crs: LayerCrs): FeatureText {
    let text = this.#texts.get(crs);
    if (!text) {
      text = featureText({
        table: this.table,
        coordinates: this.placed.coordinates(crs),
        axisOrder: crs === 'epsg4326' ? 'north-east' : 'east-north',
        decimals: decimals[crs],
        properties: this.table.fields.map((field) => field.name),
      });
      this.#texts.set(crs, text);
    }
    return text;
  }

  /** Rows that fit all conditions, rising. @throws Problem bad-filter, bad-parameter */
  rows(conditions: RowConditions): Uint32Array {
    const marks = conditions.filter && this.#marks(conditions.filter);
    const test = this.#test(conditions);
    if (conditions.bbox) {
      const { box, crs } = conditions.bbox;
      let index = this.#boxes.get(crs);
      if (!index) {
        index = boxIndex(this.table, this.placed.coordinates(crs));
        this.#boxes.set(crs, index);
      }
      const found = index.rows(box);
      if (!marks) return test ? found.filter(test) : found;
      return found.filter((row) => marks[row] === 1 && (test === null || test(row)));
    }
    const found = marks ? markedRows(marks) : Uint32Array.from({ length: this.table.length }, (_, row) => row);
    return test ? found.filter(test) : found;
  }

  /** Marks of the rows a filter is true of, kept for the last few filters: the next page asks the same one. */
  #marks({ expression, crs, key, unknownProperty }: RowFilter): Uint8Array {
    const name = `${unknownProperty} ${crs} ${key}`;
    let marks = this.#expressions.get(name);
    if (!marks) {
      const { table, placed } = this;
      const unit = crs === 'crs84' || crs === 'epsg4326' ? 'degree' : 'metre';
      marks = compileFilter(expression, {
        table,
        unit,
        places: () => placed.coordinates(crs),
        unknownProperty,
      }).marks();
      if (this.#expressions.size >= 16) this.#expressions.clear();
      this.#expressions.set(name, marks);
    }
    return marks;
  }

  #test(conditions: RowConditions): ((row: number) => boolean) | null {
    const tests: ((row: number) => boolean)[] = [];
    const wanted = (field: string, words: ReadonlySet<string> | null) => {
      const column = this.table.columns.get(field);
      if (words === null || !column) return;
      const word = wordReader(this.table, field);
      tests.push((row) => words.has(word(row) ?? ''));
    };
    wanted('season', conditions.seasons);
    wanted('artefact_class', conditions.classes);
    for (const { field, value } of conditions.equals) {
      const column = this.table.columns.get(field);
      if (!column)
        throw new Problem('bad-parameter', `collection ${this.id} has no property ${field}`, { parameter: field });
      tests.push((row) => valueAt(column, row) === value);
    }
    if (conditions.datetime && this.timeField !== null) {
      const date = wordReader(this.table, this.timeField);
      const { startMs, endMs } = conditions.datetime;
      tests.push((row) => {
        const text = date(row);
        if (text === null) return true;
        const start = Date.parse(text);
        // a date without time is its whole day
        const end = text.length === 10 ? start + 86_399_999 : start;
        return start <= endMs && end >= startMs;
      });
    }
    return tests.length === 0 ? null : (row) => tests.every((test) => test(row));
  }

  /** One layer of a tile; no bytes when nothing lies in it. */
  tile(address: TileAddress & { readonly set?: MatrixSet }, conditions: RowConditions, key: string): Uint8Array {
    if (this.table.geometry === null) return new Uint8Array(0);
    return this.#tileSource(address.set ?? webMercatorQuad).tile(address, this.#filter(conditions, key));
  }

  #tileSource(set: MatrixSet): TileSource {
    const known = this.#tiles.get(set);
    if (known) return known;
    const coordinates = this.placed.coordinates(set.takes === 'lon-lat' ? 'crs84' : 'storage');
    const options = {
      layer: this.id,
      ...clipShapes(this.table, unitCoordinates(set, coordinates)),
      properties: this.table.fields.map((field) => field.name),
    };
    const made =
      this.table.geometry?.type === 'point'
        ? pointTiles({ ...options, thinBelowZoom: thinBelowZoom(set) })
        : shapeTiles(options);
    this.#tiles.set(set, made);
    return made;
  }

  /** Marks of the rows to draw, kept for the last few selections; null = all. */
  #filter(conditions: RowConditions, key: string): Uint8Array | null {
    const known = this.#filters.get(key);
    if (known) return known;
    const test = this.#test(conditions);
    const filtered = conditions.filter && this.#marks(conditions.filter);
    if (test === null) return filtered;
    const marks = new Uint8Array(this.table.length);
    for (let row = 0; row < marks.length; row++)
      marks[row] = (filtered === null || filtered[row] === 1) && test(row) ? 1 : 0;
    if (this.#filters.size >= 16) this.#filters.clear();
    this.#filters.set(key, marks);
    return marks;
  }
}

/** Row numbers of the marks, rising. */
function markedRows(marks: Uint8Array): Uint32Array {
  let count = 0;
  for (let row = 0; row < marks.length; row++) count += marks[row];
  // one more: every row is written, and stays only if it is marked, so there is no branch to guess wrong
  const rows = new Uint32Array(count + 1);
  let at = 0;
  for (let row = 0; row < marks.length; row++) {
    rows[at] = row;
    at += marks[row];
  }
  return rows.subarray(0, count);
}
