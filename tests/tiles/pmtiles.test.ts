import { PMTiles, type Source, zxyToTileId } from 'pmtiles';
import { describe, expect, test } from 'vitest';
import { randomStream } from '../../src/math/random.js';
import type { TileAddress } from '../../src/tiles/matrix-set.js';
import { archiveHead, packed, TileCollector, tileNumber } from '../../src/tiles/pmtiles.js';

/** The curve as it is defined: four turned copies of the level below. → column and row of every step */
function curve(z: number): [number, number][] {
  if (z === 0) return [[0, 0]];
  const below = curve(z - 1);
  const side = 2 ** (z - 1);
  return [
    ...below.map(([x, y]): [number, number] => [y, x]),
    ...below.map(([x, y]): [number, number] => [x, y + side]),
    ...below.map(([x, y]): [number, number] => [x + side, y + side]),
    ...below.map(([x, y]): [number, number] => [2 * side - 1 - y, side - 1 - x]),
  ];
}

test('tiles are numbered level by level along the curve', () => {
  let number = 0;
  for (let z = 0; z <= 6; z++) {
    for (const [x, y] of curve(z)) expect(tileNumber({ z, x, y })).toBe(number++);
  }
});

test('deep tiles have the numbers another program gives them', () => {
  const random = randomStream(3, 0);
  for (let i = 0; i < 500; i++) {
    const z = 7 + Math.floor(18 * random.next());
    const [x, y] = [Math.floor(2 ** z * random.next()), Math.floor(2 ** z * random.next())];
    expect(tileNumber({ z, x, y })).toBe(zxyToTileId(z, x, y));
  }
});

/** An archive in memory, read by stretches as over a network. */
function reader(bytes: Uint8Array, asked: [number, number][] = []): PMTiles {
  const source: Source = {
    getKey: () => 'memory',
    getBytes: async (offset, length) => {
      asked.push([offset, length]);
      return { data: Uint8Array.from(bytes.subarray(offset, offset + length)).buffer };
    },
  };
  return new PMTiles(source);
}

function archive(tiles: readonly { readonly address: TileAddress; readonly text: string }[]): Uint8Array {
  const collector = new TileCollector();
  const data: Uint8Array[] = [];
  const known = new Map<string, Uint8Array>();
  const ordered = tiles.map(({ address, text }) => ({ id: tileNumber(address), text })).sort((a, b) => a.id - b.id);
  for (const { id, text } of ordered) {
    const bytes = known.get(text) ?? packed(new TextEncoder().encode(text));
    known.set(text, bytes);
    if (collector.add(id, text, bytes.length)) data.push(bytes);
  }
  const head = archiveHead({
    entries: collector.entries,
    dataBytes: collector.dataBytes,
    contents: collector.contents,
    minZoom: 0,
    maxZoom: 22,
    bounds: [-28.1174496, 45.0041571, -28.1143698, 45.0059869],
    centerZoom: 18,
    metadata: { name: 'A ledge', vector_layers: [{ id: 'finds', fields: { find: 'String' } }] },
  });
  return Buffer.concat([head, ...data]);
}

const textOf = async (pmtiles: PMTiles, { z, x, y }: TileAddress) => {
  const found = await pmtiles.getZxy(z, x, y);
  return found ? new TextDecoder().decode(found.data) : null;
};

describe('an archive is read back by another program', () => {
  test('header, metadata and tiles; a tile that is not in it is not found', async () => {
    const tiles = [
      { address: { z: 0, x: 0, y: 0 }, text: 'world' },
      { address: { z: 3, x: 2, y: 5 }, text: 'one' },
      { address: { z: 22, x: 1_769_472, y: 1_500_000 }, text: 'deep' },
    ];
    const pmtiles = reader(archive(tiles));
    expect(await pmtiles.getHeader()).toMatchObject({
      specVersion: 3,
      tileType: 1,
      tileCompression: 2,
      internalCompression: 2,
      clustered: true,
      minZoom: 0,
      maxZoom: 22,
      minLon: -28.1174496,
      minLat: 45.0041571,
      maxLon: -28.1143698,
      maxLat: 45.0059869,
      centerZoom: 18,
      numAddressedTiles: 3,
      numTileEntries: 3,
      numTileContents: 3,
    });
    expect(await pmtiles.getMetadata()).toMatchObject({ name: 'A ledge' });
    for (const { address, text } of tiles) expect(await textOf(pmtiles, address)).toBe(text);
    expect(await textOf(pmtiles, { z: 3, x: 2, y: 4 })).toBeNull();
    expect(await textOf(pmtiles, { z: 22, x: 1, y: 1 })).toBeNull();
  });

  test('equal tiles are kept once, equal neighbours along the curve are one entry', async () => {
    const level = curve(3).map(([x, y], i) => ({ address: { z: 3, x, y }, text: i < 40 ? 'sea' : `land ${i % 3}` }));
    const pmtiles = reader(archive(level));
    expect(await pmtiles.getHeader()).toMatchObject({
      numAddressedTiles: 64,
      numTileEntries: 25,
      numTileContents: 4,
    });
    for (const { address, text } of level) expect(await textOf(pmtiles, address)).toBe(text);
  });

  test('6,000 tiles: the first request still holds the first directory, and every tile is found', async () => {
    const random = randomStream(9, 0);
    const seen = new Set<string>();
    const tiles: { address: TileAddress; text: string }[] = [];
    while (tiles.length < 6000) {
      const address = {
        z: 20,
        x: 442_000 + Math.floor(900 * random.next()),
        y: 370_000 + Math.floor(900 * random.next()),
      };
      const key = `${address.x}/${address.y}`;
      if (seen.has(key)) continue;
      seen.add(key);
      // from a few contents, so that their places in the data jump about
      const kind = Math.floor(300 * random.next());
      tiles.push({ address, text: `${kind} ${'x'.repeat(kind)}` });
    }
    const asked: [number, number][] = [];
    const bytes = archive(tiles);
    const pmtiles = reader(bytes, asked);
    const header = await pmtiles.getHeader();
    expect(header.leafDirectoryLength).toBeGreaterThan(0);
    expect(header.rootDirectoryOffset + header.rootDirectoryLength).toBeLessThanOrEqual(16_384);
    for (let i = 0; i < tiles.length; i += 29) expect(await textOf(pmtiles, tiles[i].address)).toBe(tiles[i].text);
    // only stretches were asked for, none larger than the first
    for (const [, length] of asked) expect(length).toBeLessThanOrEqual(16_384);
  });

  test('the same tiles give the same bytes', () => {
    const tiles = [{ address: { z: 0, x: 0, y: 0 }, text: 'world' }];
    expect(Buffer.compare(archive(tiles), archive(tiles))).toBe(0);
  });
});
