import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { fullCircle, gridAtPlace, halfCircle, mapPlace, naturalZone, norths, utmZone } from '../../src/math/norths.js';
import { near } from '../support/near.js';

interface Case {
  lat: number;
  lon: number;
  zone: number;
}
interface Expected {
  easting: number;
  northing: number;
  convergence_deg: number;
  scale: number;
}
const reference = JSON.parse(readFileSync(new URL('../reference/utm.json', import.meta.url), 'utf8')) as {
  input: { cases: Case[] };
  expected: { cases: Expected[] };
};

test('eight places on UTM come out as PROJ has them', () => {
  reference.input.cases.forEach(({ lat, lon, zone }, i) => {
    const place = mapPlace(lon, lat, utmZone(zone, lat < 0 ? 'south' : 'north'));
    const expected = reference.expected.cases[i];
    near(place.eastingM, expected.easting, { absolute: 1e-6 });
    near(place.northingM, expected.northing, { absolute: 1e-6 });
    near(place.convergenceDeg, expected.convergence_deg, { absolute: 1e-7 });
    near(place.pointScale, expected.scale, { absolute: 1e-9 });
  });
});

test('convergence and scale are the slope of the coordinates themselves', () => {
  for (const [lon, lat] of [
    [5.5, 42],
    [-27.9, 45],
    [151.2, -33.9],
  ]) {
    const utm = utmZone(naturalZone(lon), lat < 0 ? 'south' : 'north');
    const step = 1e-4;
    const place = mapPlace(lon, lat, utm);
    const north = mapPlace(lon, lat + step, utm);
    const south = mapPlace(lon, lat - step, utm);
    const turn = Math.atan2(north.eastingM - south.eastingM, north.northingM - south.northingM);
    near(place.convergenceDeg, (-turn * 180) / Math.PI, { absolute: 1e-7 });
    const measured = gridAtPlace(
      (x, y) => {
        const { eastingM, northingM } = mapPlace(x, y, utm);
        return [eastingM, northingM];
      },
      lon,
      lat,
    );
    near(measured.convergenceDeg, place.convergenceDeg, { absolute: 1e-7 });
    near(measured.pointScale, place.pointScale, { absolute: 1e-9 });
  }
});

test('the worth of convergence on a site: 1.5° from the central meridian', () => {
  // measured values of the trade's handbook page: 0.63° at 25°, 1.06° at 45°; over 30 m 0.33 m and 0.56 m
  for (const [lat, degrees, metres] of [
    [25, 0.63, 0.33],
    [45, 1.06, 0.56],
  ]) {
    const { convergenceDeg } = mapPlace(4.5, lat, utmZone(31, 'north'));
    near(convergenceDeg, degrees, { absolute: 0.005 });
    near(30 * Math.tan((convergenceDeg * Math.PI) / 180), metres, { absolute: 0.005 });
    near(convergenceDeg, 1.5 * Math.sin((lat * Math.PI) / 180), { relative: 1e-3 });
  }
});

test('on the central meridian 30 taped metres are 12 mm less on the map', () => {
  // UTM's scale 0.9996 on the meridian, IOGP Guidance Note 7-2
  const { pointScale } = mapPlace(3, 42, utmZone(31, 'north'));
  near((1 - pointScale) * 30, 0.012, { absolute: 1e-9 });
});

test('bearings: true = magnetic + declination, grid = true − convergence', () => {
  const found = norths({ siteNorthDeg: 27.35, convergenceDeg: -0.8, declinationDeg: -9.4 });
  expect(found.trueNorthDeg).toBe(0.8);
  near(found.magneticNorthDeg, -8.6, { absolute: 1e-12 });
  expect(norths({ siteNorthDeg: 0, convergenceDeg: null, declinationDeg: 3 })).toEqual({
    siteNorthDeg: 0,
    trueNorthDeg: null,
    magneticNorthDeg: null,
  });
});

test('zones are six degrees wide from the date line', () => {
  expect([-180, -27.1, 3, 5.99, 6, 179.9, 180].map(naturalZone)).toEqual([1, 26, 31, 31, 32, 60, 60]);
});

test('angles come home to one circle', () => {
  expect(fullCircle(-27.35)).toBeCloseTo(332.65, 12);
  expect(fullCircle(720)).toBe(0);
  expect(halfCircle(332.65)).toBeCloseTo(-27.35, 12);
  expect(halfCircle(180)).toBe(180);
});
