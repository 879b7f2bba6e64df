import { describe, expect, test } from 'vitest';
import {
  bathymetryError,
  combinedSigmaM,
  datumTie,
  readBathymetry,
  surveySigmaM,
} from '../../src/domain/bathymetry.js';
import { partsOf } from '../../src/domain/columns.js';
import { valueAt } from '../../src/domain/feature-table.js';
import { gridFrame } from '../../src/domain/grid.js';
import { siteSchema } from '../../src/domain/site.js';
import { type Survey, surveyOf } from '../../src/domain/survey.js';
import { near } from '../support/near.js';
import { smallSite } from '../support/small-site.js';

const stated = (more: Record<string, unknown> = {}) => ({
  file: 'bathymetry.tif',
  vertical_datum: 'Mean sea level',
  sign: 'elevation_up_positive',
  uncertainty_m: 0.25,
  licence: 'CC0-1.0',
  ...more,
});
const datum = {
  name: 'pin 1',
  kind: 'control_point_plane',
  hydrographic_datum: 'mean sea level',
  offset_m: -14.2,
  offset_sigma_m: 0.15,
};
const siteWith = (more: Record<string, unknown> = {}, vertical: Record<string, unknown> = {}) =>
  smallSite({ bathymetry: stated(more), vertical_datum: { ...datum, ...vertical } });

/** the seabed falls eastwards and northwards, in the datum of the bathymetry */
const seabed = (easting: number, northing: number) => -14 - 0.05 * (easting - 412000) - 0.02 * (northing - 4984000);

function surveyWith(site = siteWith(), crs = 'EPSG:32626'): Survey {
  const [columns, rows, west, north] = [80, 60, 411980, 4984020];
  const values = Float64Array.from({ length: columns * rows }, (_, k) =>
    seabed(west + ((k % columns) + 0.5) * 0.5, north - (Math.floor(k / columns) + 0.5) * 0.5),
  );
  return surveyOf({
    site,
    version: 1,
    tables: new Map(),
    surfaces: [
      {
        id: 'bathymetry',
        title: 'Bathymetry',
        unit: 'm',
        projectedBox: [west, north - rows / 2, west + columns / 2, north],
        crs,
        path: 'bathymetry.tif',
        note: '',
        handedOut: true,
        cells: () => ({ columns, rows, corner: [west, north], columnStep: [0.5, 0], rowStep: [0, -0.5], values }),
      },
    ],
  });
}

describe('the error of a survey', () => {
  const record = (more: Record<string, unknown>) => siteSchema.shape.bathymetry.parse(stated(more))!;

  test('stated as interval, standard deviation or order', () => {
    near(surveySigmaM(bathymetryError(record({})).error, -14), 0.25 / 1.959964, { relative: 1e-6 });
    expect(surveySigmaM(bathymetryError(record({ uncertainty_m: null, sigma_m: 0.1 })).error, -14)).toBe(0.1);
    const order = bathymetryError(record({ uncertainty_m: null, iho_order: '1a' }));
    // order 1a at 10 m: 0.517 m (95 %), handbook of the standard
    near(surveySigmaM(order.error, -10), 0.517 / 1.959964, { absolute: 3e-4 });
    expect(order.words).toBe('IHO S-44 order 1a');
  });

  test('goes together with the error of the tie between the datums', () => {
    near(combinedSigmaM({ tie: { offsetM: -14.2, sigmaM: 0.15 } }, 0.2), 0.25, { relative: 1e-12 });
    expect(combinedSigmaM({ tie: { offsetM: -14.2, sigmaM: null } }, 0.2)).toBe(0.2);
  });
});

test('the tie between two datums is what site.json states, and nothing else', () => {
  expect(datumTie(siteWith(), 'mean sea level')).toEqual({ offsetM: -14.2, sigmaM: 0.15 });
  expect(datumTie(siteWith(), 'Pin 1 ')).toEqual({ offsetM: 0, sigmaM: 0 });
  expect(datumTie(siteWith(), 'lowest astronomical tide')).toBeNull();
  expect(datumTie(siteWith({}, { offset_m: null }), 'mean sea level')).toBeNull();
});

test('read in the site datum at places of the site grid, with both sigmas', () => {
  const { bathymetry, frame } = surveyWith();
  const places = [
    [2, 3],
    [7.3, 5.1],
  ];
  const read = readBathymetry(bathymetry!, Float64Array.from(places.flat()));
  places.forEach(([x, y], i) => {
    const own = seabed(...frame.toProjected(x, y));
    near(read.own[i], own, { absolute: 1e-9 });
    near(read.elevation[i], own + 14.2, { absolute: 1e-9 });
    near(read.sigma[i], Math.hypot(0.25 / 1.959964, 0.15), { relative: 1e-6 });
  });
  const untied = surveyWith(siteWith({ vertical_datum: 'a lake level' })).bathymetry!;
  const apart = readBathymetry(untied, Float64Array.of(2, 3));
  expect([apart.elevation[0], apart.sigma[0]]).toEqual([Number.NaN, Number.NaN]);
  expect(apart.own[0]).not.toBeNaN();
});

test('cells of a neighbouring zone come to the same place to a few millimetres', () => {
  const here = gridFrame(smallSite().grids[0]);
  const zone27 = gridFrame({ ...smallSite().grids[0], crs: 'EPSG:32627' });
  const [lon, lat] = here.toLonLat(0, 0);
  const [east, north] = zone27.projection.fromLonLat(lon, lat);
  const site = siteWith();
  const survey = surveyOf({
    ...surveyWith(site),
    surfaces: [
      {
        ...surveyWith(site).surfaces[0],
        crs: 'EPSG:32627',
        cells: () => ({
          columns: 2,
          rows: 2,
          corner: [east - 100, north + 100],
          columnStep: [100, 0],
          rowStep: [0, -100],
          values: [1, 1, 1, 1],
        }),
      },
    ],
  });
  const { corner, columnStep, rowStep } = survey.bathymetry!.cells();
  const middle = [0, 1].map((k) => corner[k] + columnStep[k] + rowStep[k]);
  near(middle[0], 0, { absolute: 0.005 });
  near(middle[1], 0, { absolute: 0.005 });
});

test('its contours lie on its plane, no closer than its error, with both errors stated', () => {
  const table = surveyWith().collection('bathymetry-contours')!;
  const value = (name: string, row: number) => valueAt(table.columns.get(name)!, row);
  expect(table.length).toBeGreaterThan(2);
  const { frame } = surveyWith();
  for (let row = 0; row < table.length; row++) {
    expect(value('interval_m', row)).toBe(0.5);
    const { geometry } = table;
    if (geometry?.type !== 'line') return expect.fail('no lines');
    const [{ ring }] = partsOf(geometry, row);
    for (let i = 0; i < ring.length; i += 2)
      near(seabed(...frame.toProjected(ring[i], ring[i + 1])), value('elevation_m', row) as number, { absolute: 1e-6 });
    expect(value('combined_sigma_m', row)).toBe(0.1969);
    expect(value('vertical_datum', row)).toBe('Mean sea level');
  }
  const footprint = surveyWith().collection('bathymetry')!;
  expect(valueAt(footprint.columns.get('uncertainty')!, 0)).toBe('± 0.25 m (95 %)');
  expect(valueAt(footprint.columns.get('offset_to_site_datum_m')!, 0)).toBe(-14.2);
});
