import type { CollectionEntry } from '../domain/collections.js';
import { wordReader } from '../domain/columns.js';
import { type FeatureTable, valueAt } from '../domain/feature-table.js';
import type { GridFrame } from '../domain/grid.js';
import type { Box } from '../math/rings.js';
import { Problem } from '../problems.js';
import { type BoxIndex, boxIndex } from '../tiles/box-query.js';
import { unitCoordinates, webMercatorQuad } from '../tiles/matrix-set.js';
import { pointTiles, type TileSource } from '../tiles/point-tiles.js';
import { shapeTiles } from '../tiles/shape-tiles.js';
import { type FeatureText, featureText } from './feature-text.js';
import { type LayerCrs, type PlacedLayer, placedLayer } from './placed-layer.js';

/** Conditions on records of one collection, words already checked against the site. */
export interface RowConditions {
  readonly seasons: ReadonlySet<string> | null;
  readonly classes: ReadonlySet<string> | null;
  readonly bbox: { readonly box: Box; readonly crs: LayerCrs } | null;
  readonly datetime: { readonly startMs: number; readonly endMs: number } | null;
  readonly equals: readonly { readonly field: string; readonly value: string | number | boolean }[];
}

const decimals: Record<LayerCrs, number> = { crs84: 9, epsg4326: 9, epsg3857: 4, storage: 4 };

/** One published layer: what it is, and how its rows are found, written and drawn. Indexes are made when first used and kept. */
export class PublishedCollection {
  readonly id: string;
  readonly title: string;
  readonly description: string;
  readonly geometryType: 'point' | 'line' | 'area' | null;
  readonly table: FeatureTable;
  readonly timeField: string | null;
  readonly surface: boolean;
  readonly placed: PlacedLayer;
  readonly #texts = new Map<LayerCrs, FeatureText>();
  readonly #boxes = new Map<LayerCrs, BoxIndex>();
  readonly #filters = new Map<string, Uint8Array>();
  #tiles: TileSource | null = null;

  constructor(entry: Omit<CollectionEntry, 'build'>, table: FeatureTable, frame: GridFrame) {
    this.id = entry.id;
    this.title = entry.title;
    this.description = entry.description;
    this.geometryType = entry.geometryType;
    this.timeField = entry.timeField ?? null;
    this.surface = entry.surface ?? false;
    this.table = table;
    this.placed = placedLayer(table, frame);
  }

  get extent(): Box | null {
    return this.placed.extent;
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

  /** Rows that fit all conditions, rising. */
  rows(conditions: RowConditions): Uint32Array {
    const test = this.#test(conditions);
    if (conditions.bbox) {
      const { box, crs } = conditions.bbox;
      let index = this.#boxes.get(crs);
      if (!index) {
        index = boxIndex(this.table, this.placed.coordinates(crs));
        this.#boxes.set(crs, index);
      }
      const found = index.rows(box);
      return test ? found.filter(test) : found;
    }
    const all = Uint32Array.from({ length: this.table.length }, (_, row) => row);
    return test ? all.filter(test) : all;
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
  tile(
    address: { readonly z: number; readonly x: number; readonly y: number },
    conditions: RowConditions,
    key: string,
  ): Uint8Array {
    if (this.table.geometry === null) return new Uint8Array(0);
    return this.#tileSource().tile(address, this.#filter(conditions, key));
  }

  #tileSource(): TileSource {
    if (this.#tiles) return this.#tiles;
    const options = {
      layer: this.id,
      table: this.table,
      unit: unitCoordinates(webMercatorQuad, this.placed.coordinates('crs84')),
      properties: this.table.fields.map((field) => field.name),
    };
    this.#tiles = this.table.geometry?.type === 'point' ? pointTiles(options) : shapeTiles(options);
    return this.#tiles;
  }

  /** Marks of the rows to draw, kept for the last few selections; null = all. */
  #filter(conditions: RowConditions, key: string): Uint8Array | null {
    const known = this.#filters.get(key);
    if (known) return known;
    const test = this.#test(conditions);
    if (test === null) return null;
    const marks = Uint8Array.from({ length: this.table.length }, (_, row) => (test(row) ? 1 : 0));
    if (this.#filters.size >= 16) this.#filters.clear();
    this.#filters.set(key, marks);
    return marks;
  }
}
