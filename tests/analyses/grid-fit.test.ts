import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import type { Analysis } from '../../src/analyses/contract.js';
import { executeAnalysis } from '../../src/analyses/execute.js';
import gridFit from '../../src/analyses/grid-fit/index.js';
import type { Summary } from '../../src/analyses/grid-fit/schemas.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import type { Sample, SurveyReadings } from '../../src/domain/sample.js';
import { siteSchema } from '../../src/domain/site.js';
import { svgText } from '../../src/figures/svg.js';
import { near } from '../support/near.js';
import { sampleOf } from '../support/sample-of.js';
import { readingsOf } from '../support/survey-readings.js';

const analysis = gridFit as unknown as Analysis;

function run(readings: SurveyReadings | null, parameters: Record<string, unknown> = {}, more: Partial<Sample> = {}) {
  const sample = sampleOf([], { rings: [] }, { readings, ...more });
  const answer = executeAnalysis(analysis, sample, checkInputs(analysis, parameters), () => {});
  const fits = analysis.result.safeParse(answer.summary);
  expect(fits.success, fits.success ? '' : JSON.stringify(fits.error.issues)).toBe(true);
  return { ...answer, summary: answer.summary as Summary, caution: answer.cautions.join(' ') };
}

type Common = readonly [string, number, number, number, number];

const reference = (name: string) =>
  JSON.parse(readFileSync(new URL(`../reference/${name}.json`, import.meta.url), 'utf8')) as {
    input: { source_points: [number, number][]; target_points: [number, number][] };
    expected: Record<string, number> & { residuals_computed_minus_given: number[][] };
  };

const referenceReadings = (name: string) => {
  const { input } = reference(name);
  return readingsOf({
    common: input.source_points.map(([x, y], i) => [`C${i + 1}`, x, y, ...input.target_points[i]] as const),
  });
};

/** a grid of 30 m by 20 m turned 27.35° clockwise on the map, at the projection's own scale */
const laid = (points: readonly (readonly [string, number, number])[], scale = 0.999695): Common[] => {
  const t = (27.35 * Math.PI) / 180;
  return points.map(([name, x, y]) => [
    name,
    x,
    y,
    412_037.4 + scale * (x * Math.cos(t) + y * Math.sin(t)),
    4_984_118.25 + scale * (y * Math.cos(t) - x * Math.sin(t)),
  ]);
};
const corners = [
  ['A', 0, 0],
  ['B', 30, 0],
  ['C', 30, 20],
  ['D', 0, 20],
  ['E', 11, 7],
] as const;

describe.each(['helmert_handbook', 'helmert_site_to_utm'])('%s', (name) => {
  test('comes out as the other program has it', () => {
    const { expected } = reference(name);
    const { summary } = run(referenceReadings(name));
    near(summary.rotation_deg, expected['rotation_deg_anticlockwise'], { relative: 1e-9 });
    near(summary.scale, expected['scale'], { relative: 1e-9 });
    near(summary.tx, expected['tx'], { absolute: 1e-6 });
    near(summary.ty, expected['ty'], { absolute: 1e-6 });
    near(summary.rms_m, expected['rmse_per_coordinate'], { relative: 1e-6 });
    near(summary.sigma0_m, expected['sigma0'], { relative: 1e-6 });
    summary.residuals.forEach((row, i) => {
      near(row.easting_m, expected.residuals_computed_minus_given[i][0], { absolute: 2e-8 });
      near(row.northing_m, expected.residuals_computed_minus_given[i][1], { absolute: 2e-8 });
    });
  });
});

test('an exact grid: azimuth of site_north, origin, and a scale that is the projection', () => {
  const { summary, caution, figure } = run(readingsOf({ common: laid(corners) }), {
    point_scale: 0.999695,
    declination_deg: -9.4,
    declination_date: '2021-06-15',
  });
  near(summary.rotation_deg, 360 - 27.35, { absolute: 1e-7 });
  near(summary.norths.site_north_deg, 27.35, { absolute: 1e-7 });
  near(summary.tx, 412_037.4, { absolute: 1e-6 });
  near(summary.scale, 0.999695, { absolute: 1e-10 });
  near(summary.scale_departure_mm, 0, { absolute: 1e-3 });
  near(summary.extent_m, Math.hypot(30, 20), { relative: 1e-12 });
  expect([summary.mirrored, summary.swapped, summary.slips]).toEqual([null, null, []]);
  expect(caution).toContain('The fitted scale 0.999695 was used');
  expect(svgText(figure)).not.toMatch(/NaN|undefined|Infinity/);
});

test('a stretched tape is not scaled away in silence', () => {
  const noise = [0.004, -0.006, 0.003, 0.005, -0.005];
  const stretched = laid(corners, 1.0015).map(
    ([name, x, y, e, n], i) => [name, x, y, e + noise[i], n - noise[(i + 2) % 5]] as const,
  );
  const { summary, caution } = run(readingsOf({ common: stretched }), { lon: -28.11, lat: 45.0 });
  // UTM at 1.11° from the central meridian
  near(summary.point_scale, 0.9996 * (1 + (1.11 * (Math.PI / 180) * Math.cos(Math.PI / 4)) ** 2 / 2), {
    absolute: 1e-6,
  });
  near(summary.scale_departure_mm, 36.06 * 1.8, { absolute: 12 });
  expect(caution).toContain('that is no projection');
  const held = run(readingsOf({ common: stretched }), { fixed_scale: 1 });
  expect(held.summary.scale).toBe(1);
  expect(held.summary.scale_used).toBe('fixed');
  near(held.summary.fitted_scale, 1.0015, { absolute: 5e-4 });
  expect(held.summary.redundancy).toBe(7);
  expect(held.caution).toContain('The scale was held at 1');
  expect(held.caution).toContain('point scale');
});

test('norths: convergence and magnetic_north, all from map_grid_north', () => {
  const { summary, methods } = run(readingsOf({ common: laid(corners) }), {
    lon: 5.5,
    lat: 42,
    declination_deg: 2,
    declination_date: '2024-01-01',
  });
  // PROJ: 1.673419514925844 east of the central meridian, and scale 1.0001275415322761
  near(summary.norths.convergence_deg, 1.673419514925844, { absolute: 1e-7 });
  near(summary.norths.true_north_deg, -1.673419514925844, { absolute: 1e-7 });
  near(summary.norths.magnetic_north_deg, 2 - 1.673419514925844, { absolute: 1e-7 });
  near(summary.point_scale, 1.0001275415322761, { absolute: 1e-9 });
  expect(methods).toContain('UTM zone 31');
});

describe('turned over', () => {
  test('x and y exchanged: both turned-over fits are named, with the azimuth that tells them apart', () => {
    const exchanged = laid(corners).map(([name, x, y, e, n]) => [name, y, x, e, n] as const);
    const { summary, caution } = run(readingsOf({ common: exchanged }));
    expect(summary.rms_m).toBeGreaterThan(5);
    near(summary.swapped?.rms_m, 0, { absolute: 1e-6 });
    near(summary.swapped?.rotation_deg, 360 - 27.35, { absolute: 1e-6 });
    near(summary.mirrored?.rms_m, 0, { absolute: 1e-6 });
    expect(summary.swapped?.note).toContain('27.35°');
    expect(caution).toContain('x and y are exchanged, or one axis is counted the other way');
  });

  test('x counted westward: the mirrored fit has the true azimuth', () => {
    const mirrored = laid(corners).map(([name, x, y, e, n]) => [name, -x, y, e, n] as const);
    const { summary } = run(readingsOf({ common: mirrored }));
    near(summary.mirrored?.rotation_deg, 360 - 27.35, { absolute: 1e-6 });
    near(summary.mirrored?.scale, 0.999695, { absolute: 1e-9 });
  });

  test('x and y of one point exchanged, or two names: the slip is named', () => {
    const one = laid(corners).map(([name, x, y, e, n]) =>
      name === 'E' ? ([name, y, x, e, n] as const) : ([name, x, y, e, n] as const),
    );
    expect(run(readingsOf({ common: one })).summary.slips[0]).toMatchObject({
      points: ['E'],
      kind: 'x and y exchanged',
    });
    const two = laid(corners);
    const names = two.map(([name, x, y], i) => {
      const from = name === 'B' ? 4 : name === 'E' ? 1 : i;
      return [name, x, y, two[from][3], two[from][4]] as const;
    });
    const { summary, caution } = run(readingsOf({ common: names }));
    expect([...(summary.slips[0]?.points ?? [])].sort()).toEqual(['B', 'E']);
    expect(summary.slips[0]?.kind).toBe('names exchanged');
    expect(caution).toMatch(/names exchanged\?/);
  });
});

test('two points fit exactly: residuals 0, no standard deviation, and it is said', () => {
  const { summary, caution } = run(readingsOf({ common: laid(corners.slice(0, 2)) }));
  expect(summary.residuals.map((row) => [row.easting_m, row.northing_m])).toEqual([
    [0, 0],
    [0, 0],
  ]);
  expect([summary.rms_m, summary.sigma0_m, summary.sigma, summary.redundancy]).toEqual([0, null, null, 0]);
  expect(summary.mirrored_rms_m).toBeNull();
  expect(caution).toContain('fit exactly whatever their errors');
});

test('one point, or none, is refused', () => {
  expect(() => run(readingsOf({ common: laid(corners.slice(0, 1)) }))).toThrow(/at least two common points .* got 1/);
  expect(() => run(readingsOf({}))).toThrow(/needs common points/);
  expect(() => run(null)).toThrow(/needs common points/);
  expect(() => run(readingsOf({ common: laid(corners) }), { lon: 3 })).toThrow(/lon and lat belong together/);
});

describe('seasons', () => {
  const turned = (shift: readonly [number, number], degrees: number) => {
    const t = (degrees * Math.PI) / 180;
    // later coordinates of the points: what brings them back is a turn by `degrees` and the shift
    return corners.map(([name, x, y]) => {
      const [dx, dy] = [x - shift[0], y - shift[1]];
      return [name, dx * Math.cos(t) + dy * Math.sin(t), dy * Math.cos(t) - dx * Math.sin(t)] as const;
    });
  };
  const control = [
    ...corners.map(([name, x, y]) => [name, x, y, -1, { season: 'S1', class: 'primary' }] as const),
    ...turned([0.12, -0.07], 0.18).map(
      ([name, x, y]) => [name, x, y, -1.05, { season: 'S3', class: 'primary' }] as const,
    ),
  ];

  test('shift and rotation of a grid laid anew', () => {
    const { summary, caution } = run(readingsOf({ control }));
    const [shift] = summary.season_shifts;
    expect(shift).toMatchObject({ from_season: 'S3', to_season: 'S1', n: 5, grid: null });
    near(shift.tx_m, 0.12, { absolute: 1e-9 });
    near(shift.ty_m, -0.07, { absolute: 1e-9 });
    near(shift.rotation_deg, 0.18, { absolute: 1e-9 });
    near(shift.mean_shift_z_m, 0.05, { absolute: 1e-12 });
    expect(summary.rotation_deg).toBeNull();
    expect(caution).toContain('no common points with easting and northing');
    expect(caution).toContain('Coordinates of S3 lie');
  });

  test('one point in common gives a shift, but no turn and no error', () => {
    const { summary, caution } = run(readingsOf({ control: [...control.slice(0, 5), control[5]] }));
    expect(summary.season_shifts[0]).toMatchObject({ n: 1, rotation_deg: null, rms_m: null, sigma_shift_m: null });
    expect(caution).toContain('with one point neither turn nor error can be told');
  });

  test('the demo: the second grid is found where it was laid, as a grid record for an import', () => {
    const text = (file: string) => readFileSync(new URL(`../../data-demo/${file}`, import.meta.url), 'utf8');
    const rows = text('control-points.csv')
      .trim()
      .split('\n')
      .slice(1)
      .map((line) => line.split(','));
    const site = siteSchema.parse(JSON.parse(text('site.json')));
    const readings = readingsOf({
      control: rows.map(
        ([name, kind, x, y, z, , season]) => [name, Number(x), Number(y), Number(z), { class: kind, season }] as const,
      ),
    });
    const { summary, caution, features } = run(readings, {}, { grid: site.grids[0] });
    const truth = JSON.parse(text('truth.json')).grids.g2;
    const [shift] = summary.season_shifts;
    expect(shift.points).toEqual(truth.common_points);
    // control is good to 0.01 m: five points
    near(shift.mean_shift_x_m, 0.08, { absolute: 0.05 });
    near(shift.tx_m, truth.shift_m[0], { absolute: 0.02 });
    near(shift.ty_m, truth.shift_m[1], { absolute: 0.02 });
    near(shift.rotation_deg, truth.rotation_deg_anticlockwise, { absolute: 0.05 });
    near(shift.grid?.azimuth_deg, truth.azimuth_deg, { absolute: 0.05 });
    near(shift.grid?.origin_easting, site.grids[1].origin_easting, { absolute: 0.02 });
    near(shift.grid?.origin_northing, site.grids[1].origin_northing, { absolute: 0.02 });
    expect(caution).toContain('bring them to one grid before comparing the seasons');
    // the declared grid lies on UTM zone 26; its scale is the projection's point scale there
    near(summary.point_scale, 0.999695, { absolute: 1e-6 });
    near(summary.norths.site_north_deg, 27.35, { absolute: 1e-9 });
    expect(summary.norths.convergence_deg).toBeLessThan(0);
    expect(features?.length).toBe(5);
  });
});
