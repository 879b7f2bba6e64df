import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { fromWebMercator, projectionOf, toWebMercator } from '../../src/domain/crs.js';

const reference = JSON.parse(readFileSync(new URL('../reference/utm.json', import.meta.url), 'utf8'));

test('UTM coordinates equal those of PROJ 9.1.1 and of an independent Krüger series within a micrometre', () => {
  reference.input.cases.forEach((place: { lat: number; lon: number; zone: number; south: boolean }, i: number) => {
    const projection = projectionOf(`EPSG:${(place.south ? 32700 : 32600) + place.zone}`);
    const [easting, northing] = projection.fromLonLat(place.lon, place.lat);
    const wanted = reference.expected.cases[i];
    expect(Math.abs(easting - wanted.easting)).toBeLessThan(1e-6);
    expect(Math.abs(northing - wanted.northing)).toBeLessThan(1e-6);
    const [lon, lat] = projection.toLonLat(easting, northing);
    expect(Math.abs(lon - place.lon)).toBeLessThan(1e-9);
    expect(Math.abs(lat - place.lat)).toBeLessThan(1e-9);
  });
});

test('the addresses of the OGC name the same projections as the codes', () => {
  expect(projectionOf('http://www.opengis.net/def/crs/EPSG/0/32626').epsg).toBe(32626);
  expect(projectionOf('EPSG:25832').epsg).toBe(25832);
});

test('a PROJ string in metres is taken as it is', () => {
  const own = projectionOf('+proj=tmerc +lat_0=0 +lon_0=9 +k=0.9996 +x_0=500000 +y_0=0 +datum=WGS84 +units=m +no_defs');
  const table = projectionOf('EPSG:32632');
  expect(own.epsg).toBeNull();
  const [e, n] = own.fromLonLat(11.5, 58.25);
  const [e2, n2] = table.fromLonLat(11.5, 58.25);
  expect(Math.hypot(e - e2, n - n2)).toBeLessThan(1e-6);
});

test.each([
  ['EPSG:28992', /not in the table of checked definitions/],
  ['+proj=utm +zone=30 +datum=WGS84 +units=us-ft', /not a projected CRS in metres/],
  ['+proj=longlat +datum=WGS84', /not a projected CRS in metres/],
  ['+proj=tmerc +lon_0=9 +nadgrids=some.gsb +units=m', /needs grid files/],
  ['somewhere', /neither an EPSG code nor a PROJ string/],
  ['+proj=nonsense +units=m', /cannot be used/],
])('%s is refused', (text, sentence) => {
  expect(() => projectionOf(text)).toThrow(sentence);
});

test('Web Mercator: the published corner of the world, and back again within a nanometre', () => {
  // EPSG guidance note 7-2, Popular Visualisation Pseudo-Mercator example (from memory): 24°22'54.433"N 100°20'00.000"W
  const [x, y] = toWebMercator(-(100 + 20 / 60), 24 + 22 / 60 + 54.433 / 3600);
  expect(x).toBeCloseTo(-11169055.58, 2);
  expect(y).toBeCloseTo(2800000.0, 2);
  const [lon, lat] = fromWebMercator(x, y);
  expect(lon).toBeCloseTo(-(100 + 20 / 60), 12);
  expect(lat).toBeCloseTo(24 + 22 / 60 + 54.433 / 3600, 12);
});
