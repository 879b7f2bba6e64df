import { createHash } from 'node:crypto';
import { createReadStream, createWriteStream } from 'node:fs';
import { open, rm } from 'node:fs/promises';
import { pipeline } from 'node:stream/promises';
import { setImmediate as nextTurn } from 'node:timers/promises';
import type { FeatureTable } from '../../domain/feature-table.js';
import type { Box } from '../../math/rings.js';
import { Problem } from '../../problems.js';
import { joinLayers } from '../../tiles/encode.js';
import { type TileAddress, tileBox, tileBuffer, tileExtent, webMercatorQuad } from '../../tiles/matrix-set.js';
import { archiveHead, packed, TileCollector, tileNumber } from '../../tiles/pmtiles.js';
import { tileJson } from '../../tiles/tilejson.js';
import type { PublishedCollection, RowConditions } from '../published-collection.js';
import type { ExportedSite } from './exported-site.js';

/** The deepest level written: one tile unit is then about a millimetre on the ground. */
const deepestLevel = 22;

/**
 * Vector tiles of a site, or of some of its seasons, as one PMTiles file that any file host serves: all collections with
 * a place as layers, surfaces left out. Tile by tile as the service gives them; only one tile is in memory at a time.
 * @throws Problem cannot-answer when nothing of the selection has a place
 */
export async function writePmtiles(site: ExportedSite, path: string): Promise<void> {
  const layers = site.layers
    .map(({ collection }) => collection)
    .filter((collection) => collection.table.geometry !== null && !collection.surface);
  const bounds = boundsOf(layers);
  if (bounds === null)
    throw new Problem('cannot-answer', `nothing of site ${site.survey.site.id} in this selection has a place to draw`);
  const spool = `${path}.tiles`;
  try {
    const tiles = await drawTiles(site, layers, spool);
    const out = createWriteStream(path);
    out.write(headOf(site, { layers, bounds, tiles }));
    await pipeline(createReadStream(spool), out);
  } finally {
    await rm(spool, { force: true });
  }
}

/** Draws every tile with something in it, level by level, and writes their bytes one after the other. */
async function drawTiles(
  { conditions, conditionsKey }: ExportedSite,
  layers: readonly PublishedCollection[],
  spool: string,
): Promise<TileCollector> {
  const tiles = new TileCollector();
  const file = await open(spool, 'w');
  try {
    let level: TileAddress[] = [{ z: 0, x: 0, y: 0 }];
    for (let z = 0; z <= deepestLevel; z++) {
      for (const address of level) {
        const bytes = joinLayers(
          layers.map((collection) => ({
            layer: collection.id,
            bytes: collection.tile(address, conditions, conditionsKey),
          })),
        );
        if (bytes.length === 0) continue;
        const key = createHash('sha256').update(bytes).digest('base64');
        const small = packed(bytes);
        if (tiles.add(tileNumber(address), key, small.length)) await file.write(small);
      }
      if (z < deepestLevel) level = childrenWithRecords(level, layers, conditions);
      await nextTurn();
    }
  } finally {
    await file.close();
  }
  return tiles;
}

function headOf(
  site: ExportedSite,
  of: { readonly layers: readonly PublishedCollection[]; readonly bounds: Box; readonly tiles: TileCollector },
): Uint8Array {
  const { tiles, bounds } = of;
  const document = tileJson({
    name: site.survey.site.name,
    ...(site.selectionSentence === null ? {} : { description: site.selectionSentence }),
    ...(site.survey.site.rights ? { attribution: site.survey.site.rights } : {}),
    tiles: [],
    minZoom: 0,
    maxZoom: deepestLevel,
    bounds,
    layers: of.layers.map(({ id, title, table }) => ({ id, description: title, fields: fieldTypes(table) })),
  });
  const { tilejson: _form, tiles: _addresses, scheme: _scheme, bounds: _bounds, center, ...metadata } = document;
  return archiveHead({
    entries: tiles.entries,
    dataBytes: tiles.dataBytes,
    contents: tiles.contents,
    minZoom: 0,
    maxZoom: deepestLevel,
    bounds,
    centerZoom: center?.[2] ?? deepestLevel,
    metadata: { ...metadata, version: String(site.version.version), format: 'pbf', type: 'overlay' },
  });
}

/** The four tiles below each, where a record lies, in the order of their numbers. */
function childrenWithRecords(
  level: readonly TileAddress[],
  layers: readonly PublishedCollection[],
  conditions: RowConditions,
): TileAddress[] {
  const children = level
    .flatMap(({ z, x, y }) => [0, 1, 2, 3].map((k) => ({ z: z + 1, x: 2 * x + (k & 1), y: 2 * y + (k >> 1) })))
    .filter((address) => {
      const box = drawnBox(address);
      return layers.some((layer) =>
        layer.rows({ ...conditions, bbox: { box, crs: 'crs84' } }).some((row) => hasPlace(layer.table, row)),
      );
    });
  return children
    .map((address) => ({ address, number: tileNumber(address) }))
    .sort((a, b) => a.number - b.number)
    .map(({ address }) => address);
}

/** Box of a tile with the strip that is drawn around it, degrees. */
function drawnBox(address: TileAddress): Box {
  const [west, south, east, north] = tileBox(webMercatorQuad, address);
  const strip = tileBuffer / tileExtent;
  const [across, up] = [strip * (east - west), strip * (north - south)];
  return [west - across, south - up, east + across, north + up];
}

/** A record without a place matches every box. */
function hasPlace({ geometry }: FeatureTable, row: number): boolean {
  if (geometry === null) return false;
  if (geometry.type === 'point') return !Number.isNaN(geometry.coordinates[2 * row]);
  return geometry.featureStart[row] < geometry.featureStart[row + 1];
}

function fieldTypes(table: FeatureTable): Record<string, string> {
  const words = { number: 'Number', integer: 'Number', boolean: 'Boolean' } as const;
  return Object.fromEntries(
    table.fields.map(({ name, type }) => [name, type in words ? words[type as keyof typeof words] : 'String']),
  );
}

function boundsOf(layers: readonly PublishedCollection[]): Box | null {
  const boxes = layers.flatMap(({ extent }) => (extent === null ? [] : [extent]));
  if (boxes.length === 0) return null;
  return [
    Math.min(...boxes.map((box) => box[0])),
    Math.min(...boxes.map((box) => box[1])),
    Math.max(...boxes.map((box) => box[2])),
    Math.max(...boxes.map((box) => box[3])),
  ];
}
