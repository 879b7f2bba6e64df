import { afterAll, beforeAll, expect, test } from 'vitest';
import { wordReader } from '../../src/domain/columns.js';
import type { Queue } from '../../src/jobs/queue.js';
import { readFilterText } from '../../src/operations/read-filter.js';
import type { AnalysisDesk } from '../../src/operations/run-analysis.js';
import type { CollectionView, Selection, Service, SurveyView } from '../../src/operations/service.js';
import { siteService } from '../../src/operations/site-service.js';
import { lonLatToUnit } from '../../src/tiles/matrix-set.js';
import { type DemoStore, openDemo } from '../support/demo.js';
import { lawfulTile } from '../tiles/tile-laws.js';

let demo: DemoStore;
let service: Service;
let view: SurveyView;
let finds: CollectionView;
const nothing = {} as unknown;
beforeAll(async () => {
  demo = await openDemo();
  service = siteService({
    store: demo.store,
    shelf: demo.shelf,
    catalogue: [],
    queue: nothing as Queue,
    desk: nothing as AnalysisDesk,
    writeGeoPackage: async () => {},
  });
  view = await service.survey('tarn-ledge', { version: null, identifiedAsOf: null });
  finds = view.collections.get('finds') as CollectionView;
}, 60_000);
afterAll(() => demo?.close());

const selection = (filter: string, more: Partial<Selection> = {}): Selection => ({
  seasons: [],
  classes: [],
  bbox: null,
  datetime: null,
  equals: [],
  filter: readFilterText(filter),
  ...more,
});
const idsOf = async (chosen: Selection) =>
  [...(await service.select(view, finds, chosen))].map((row) => finds.table.ids[row]);

/** the tile of a level over the middle of the site */
function middleTile(z: number) {
  const [west, south, east, north] = finds.extent ?? expect.fail('no extent');
  const [u, v] = lonLatToUnit((west + east) / 2, (south + north) / 2);
  return { z, x: Math.floor(u * 2 ** z), y: Math.floor(v * 2 ** z) };
}
const tileOf = (z: number, chosen: Selection, collections = [finds]) =>
  service.tile({ survey: view, collections, ...middleTile(z), selection: chosen });

test('a filter narrows what every other condition leaves', async () => {
  const season = wordReader(finds.table, 'season');
  const material = wordReader(finds.table, 'material');
  const wanted = [...finds.table.ids].filter((_, row) => season(row) === 'S2' && material(row) === 'iron');
  expect(wanted.length).toBeGreaterThan(50);
  expect(await idsOf(selection("season = 'S2' AND material = 'iron'"))).toEqual(wanted);
  expect(await idsOf(selection("material = 'iron'", { seasons: ['S2'] }))).toEqual(wanted);
  expect(await idsOf(selection("material = 'iron'", { equals: [{ field: 'season', value: 'S2' }] }))).toEqual(wanted);
  const box = finds.extent ?? expect.fail('no extent');
  const placed = await idsOf(selection("season = 'S2' AND material = 'iron'", { bbox: { box, crs: 'crs84' } }));
  expect(placed).toEqual(wanted);
});

test('a filtered tile holds the features of the tile that fit, each as it was', async () => {
  const chosen = selection("season = 'S2' AND weight_g > 5");
  const fits = new Set(await idsOf(chosen));
  const [all] = lawfulTile((await tileOf(22, selection('TRUE'))).bytes);
  const [some] = lawfulTile((await tileOf(22, chosen)).bytes);
  expect(some.features.length).toBeGreaterThan(5);
  expect(some.features).toEqual(all.features.filter(({ id }) => fits.has(id)));
});

test('zoomed out, the counts of a filtered tile add up to the finds that fit', async () => {
  const chosen = selection("season = 'S2' AND weight_g > 5 AND geometry IS NOT NULL");
  const fits = await idsOf(chosen);
  const [layer] = lawfulTile((await tileOf(12, chosen)).bytes);
  const drawn = layer.features.reduce((sum, { properties }) => sum + Number(properties['finds_here'] ?? 1), 0);
  expect(drawn).toBe(fits.length);
  expect(layer.features.length).toBeLessThan(fits.length);
});

test('two filters never share a tile or its tag, one filter always does', async () => {
  const one = await tileOf(20, selection("season = 'S1'"));
  const other = await tileOf(20, selection("season = 'S2'"));
  expect(one.etag).not.toBe(other.etag);
  expect(Buffer.compare(Buffer.from(one.bytes), Buffer.from(other.bytes))).not.toBe(0);
  expect((await tileOf(20, selection("season = 'S1'"))).bytes).toBe(one.bytes);
  expect((await tileOf(20, selection("season = 'S9'"))).bytes.length).toBe(0);
});

test('over several layers, a property only one of them has is unknown in the others', async () => {
  const layers = ['finds', 'grid-squares', 'excavated-areas'].map((id) => view.collections.get(id) as CollectionView);
  const named = async (filter: string) =>
    lawfulTile((await tileOf(20, selection(filter), layers)).bytes).map(({ name }) => name);
  expect(await named('TRUE')).toEqual(['finds', 'grid-squares', 'excavated-areas']);
  expect(await named('weight_g > 1')).toEqual(['finds']);
  expect(await named('weight_g > 1 OR weight_g IS NULL')).toEqual(['finds', 'grid-squares', 'excavated-areas']);
  expect(await named('progress IS NOT NULL')).toEqual(['excavated-areas']);
  await expect(named('colour = 1')).rejects.toThrow(
    /none of finds, grid-squares, excavated-areas has a property "colour"/,
  );
  await expect(tileOf(20, selection('progress IS NULL'))).rejects.toThrow(/finds has no property "progress"/);
});

test('squares and dug areas are compared by their outlines', async () => {
  const squares = view.collections.get('grid-squares') as CollectionView;
  const { survey } = await demo.shelf.get('tarn-ledge', 1);
  const corner = (x: number, y: number) =>
    survey.frame
      .toLonLat(x, y)
      .map((v) => v.toFixed(9))
      .join(' ');
  const square = `POLYGON((${[corner(3, 3), corner(4, 3), corner(4, 4), corner(3, 4), corner(3, 3)].join(',')}))`;
  const count = async (relation: string) =>
    (await service.select(view, squares, selection(`S_${relation}(geometry, ${square})`))).length;
  // one square, and the eight around it; to nine decimals, as positions are handed out
  expect(await count('EQUALS')).toBe(1);
  expect(await count('TOUCHES')).toBe(8);
  expect(await count('INTERSECTS')).toBe(9);
  expect(await count('OVERLAPS')).toBe(0);
  expect(await count('DISJOINT')).toBe(squares.table.length - 9);
});
