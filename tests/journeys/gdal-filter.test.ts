import { createServer, request, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type RunningService, startService, system, systemPart } from '../support/running-service.js';

const gdal = systemPart('ogrinfo', 'gdal-bin');

describe.skipIf(!gdal)('GDAL hands its filters to the service', () => {
  let service: RunningService;
  let listener: Server;
  let base: string;
  let asked: string[] = [];

  beforeAll(async () => {
    service = await startService();
    const { port } = new URL(service.url);
    // stands between, hands everything on and writes down the addresses
    listener = createServer((incoming, outgoing) => {
      asked.push(incoming.url as string);
      const { method, url, headers } = incoming;
      request({ host: '127.0.0.1', port, method, path: url, headers }, (answer) => {
        outgoing.writeHead(answer.statusCode as number, answer.headers);
        answer.pipe(outgoing);
      }).end();
    });
    await new Promise<void>((resolve) => listener.listen(0, '127.0.0.1', resolve));
    base = `http://127.0.0.1:${(listener.address() as AddressInfo).port}/sites/tarn-ledge`;
  }, 90_000);
  afterAll(async () => {
    listener?.closeAllConnections();
    listener?.close();
    await service?.stop();
  });

  /** what GDAL counts, and the addresses of items it asked */
  async function counted(layer: string, words: readonly string[]) {
    asked = [];
    const text = await system('ogrinfo', ['-ro', '-al', '-so', ...words, `OAPIF:${base}`, layer]);
    const items = asked.filter((url) => url.includes('/items')).map((url) => new URL(url, base).searchParams);
    return { count: Number(/Feature Count: (\d+)/.exec(text)?.[1]), items };
  }
  const matched = async (query: Record<string, string>, layer = 'finds') => {
    const answer = await fetch(`${base}/collections/${layer}/items?${new URLSearchParams({ limit: '1', ...query })}`);
    return ((await answer.json()) as { numberMatched: number }).numberMatched;
  };

  test.each([
    ["season = 'S1' AND weight_g > 100", "season = 'S1' AND weight_g > 100"],
    ["dive = 'D21-01' OR dive = 'D21-02'", "dive IN ('D21-01','D21-02')"],
    [
      "material ILIKE 'IRON%' AND weight_g BETWEEN 100 AND 200",
      "material LIKE 'iron%' AND weight_g BETWEEN 100 AND 200",
    ],
    [
      "NOT (season = 'S2') AND weight_g >= 400 AND square IS NOT NULL",
      "season <> 'S2' AND weight_g >= 400 AND square IS NOT NULL",
    ],
  ])(
    '-where "%s" arrives as a filter and nothing else is read',
    async (where, meant) => {
      const { count, items } = await counted('finds', ['-where', where]);
      const filters = items.filter((query) => query.has('filter'));
      expect(filters.length).toBeGreaterThan(0);
      for (const query of filters) expect(query.get('filter-lang')).toBe('cql-text');
      // every page after the first look at the layer carries it
      expect(items.filter((query) => !query.has('filter')).every((query) => Number(query.get('limit')) <= 20)).toBe(
        true,
      );
      expect(count).toBe(await matched({ filter: meant }));
      expect(count).toBeGreaterThan(5);
    },
    60_000,
  );

  test('-spat beside it arrives as bbox', async () => {
    const answer = await fetch(`${base}/collections/finds`);
    const { extent } = (await answer.json()) as { extent: { spatial: { bbox: [number, number, number, number][] } } };
    const [west, south, east, north] = extent.spatial.bbox[0];
    const half = [west, south, (west + east) / 2, north].map(String);
    const { count, items } = await counted('finds', ['-spat', ...half, '-where', "season = 'S2' AND weight_g > 1"]);
    expect(items.some((query) => query.has('filter') && query.has('bbox'))).toBe(true);
    // GDAL leaves out what has no place, which every box takes
    const box = `S_INTERSECTS(geometry, BBOX(${half.join(',')}))`;
    expect(count).toBe(await matched({ filter: `season = 'S2' AND weight_g > 1 AND ${box}` }));
  }, 60_000);

  test('dates of levels are understood in the form it has for them', async () => {
    const { count, items } = await counted('levels', ['-where', "date >= '2023-01-01'"]);
    expect(count).toBe(await matched({ filter: "date >= DATE('2023-01-01')" }, 'levels'));
    expect(count).toBeGreaterThan(100);
    expect(items.some((query) => query.get('filter')?.includes('2023-01-01'))).toBe(true);
  }, 60_000);
});
