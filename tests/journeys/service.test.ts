import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { VectorTile } from '@mapbox/vector-tile';
import { PbfReader } from 'pbf';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type RunningService, root, startService, wreckfield } from '../support/running-service.js';
import { lawfulTile } from '../tiles/tile-laws.js';

let service: RunningService;
let base: string;
beforeAll(async () => {
  service = await startService({ WORKERS: '1' });
  base = `${service.url}/sites/tarn-ledge`;
}, 90_000);
afterAll(() => service?.stop());

const json = async (path: string) => (await fetch(`${base}${path}`)).json() as Promise<Record<string, never>>;
const post = (process: string, body: unknown, headers: Record<string, string> = {}) =>
  fetch(`${base}/processes/${process}/execution`, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json', ...headers },
    body: JSON.stringify(body),
  });

async function finished(jobUrl: string): Promise<{ status: string; progress: number; message: string }> {
  for (let i = 0; i < 300; i++) {
    const status = (await (await fetch(jobUrl)).json()) as { status: string; progress: number; message: string };
    if (!['accepted', 'running'].includes(status.status)) return status;
    await wait(200);
  }
  throw new Error('the job did not end in a minute');
}

describe('processes on the demo', () => {
  test.each(['nearest-neighbour', 'kernel-density', 'hull-scatter'])(
    '%s now, by class and season, as one JSON object',
    async (process) => {
      const answer = await post(process, {
        inputs: { artefact_class: 'nail', season: ['S2', 'S3'], simulations: 19 },
        response: 'document',
      });
      expect(answer.status).toBe(200);
      const document = (await answer.json()) as Record<string, { value: Record<string, unknown> }>;
      expect(Object.keys(document)).toEqual(
        expect.arrayContaining(['summary', 'table', 'figure', 'methods', 'provenance']),
      );
      expect(document['summary'].value['window_area_m2']).toBe(162);
      expect(document['provenance'].value).toMatchObject({ process, data_version: 1, window_area_m2: 162, seed: 1790 });
    },
    60_000,
  );

  test('later: 201 with status, then layers that are collections, paged and tiled like any other', async () => {
    const accepted = await post(
      'nearest-neighbour',
      { inputs: { artefact_class: 'window glass', simulations: 99 } },
      { Prefer: 'respond-async' },
    );
    expect(accepted.status).toBe(201);
    const location = accepted.headers.get('location') as string;
    expect((await accepted.json()) as object).toMatchObject({ type: 'process', processID: 'nearest-neighbour' });
    expect((await finished(location)).status).toBe('successful');
    const id = location.split('/').at(-1);
    const layer = `result-${id}-features`;
    const { collections } = (await json('/collections')) as unknown as {
      collections: { id: string; itemCount: number }[];
    };
    const count = collections.find((c) => c.id === layer)?.itemCount ?? 0;
    expect(count).toBeGreaterThan(100);
    const page = (await json(`/collections/${layer}/items?limit=10`)) as unknown as {
      numberMatched: number;
      features: { properties: Record<string, unknown> }[];
    };
    expect(page.numberMatched).toBe(count);
    expect(page.features[0].properties).toHaveProperty('nearest_distance_m');
    const tile = await fetch(`${base}/collections/${layer}/tiles/WebMercatorQuad/0/0/0`);
    const bytes = new Uint8Array(await tile.arrayBuffer());
    expect(tile.status).toBe(200);
    expect(new VectorTile(new PbfReader(bytes)).layers[layer].length).toBeGreaterThan(0);
    const figure = await fetch(`${location}/figure.svg`);
    expect(figure.headers.get('content-type')).toMatch(/svg/);
    expect((await fetch(`${location}/table.csv`)).status).toBe(200);
    expect(await (await fetch(`${location}/methods.txt`)).text()).toContain('Clark & Evans (1954)');
    const gone = await fetch(location, { method: 'DELETE' });
    expect(gone.status).toBe(200);
    expect((await fetch(`${base}/collections/${layer}`)).status).toBe(404);
  }, 90_000);

  test('a kept surface is a collection with a coverage', async () => {
    const answer = await post('kernel-density', {
      inputs: { artefact_class: 'hearth brick', keep: true },
      outputs: { summary: {} },
      response: 'document',
    });
    expect(answer.status).toBe(200);
    const { collections } = (await json('/collections')) as unknown as { collections: { id: string }[] };
    const surface = collections.find((c) => /^result-.*-coverage$/.test(c.id));
    expect(surface).toBeDefined();
    const tiff = await fetch(`${base}/collections/${surface?.id}/coverage`);
    expect(tiff.headers.get('content-type')).toMatch(/image\/tiff/);
    const footprint = (await json(`/collections/${surface?.id}/items`)) as unknown as { numberMatched: number };
    expect(footprint.numberMatched).toBe(1);
  }, 60_000);

  test('a job under way stops within a second when dismissed', async () => {
    const accepted = await post('nearest-neighbour', { inputs: { simulations: 99_999 } }, { Prefer: 'respond-async' });
    const location = accepted.headers.get('location') as string;
    for (let i = 0; i < 100; i++) {
      const { status } = (await (await fetch(location)).json()) as { status: string };
      if (status === 'running') break;
      await wait(100);
    }
    const before = performance.now();
    const answer = await fetch(location, { method: 'DELETE' });
    expect((await answer.json()) as object).toMatchObject({ status: 'dismissed' });
    expect(performance.now() - before).toBeLessThan(1000);
    // the thread is free again: the next run is answered
    expect(
      (await post('nearest-neighbour', { inputs: { simulations: 9, artefact_class: 'leather' }, response: 'document' }))
        .status,
    ).toBe(200);
  }, 90_000);

  test('one and two workers give the same bytes', async () => {
    const two = await startService({ WORKERS: '2' });
    try {
      const ask = async (url: string, process: string) => {
        const answer = await fetch(`${url}/sites/tarn-ledge/processes/${process}/execution`, {
          method: 'POST',
          headers: { 'Content-Type': 'application/json' },
          body: JSON.stringify({
            inputs: { artefact_class: 'tableware', square_only: 'spread', draws: 3, simulations: 39 },
            response: 'document',
          }),
        });
        return (await answer.text()).replaceAll(url, '');
      };
      for (const process of ['nearest-neighbour', 'kernel-density', 'hull-scatter']) {
        const [a, b] = await Promise.all([ask(service.url, process), ask(two.url, process)]);
        expect(b === a, process).toBe(true);
      }
    } finally {
      await two.stop();
    }
  }, 180_000);

  test('a refusal is a problem with a sentence', async () => {
    const donnelly = await post('nearest-neighbour', { inputs: { edge: 'donnelly' } });
    expect(donnelly.status).toBe(422);
    expect(donnelly.headers.get('content-type')).toContain('application/problem+json');
    expect(((await donnelly.json()) as { detail: string }).detail).toMatch(/rectangle/);
    expect((await post('nearest-neighbour', { inputs: { filter: "saison = 'S1'" } })).status).toBe(400);
    expect((await fetch(`${base}/collections/finds/items?filter=saison='S1'`)).status).toBe(400);
    expect((await fetch(`${base}/collections/finds/items?filtre=season='S1'`)).status).toBe(400);
  }, 30_000);
});

test('references through HTTP: the same site, imported from its files, gives the reference numbers', async () => {
  const reference = JSON.parse(readFileSync(join(root, 'tests/reference/nn_site_a.json'), 'utf8'));
  const kde = JSON.parse(readFileSync(join(root, 'tests/reference/kde_site_a.json'), 'utf8'));
  const { mkdtempSync, writeFileSync, rmSync } = await import('node:fs');
  const { tmpdir } = await import('node:os');
  const folder = mkdtempSync(join(tmpdir(), 'wreckfield-reference-'));
  try {
    const site = {
      id: 'reference-a',
      name: 'A synthetic trench',
      vertical_datum: { name: 'none', kind: 'other' },
      grids: [
        {
          id: 'g',
          crs: 'EPSG:32631',
          origin_easting: 500000,
          origin_northing: 4649776,
          azimuth_deg: 0,
          columns: 12,
          rows: 8,
        },
      ],
      seasons: [{ id: '1' }],
      artefact_classes: [{ id: 'thing' }],
    };
    const close = (ring: number[][]) => [...ring, ring[0]];
    const area = {
      type: 'FeatureCollection',
      coordinate_space: 'site-grid',
      features: [
        {
          type: 'Feature',
          properties: { season: '1', progress: 'to_deposit_bottom' },
          geometry: {
            type: 'Polygon',
            coordinates: [close(reference.input.window.outer), ...reference.input.window.holes.map(close)],
          },
        },
      ],
    };
    writeFileSync(join(folder, 'site.json'), JSON.stringify(site));
    writeFileSync(join(folder, 'excavated-areas.geojson'), JSON.stringify(area));
    const rows = reference.input.points.map(([x, y]: number[], i: number) => `${i + 1},1,thing,point,${x},${y}`);
    writeFileSync(
      join(folder, 'finds.csv'),
      `find,season,artefact_class,position_kind,local_x,local_y\n${rows.join('\n')}\n`,
    );
    const imported = await wreckfield(['import', folder, '--json'], { DATA_DIR: service.dataDir });
    expect(JSON.parse(imported.out)).toMatchObject({ site: 'reference-a', version: 1 });
    // a running service sees an import by another process within two seconds
    const deadline = performance.now() + 2000;
    let seen = false;
    while (!seen && performance.now() < deadline) {
      const { sites } = (await (await fetch(`${service.url}/sites`)).json()) as { sites: { id: string }[] };
      seen = sites.some(({ id }) => id === 'reference-a');
      if (!seen) await wait(100);
    }
    expect(seen).toBe(true);
    const ask = async (process: string, inputs: object) => {
      const answer = await fetch(`${service.url}/sites/reference-a/processes/${process}/execution`, {
        method: 'POST',
        headers: { 'Content-Type': 'application/json' },
        body: JSON.stringify({ inputs, outputs: { summary: {} }, response: 'raw' }),
      });
      return (await answer.json()) as Record<string, never>;
    };
    const nearest = (await ask('nearest-neighbour', { simulations: 0 })) as unknown as {
      n: number;
      clark_evans: { ratio: number; p: number };
    };
    expect(nearest.n).toBe(96);
    expect(Math.abs(nearest.clark_evans.ratio / reference.expected.R_none - 1)).toBeLessThan(1e-10);
    expect(Math.abs(nearest.clark_evans.p - reference.expected.p_two_none)).toBeLessThan(1e-10);
    const density = (await ask('kernel-density', {
      bandwidth: kde.expected.sigma,
      edge: 'uniform',
      at: kde.expected.grid_xy,
    })) as unknown as { at: number[] };
    for (const [i, v] of density.at.entries())
      expect(Math.abs(v / kde.expected.grid_uniform[i] - 1)).toBeLessThan(1e-8);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}, 90_000);

test('every tile of the demo from zoom 0 to 22 keeps the laws of vector tiles, dataset tiles too', async () => {
  const { collections } = (await json('/collections')) as unknown as {
    collections: { id: string; extent?: { spatial: { bbox: number[][] } } }[];
  };
  const own = collections.filter(({ id }) => !id.startsWith('result-') && id !== 'bathymetry');
  const [west, south, east, north] = own.find(({ id }) => id === 'grid-squares')?.extent?.spatial.bbox[0] ?? [];
  const column = (lon: number, z: number) => Math.floor(((lon + 180) / 360) * 2 ** z);
  const row = (lat: number, z: number) =>
    Math.floor((0.5 - Math.asinh(Math.tan((lat * Math.PI) / 180)) / (2 * Math.PI)) * 2 ** z);
  const seen = new Map<string, Set<number>>();
  for (const z of [0, 5, 10, 14, 16, 17, 18, 19, 20, 21, 22]) {
    for (let x = column(west, z); x <= column(east, z); x++) {
      for (let y = row(north, z); y <= row(south, z); y++) {
        const bytes = new Uint8Array(await (await fetch(`${base}/tiles/WebMercatorQuad/${z}/${y}/${x}`)).arrayBuffer());
        // throws where a law of MVT 2.1 is broken: winding, ids, version, empty layers, repeated keys
        const layers = lawfulTile(bytes);
        const read = new VectorTile(new PbfReader(bytes)).layers;
        expect(Object.keys(read).sort()).toEqual(layers.map(({ name }) => name).sort());
        if (z !== 20) continue;
        for (const { name, features } of layers) {
          const ids = seen.get(name) ?? new Set<number>();
          seen.set(name, ids);
          for (const feature of features) ids.add(feature.id);
        }
      }
    }
  }
  // at a zoom where nothing is thinned, every feature with a place is in some tile
  const page = (await json('/collections/grid-squares/items?limit=1')) as unknown as { numberMatched: number };
  expect(seen.get('grid-squares')?.size).toBe(page.numberMatched);
  expect(seen.get('refits')?.size).toBeGreaterThan(50);
}, 300_000);
