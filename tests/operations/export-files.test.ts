import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { open } from 'node:fs/promises';
import { join } from 'node:path';
import { PMTiles } from 'pmtiles';
import { describe, expect, test } from 'vitest';
import { defaultLimits } from '../../src/import/limits.js';
import { unzip } from '../../src/import/zip.js';
import type { Box } from '../../src/math/rings.js';
import { writeArchive } from '../../src/operations/export/archive-file.js';
import { geoPackageContent } from '../../src/operations/export/geopackage-content.js';
import { writePmtiles } from '../../src/operations/export/pmtiles-file.js';
import { writeGeoPackage } from '../../src/storage/sqlite/geopackage/writer.js';
import { joinLayers } from '../../src/tiles/encode.js';
import { tileLimits, webMercatorQuad } from '../../src/tiles/matrix-set.js';
import { exportedSite } from '../support/exported-site.js';
import { box, type SmallRecords, smallSite, smallSurvey } from '../support/small-site.js';
import { temporaryFolder } from '../support/temporary-store.js';
import { lawfulTile } from '../tiles/tile-laws.js';

const find = (i: number, season: string, artefact_class: string) => ({
  find: `F${i}`,
  season,
  artefact_class,
  position_kind: i % 5 === 4 ? 'square' : 'point',
  square: 'C3',
  local_x: i % 5 === 4 ? null : 1 + (i % 8),
  local_y: i % 5 === 4 ? null : 1 + (i % 5),
  z_elevation: -0.1 * i,
});

const records: SmallRecords = {
  finds: Array.from({ length: 40 }, (_, i) => find(i, i % 2 === 0 ? 'S1' : 'S2', i < 30 ? 'jar' : 'nail')),
  areas: [
    { season: 'S1', progress: 'to_deposit_bottom', ring: box(0, 0, 5, 8) },
    { season: 'S2', progress: 'to_deposit_bottom', ring: box(5, 0, 10, 8) },
  ],
  hullLines: [{ number: 'H1', element: 'keelson', line: [1, 1, 9, 7] }],
  identifications: [{ find: 'F1', artefact_class: 'bowl', date: '2024-01-01' }],
};

async function pmtilesOf(path: string) {
  const file = await open(path);
  const source = {
    getKey: () => path,
    getBytes: async (offset: number, length: number) => {
      const bytes = new Uint8Array(length);
      const { bytesRead } = await file.read(bytes, 0, length, offset);
      return { data: bytes.slice(0, bytesRead).buffer };
    },
  };
  return { archive: new PMTiles(source), close: () => file.close() };
}

describe('PMTiles of a season', () => {
  test('every tile is the tile the layers draw, and no tile with something in it is missing', async () => {
    const site = exportedSite(smallSurvey(records), { seasons: ['S2'] });
    const path = join(temporaryFolder(), 'a.pmtiles');
    await writePmtiles(site, path);
    const { archive, close } = await pmtilesOf(path);
    const layers = site.layers.map(({ collection }) => collection).filter(({ surface }) => !surface);
    let drawn = 0;
    for (const z of [0, 5, 15, 18, 20, 21, 22]) {
      const limit = tileLimits(webMercatorQuad, around(layers))[z];
      for (let y = limit.minTileRow; y <= limit.maxTileRow; y++) {
        for (let x = limit.minTileCol; x <= limit.maxTileCol; x++) {
          const wanted = joinLayers(
            layers.map((collection) => ({
              layer: collection.id,
              bytes: collection.tile({ z, x, y }, site.conditions, site.conditionsKey),
            })),
          );
          const found = await archive.getZxy(z, x, y);
          expect(Buffer.compare(Buffer.from(found?.data ?? new ArrayBuffer(0)), Buffer.from(wanted))).toBe(0);
          if (wanted.length > 0) drawn++;
        }
      }
    }
    expect(drawn).toBeGreaterThan(12);
    const world = lawfulTile(new Uint8Array((await archive.getZxy(22, ...middle(22)))?.data ?? new ArrayBuffer(0)));
    const finds = world.find(({ name }) => name === 'finds')?.features ?? [];
    for (const { properties } of finds) expect(properties['season']).toBe('S2');
    await close();
  });

  test('metadata name the layers with the types of their fields, and the season', async () => {
    const path = join(temporaryFolder(), 'a.pmtiles');
    await writePmtiles(exportedSite(smallSurvey(records), { seasons: ['S2'] }), path);
    const { archive, close } = await pmtilesOf(path);
    const metadata = (await archive.getMetadata()) as {
      description: string;
      vector_layers: { id: string; fields: Record<string, string> }[];
    };
    expect(metadata.description).toBe('seasons S2');
    const finds = metadata.vector_layers.find(({ id }) => id === 'finds');
    expect(finds?.fields).toMatchObject({ find: 'String', z_elevation: 'Number', intrusive: 'Boolean' });
    await close();
  });

  test('nothing with a place is a refusal', async () => {
    const site = exportedSite(smallSurvey({}));
    const placeless = { ...site, layers: site.layers.filter(({ collection }) => collection.table.geometry === null) };
    await expect(writePmtiles(placeless, join(temporaryFolder(), 'a'))).rejects.toThrow(/has a place to draw/);
  });
});

/** Box around some layers, degrees. */
function around(layers: readonly { readonly extent: Box | null }[]): Box {
  const boxes = layers.flatMap(({ extent }) => (extent ? [extent] : []));
  const side = (k: number) => boxes.map((b) => b[k]);
  return [Math.min(...side(0)), Math.min(...side(1)), Math.max(...side(2)), Math.max(...side(3))];
}

/** Tile of the middle of the small site. */
function middle(z: number): [number, number] {
  const [u, v] = webMercatorQuad.project(...smallSurvey({}).frame.toLonLat(5, 4));
  return [Math.floor(u * 2 ** z), Math.floor(v * 2 ** z)];
}

describe('a deposit package', () => {
  const files = { 'site.json': '{"id":"small"}', 'finds.csv': 'find\nF1\n' };
  const limits = { ...defaultLimits, workbookParts: 1000 };
  const packed = async (given: SmallRecords = records) => {
    const path = join(temporaryFolder(), 'a.zip');
    await writeArchive(exportedSite(smallSurvey(given), { files }), path, { writeGeoPackage });
    const bytes = readFileSync(path);
    return { bytes, parts: unzip(bytes, limits) };
  };
  const textOf = (parts: ReadonlyMap<string, Uint8Array>, name: string) => new TextDecoder().decode(parts.get(name));

  test('holds what was received byte by byte, every table, the lists and the coordinate systems', async () => {
    const { parts } = await packed();
    for (const [name, content] of Object.entries(files))
      expect(textOf(parts, `restricted/received/${name}`)).toBe(content);
    for (const name of [
      'README.txt',
      'restricted/tables/finds.csv',
      'restricted/tables/excavated-areas.csv',
      'restricted/tables/identifications.csv',
      'restricted/small.gpkg',
      'restricted/lists/field-list.csv',
      'restricted/lists/artefact-classes.csv',
      'restricted/crs/site-grid-g1.wkt2.txt',
      'restricted/crs/site-grid-g1.proj.txt',
      'restricted/crs/projected.wkt2.txt',
      'restricted/metadata/datacite.json',
      'public/metadata/datacite.json',
      'public/class-counts.csv',
    ])
      expect(parts.has(name), name).toBe(true);
    expect(textOf(parts, 'restricted/set-aside.csv')).toBe(
      'file,row,reason,text\r\nfinds.csv,7,no number,"\'=x,y"\r\n',
    );
    expect(
      Buffer.from(parts.get('restricted/small.gpkg') ?? [])
        .subarray(0, 6)
        .toString(),
    ).toBe('SQLite');
  });

  test('checksums are those of the files, for the whole and for each folder alone', async () => {
    const { parts } = await packed();
    for (const folder of ['', 'restricted/', 'public/']) {
      const lines = textOf(parts, `${folder}manifest-sha256.txt`).trimEnd().split('\n');
      const named = lines.map((line) => /^([0-9a-f]{64}) {2}(.+)$/.exec(line) ?? expect.fail(line));
      for (const [, sum, name] of named) {
        const part = parts.get(`${folder}${name}`);
        expect(
          createHash('sha256')
            .update(part ?? '')
            .digest('hex'),
          name,
        ).toBe(sum);
      }
      const all = [...parts.keys()].filter(
        (name) => name.startsWith(folder) && name !== `${folder}manifest-sha256.txt`,
      );
      expect(named.map(([, , name]) => `${folder}${name}`).sort()).toEqual(all.sort());
    }
  });

  test('the same records give the same bytes', async () => {
    const [a, b] = [await packed(), await packed()];
    expect(Buffer.compare(a.bytes, b.bytes)).toBe(0);
  });

  test('the public copy is the same wherever the site lies, however it is turned and whatever was received', async () => {
    const here = await packed();
    const site = smallSite();
    const moved = { ...site, grids: [{ ...site.grids[0], origin_easting: 500_123.4, azimuth_deg: 77, scale: 0.9998 }] };
    const there = await packed({ ...records, site: moved });
    const publicParts = (parts: ReadonlyMap<string, Uint8Array>) =>
      [...parts].filter(([name]) => name.startsWith('public/')).map(([name]) => [name, textOf(parts, name)]);
    expect(publicParts(there.parts)).toEqual(publicParts(here.parts));
    expect(textOf(there.parts, 'restricted/crs/crs.json')).not.toBe(textOf(here.parts, 'restricted/crs/crs.json'));
  });

  test('small counts and sensitive classes are not told to everybody', async () => {
    const site = smallSite({
      artefact_classes: [
        { id: 'jar' },
        { id: 'nail' },
        { id: 'bone', sensitivity: 'human_remains' },
        { id: 'skull', parent: 'bone' },
      ],
    });
    const bones = Array.from({ length: 20 }, (_, i) => find(100 + i, 'S1', 'skull'));
    const { parts } = await packed({ ...records, site, finds: [...(records.finds ?? []), ...bones] });
    expect(textOf(parts, 'public/class-counts.csv').split('\r\n')).toEqual([
      'artefact_class,season,finds',
      'jar,S1,15',
      // F1 was taken for a bowl later, a class this site does not name
      'jar,S2,14',
      'nail,S1,fewer than 10',
      'nail,S2,fewer than 10',
      '',
    ]);
    for (const [name, bytes] of parts)
      if (name.startsWith('public/')) expect(new TextDecoder().decode(bytes), name).not.toMatch(/skull|bone/);
  });

  test('a part of the records is no deposit', async () => {
    const site = exportedSite(smallSurvey(records), { seasons: ['S1'], files });
    const path = join(temporaryFolder(), 'a.zip');
    await expect(writeArchive(site, path, { writeGeoPackage })).rejects.toThrow(
      /leave out the selection \(seasons S1\)/,
    );
  });
});

describe('GeoPackage of a site', () => {
  test('each layer on the map and in site-grid metres, rows of the selection only, no kept results', async () => {
    const site = exportedSite(smallSurvey(records), { seasons: ['S1'] });
    const content = await geoPackageContent(site);
    const layer = (name: string) => content.layers.find((l) => l.name === name) ?? expect.fail(name);
    expect(layer('finds').placed?.referenceId).toBe(32626);
    expect(layer('finds_site_grid').placed?.referenceId).toBe(-1);
    expect(layer('finds').rows.length).toBe(20);
    expect(layer('finds_site_grid').rows).toEqual(layer('finds').rows);
    expect(layer('identifications').placed).toBeNull();
    const [x, y] = layer('finds_site_grid').placed?.coordinates ?? [];
    const [e, n] = layer('finds').placed?.coordinates ?? [];
    const wanted = site.survey.frame.toProjected(x, y);
    expect(Math.hypot(e - wanted[0], n - wanted[1])).toBeLessThan(1e-6);
    expect(content.changedAt).toBe('2026-01-02T03:04:05.678Z');
    expect(content.references.map(({ id }) => id)).toEqual([-1, 0, 4326, 32626]);
    const style = layer('styles').table.columns.get('style');
    expect(style).toBeDefined();
  });

  test('a CRS without a registered code: the map copy is longitude and latitude', async () => {
    const site = smallSite();
    const proj = '+proj=tmerc +lat_0=0 +lon_0=-28 +k=1 +x_0=500000 +y_0=0 +ellps=GRS80 +units=m +no_defs';
    const own = { ...site, grids: [{ ...site.grids[0], crs: proj, origin_easting: 500_100 }] };
    const content = await geoPackageContent(exportedSite(smallSurvey({ ...records, site: own })));
    const finds = content.layers.find(({ name }) => name === 'finds');
    expect(finds?.placed?.referenceId).toBe(4326);
    expect(finds?.placed?.coordinates[0]).toBeCloseTo(-28, 1);
  });
});
