import { expect, test } from 'vitest';
import { tileJson } from '../../src/tiles/tilejson.js';
import { near } from '../support/near.js';

const layers = [{ id: 'finds', description: 'Finds', fields: { weight_g: 'Weight, g' } }];
const options = { name: 'Finds', tiles: ['https://ex.org/xyz/finds/{z}/{x}/{y}.mvt'], minZoom: 0, maxZoom: 24, layers };

test('TileJSON 3.0 has the members it demands, and a view in which the site fills the window', () => {
  const document = tileJson({ ...options, bounds: [3, 40, 3.0005, 40.0002], attribution: 'Rights: the authority' });
  expect(document.tilejson).toBe('3.0.0');
  expect(document.tiles).toEqual(options.tiles);
  expect(document.vector_layers).toEqual([{ ...layers[0], minzoom: 0, maxzoom: 24 }]);
  expect(document.bounds).toEqual([3, 40, 3.0005, 40.0002]);
  const [lon, lat, zoom] = document.center ?? [];
  near(lon, 3.00025, { absolute: 1e-12 });
  near(lat, 40.0001, { absolute: 1e-12 });
  // 0.0005° are 1.46 tiles at level 20 and 2.9 at level 21
  expect(zoom).toBe(21);
});

test('nothing with a place: no bounds and no view; undefined members are left out', () => {
  const document = tileJson({ ...options, bounds: null });
  expect(Object.keys(document)).toEqual(['tilejson', 'name', 'scheme', 'tiles', 'minzoom', 'maxzoom', 'vector_layers']);
});

test('one find alone opens at the deepest level', () => {
  expect(tileJson({ ...options, bounds: [3, 40, 3, 40] }).center?.[2]).toBe(24);
});
