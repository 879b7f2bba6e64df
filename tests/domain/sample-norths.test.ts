import { expect, test } from 'vitest';
import { makeSample } from '../../src/domain/make-sample.js';
import { near } from '../support/near.js';
import { box, smallSite, smallSurvey } from '../support/small-site.js';

const northsOf = (changes: Record<string, unknown>) =>
  makeSample(
    smallSurvey({
      site: smallSite(changes),
      finds: [],
      areas: [{ season: 'S1', progress: 'to_deposit_bottom', ring: box(0, 0, 4, 4) }],
    }),
    {
      seasons: [],
      classes: [],
      identifiedAsOf: null,
      within: null,
      countUnit: 'find',
      spot: 'concretion',
      squareOnly: 'exclude',
    },
  ).norths;

test('site_north is 30° from map_grid_north, from true_north by the convergence less, from magnetic_north as declined', () => {
  // 88 km west of the central meridian at 45° north: grid north lies 0.79° west of true north
  const norths = northsOf({ declination: { degrees: -9.4, date: '2021-06-15' } });
  near(norths?.fromTrueNorthDeg, 30 - 0.79, { absolute: 0.01 });
  near(norths?.fromMagneticNorthDeg, (norths?.fromTrueNorthDeg as number) + 9.4, { absolute: 1e-9 });
  expect(norths?.declinationDate).toBe('2021-06-15');
});

test('without a declination nobody knows magnetic_north', () => {
  expect(northsOf({})).toMatchObject({ fromMagneticNorthDeg: null, declinationDate: null });
});
