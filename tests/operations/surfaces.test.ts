import { fromArrayBuffer } from 'geotiff';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { numbers } from '../../src/domain/columns.js';
import type { Queue } from '../../src/jobs/queue.js';
import type { AnalysisDesk } from '../../src/operations/run-analysis.js';
import type { Selection, Service, SurveyView } from '../../src/operations/service.js';
import { siteService } from '../../src/operations/site-service.js';
import { webMercatorQuad } from '../../src/tiles/matrix-set.js';
import { type DemoStore, openDemo } from '../support/demo.js';

let demo: DemoStore;
let service: Service;
const nothing = {} as unknown;
beforeAll(async () => {
  demo = await openDemo();
  const rooms = { store: demo.store, shelf: demo.shelf, catalogue: [] };
  service = siteService({
    ...rooms,
    queue: nothing as Queue,
    desk: nothing as AnalysisDesk,
    writeGeoPackage: async () => {},
  });
}, 60_000);
afterAll(() => demo?.close());

const viewOf = (...seasons: string[]) =>
  service.survey('tarn-ledge', { version: null, identifiedAsOf: null, ...(seasons.length > 0 ? { seasons } : {}) });
const selection = (...seasons: string[]): Selection => ({
  seasons,
  classes: [],
  bbox: null,
  datetime: null,
  equals: [],
});
const collection = (view: SurveyView, id: string) => view.collections.get(id) ?? expect.fail(`no collection ${id}`);
const bands = async (bytes: Uint8Array) => {
  const image = await (await fromArrayBuffer(new Uint8Array(bytes).buffer)).getImage();
  return { image, rasters: (await image.readRasters()) as unknown as Float32Array[] };
};

describe.each(['deposit_top', 'deposit_bottom', 'thickness'])('the coverage of %s', (surface) => {
  const id = surface.replace('_', '-');

  test('is what deposit-surface answers without further inputs, values and σ, by season too', async () => {
    for (const seasons of [[], ['S2']]) {
      const view = await viewOf(...seasons);
      const bytes = await service.coverage(view, collection(view, id), selection(...seasons));
      const { coverage } = await demo.run('deposit-surface', { surface, season: seasons });
      const { image, rasters } = await bands(bytes);
      expect([image.getWidth(), image.getHeight()]).toEqual([coverage?.columns, coverage?.rows]);
      expect(image.getGeoKeys()?.['ProjectedCSTypeGeoKey']).toBe(32626);
      expect(rasters.length).toBe(2);
      expect(Buffer.compare(Buffer.from(rasters[0].buffer), Buffer.from(coverage!.values.buffer))).toBe(0);
      expect(Buffer.compare(Buffer.from(rasters[1].buffer), Buffer.from(coverage!.sigma!.buffer))).toBe(0);
    }
  }, 30_000);

  test('its contours are those of deposit-surface', async () => {
    const { features } = await demo.run('deposit-surface', { surface });
    const table = collection(await viewOf(), `${id}-contours`).table;
    const sorted = (values: Float64Array) => [...values].sort((a, b) => a - b);
    expect(table.length).toBe(features?.length);
    const field = surface === 'thickness' ? 'thickness_m' : 'elevation_m';
    expect(sorted(numbers(table, field))).toEqual(sorted(numbers(features!, 'elevation_m')));
    expect(table.geometry?.coordinates.length).toBe(features?.geometry?.coordinates.length);
  }, 30_000);
});

test('one view for one choice of seasons; collections that no season changes are the same objects', async () => {
  const [all, s1, again] = await Promise.all([viewOf(), viewOf('S1'), viewOf('S1')]);
  expect(again).toBe(s1);
  expect(s1.collections.get('finds')).toBe(all.collections.get('finds'));
  expect(s1.collections.get('deposit-top')).not.toBe(all.collections.get('deposit-top'));
  await expect(viewOf('S9')).rejects.toThrow(/season "S9" is not known/);
});

test('features and tiles of contours follow the seasons', async () => {
  const rowsOf = async (...seasons: string[]) => {
    const view = await viewOf(...seasons);
    return (await service.select(view, collection(view, 'thickness-contours'), selection(...seasons))).length;
  };
  const [every, first] = [await rowsOf(), await rowsOf('S1')];
  expect(first).toBeGreaterThan(0);
  expect(first).toBeLessThan(every);
  const tile = async (...seasons: string[]) => {
    const view = await viewOf(...seasons);
    const own = collection(view, 'thickness-contours');
    const [west, south, east, north] = own.extent!;
    const size = 2 ** 18;
    const x = Math.floor((((west + east) / 2 + 180) / 360) * size);
    const y = Math.floor((0.5 - Math.asinh(Math.tan((((south + north) / 2) * Math.PI) / 180)) / (2 * Math.PI)) * size);
    return service.tile({
      survey: view,
      collections: [own],
      z: 18,
      x,
      y,
      selection: selection(...seasons),
      set: webMercatorQuad,
    });
  };
  const [whole, trench] = [await tile(), await tile('S1')];
  expect(trench.bytes.length).toBeGreaterThan(0);
  expect(trench.bytes.length).toBeLessThan(whole.bytes.length);
  expect(trench.etag).not.toBe(whole.etag);
}, 30_000);

test('a style draws contours with the site, and a surface only when it is asked for by name', async () => {
  const view = await viewOf();
  const addresses = {
    tileJson: (id: string) => `http://x/${id}.json`,
    tiles: (id: string) => `http://x/${id}/{z}/{x}/{y}`,
  };
  const sources = (id: string) => Object.keys((service.style(view, id, addresses) as { sources: object }).sources);
  expect(sources('site')).toEqual(
    expect.arrayContaining(['deposit-top-contours', 'thickness-contours', 'bathymetry-contours', 'bathymetry']),
  );
  expect(sources('site')).not.toContain('thickness');
  expect(sources('thickness')).toEqual(['thickness']);
});

test('a collection that is no surface has no coverage', async () => {
  const view = await viewOf();
  await expect(service.coverage(view, collection(view, 'finds'), selection())).rejects.toThrow(/is not a surface/);
});
