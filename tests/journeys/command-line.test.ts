import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { root, wreckfield } from '../support/running-service.js';

let folder: string;
let env: Record<string, string>;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'wreckfield-cli-'));
  env = { DATA_DIR: join(folder, 'var') };
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('a site of one’s own', () => {
  test('new makes a folder that check passes and import loads, once', async () => {
    const site = join(folder, 'mine');
    expect((await wreckfield(['new', site], env)).code).toBe(0);
    const check = await wreckfield(['check', site], env);
    expect(check.out).toContain('no complaints');
    expect(check.code).toBe(0);
    const first = await wreckfield(['import', site, '--json'], env);
    expect(JSON.parse(first.out)).toMatchObject({ version: 1, complaints: { total: 0 } });
    const again = await wreckfield(['import', site, '--json'], env);
    expect(JSON.parse(again.out)).toMatchObject({ version: 1 });
  }, 60_000);

  test('a broken row refuses the folder with file, row, column, value and reason, and leaves the store as it was', async () => {
    const site = join(folder, 'broken');
    cpSync(join(folder, 'mine'), site, { recursive: true });
    const finds = join(site, 'finds.csv');
    const [heading, example, ...others] = readFileSync(finds, 'utf8').trimEnd().split('\n');
    const column = heading.split(',').indexOf('local_x');
    const cells = example.split(',');
    cells[0] = 'F-99';
    cells[column] = '0x10';
    writeFileSync(finds, `${[heading, example, cells.join(','), ...others].join('\n')}\n`);
    const check = await wreckfield(['check', site], env);
    expect(check.code).toBe(1);
    expect(check.out).toMatch(/finds\.csv, row 3, column local_x: "0x10"/);
    const refused = await wreckfield(['import', site, '--json'], env);
    expect(refused.code).toBe(1);
    expect(JSON.parse(refused.out)).toMatchObject({ version: null, complaints: { total: 1 } });
    const aside = await wreckfield(['import', site, '--set-aside', '--json'], env);
    expect(JSON.parse(aside.out)).toMatchObject({ version: 2, setAside: [{ file: 'finds.csv', rows: 1 }] });
  }, 60_000);
});

describe('refusals are one line', () => {
  test.each([
    [['run', 'nearest-neighbour', '--site', 'nowhere'], /there is no site "nowhere"/],
    [['run', 'nearest-neighbour'], /say what to run on/],
    [['run', 'nearest-neighbour', '--points', 'p.csv'], /needs --window FILE/],
    [
      ['run', 'nearest-neighbour', '--site', 'example', '--simulations', 'many'],
      /--simulations many: a whole number is wanted/,
    ],
    [
      ['run', 'kernel-density', '--site', 'example', '--edge', 'soft'],
      /--edge soft: one of none, uniform, jones-diggle is wanted/,
    ],
    [['check', 'no-such-folder'], /no-such-folder/],
  ])(
    '%s',
    async (words, sentence) => {
      const { code, out, err } = await wreckfield(words, env);
      expect(code).not.toBe(0);
      expect(out).toBe('');
      expect(err.trimEnd()).toMatch(sentence);
      expect(err.trimEnd().split('\n')).toHaveLength(1);
    },
    30_000,
  );

  test('an open host is refused before anything is served', async () => {
    const { code, err } = await wreckfield(['serve'], { ...env, HOST: '0.0.0.0' });
    expect(code).toBe(1);
    expect(err).toMatch(/HOST = 0\.0\.0\.0 would show exact positions/);
  }, 30_000);
});

describe('plain files, without a site', () => {
  const reference = JSON.parse(readFileSync(join(root, 'tests/reference/nn_site_a.json'), 'utf8'));
  let points: string;
  let window: string;
  beforeAll(() => {
    points = join(folder, 'points.csv');
    window = join(folder, 'window.geojson');
    writeFileSync(points, `x,y\n${reference.input.points.map((p: number[]) => p.join(',')).join('\n')}\n`);
    const rings = [reference.input.window.outer, ...reference.input.window.holes].map((ring: number[][]) => [
      ...ring,
      ring[0],
    ]);
    writeFileSync(window, JSON.stringify({ type: 'Polygon', coordinates: rings }));
  });

  test('nearest-neighbour prints exactly one JSON object, equal to the reference', async () => {
    const { out, code } = await wreckfield([
      'run',
      'nearest-neighbour',
      '--points',
      points,
      '--window',
      window,
      '--simulations',
      '0',
      '--k',
      '5',
      '--json',
    ]);
    expect(code).toBe(0);
    const { summary } = JSON.parse(out);
    expect(summary.n).toBe(96);
    expect(summary.simulated).toBeNull();
    expect(summary.donnelly).toBeNull();
    expect(summary.window_area_m2).toBe(79);
    expect(Math.abs(summary.clark_evans.ratio / reference.expected.R_none - 1)).toBeLessThan(1e-10);
    expect(Math.abs(summary.clark_evans.z / reference.expected.z_none - 1)).toBeLessThan(1e-9);
    expect(Math.abs(summary.kaplan_meier.ratio / reference.expected.cdf.R_cdf_continuous - 1)).toBeLessThan(1e-10);
    for (const [k, v] of (summary.kth_mean_distance_m as number[]).entries()) {
      expect(Math.abs(v / reference.expected.mean_kth_neighbour[k] - 1)).toBeLessThan(1e-10);
    }
  }, 30_000);

  test('kernel-density at given points equals the exact reference', async () => {
    const kde = JSON.parse(readFileSync(join(root, 'tests/reference/kde_site_a.json'), 'utf8'));
    const at = join(folder, 'at.csv');
    writeFileSync(at, `x,y\n${kde.expected.grid_xy.map((p: number[]) => p.join(',')).join('\n')}\n`);
    const { out } = await wreckfield([
      'run',
      'kernel-density',
      '--points',
      points,
      '--window',
      window,
      '--bandwidth',
      String(kde.expected.sigma),
      '--edge',
      'jones-diggle',
      '--at',
      at,
      '--json',
    ]);
    const { summary } = JSON.parse(out);
    expect(summary.at).toHaveLength(kde.expected.grid_diggle.length);
    for (const [i, v] of (summary.at as number[]).entries()) {
      expect(Math.abs(v / kde.expected.grid_diggle[i] - 1)).toBeLessThan(1e-8);
    }
  }, 30_000);

  test('hull-scatter about a long straight timber equals the exact strips', async () => {
    const covariate = JSON.parse(readFileSync(join(root, 'tests/reference/covariate_site_a.json'), 'utf8'));
    const [a, b, c] = covariate.expected.coefficients;
    const y = (x: number) => -(a * x + c) / b;
    const hull = join(folder, 'hull.geojson');
    writeFileSync(
      hull,
      JSON.stringify({
        type: 'Feature',
        properties: { element: 'keelson' },
        geometry: {
          type: 'LineString',
          coordinates: [
            [-50, y(-50)],
            [70, y(70)],
          ],
        },
      }),
    );
    const { out } = await wreckfield([
      'run',
      'hull-scatter',
      '--points',
      points,
      '--window',
      window,
      '--hull',
      hull,
      '--simulations',
      '0',
      '--json',
    ]);
    const { summary } = JSON.parse(out);
    expect(Math.abs(summary.ks.d - covariate.expected.ks_D)).toBeLessThan(1e-9);
    expect(Math.abs(summary.ks.p - covariate.expected.ks_p_exact)).toBeLessThan(1e-9);
    expect(Math.abs(summary.berman.z2 - covariate.expected.berman_Z2)).toBeLessThan(1e-9);
    expect(Math.abs(summary.berman.z1 - covariate.expected.berman_Z1_poisson)).toBeLessThan(1e-5);
  }, 30_000);

  test('two points are printed with a caution, none are answered with nulls', async () => {
    const two = join(folder, 'two.csv');
    writeFileSync(two, 'x,y\n1,1\n2,1\n');
    const pair = await wreckfield(['run', 'nearest-neighbour', '--points', two, '--window', window, '--json']);
    expect(JSON.parse(pair.out).summary).toMatchObject({ n: 2, mean_distance_m: 1 });
    expect(JSON.parse(pair.out).cautions.join(' ')).toMatch(/few/);
    const none = join(folder, 'none.csv');
    writeFileSync(none, 'x,y\n');
    const empty = await wreckfield(['run', 'nearest-neighbour', '--points', none, '--window', window, '--json']);
    expect(JSON.parse(empty.out).summary).toMatchObject({ n: 0, mean_distance_m: null });
  }, 30_000);

  test('a wrong number names row, column and value', async () => {
    const wrong = join(folder, 'wrong.csv');
    writeFileSync(wrong, 'x,y\n1,1\n2,12abc\n');
    const { err } = await wreckfield(['run', 'nearest-neighbour', '--points', wrong, '--window', window]);
    expect(err).toMatch(/row 3, column y: "12abc"/);
  }, 30_000);
});

describe('levels, tapes and common points from plain files', () => {
  const run = async (words: readonly string[]) => {
    const { out, err, code } = await wreckfield(['run', ...words, '--json']);
    expect(code, err).toBe(0);
    return JSON.parse(out).summary;
  };

  test('a slab one metre thick under a tilted top holds its area in m³, and the tilt comes back', async () => {
    const levels = join(folder, 'levels.csv');
    const rows = [0, 1, 2, 3].flatMap((x) =>
      [0, 1, 2].flatMap((y) => [`${x},${y},deposit_top,${0.1 * x}`, `${x},${y},deposit_bottom,${0.1 * x - 1}`]),
    );
    writeFileSync(levels, `x,y,surface,elevation\n${rows.join('\n')}\n`);
    const volume = await run(['deposit-volume', '--levels', levels]);
    expect(volume.volume_m3).toBeCloseTo(6, 10);
    expect(volume.sigma_random_m3).toBeGreaterThan(0);
    expect(volume.sigma_shared_m3).toBeGreaterThan(0);
    const trend = await run(['trend-surface', '--levels', levels, '--surface', 'deposit_top']);
    expect(trend.dip_deg).toBeCloseTo((Math.atan(0.1) * 180) / Math.PI, 9);
    const at = join(folder, 'places.csv');
    writeFileSync(at, 'x,y\n0.5,0.5\n2.25,1\n');
    const surface = await run(['deposit-surface', '--levels', levels, '--surface', 'deposit_top', '--at', at]);
    expect(surface.prediction[0]).toBeCloseTo(0.05, 10);
    expect(surface.prediction[1]).toBeCloseTo(0.225, 10);
  }, 60_000);

  test('a point from taped distances equals the reference', async () => {
    const reference = JSON.parse(readFileSync(join(root, 'tests/reference/trilat2d_one_point.json'), 'utf8'));
    const control = join(folder, 'control.csv');
    const measurements = join(folder, 'measurements.csv');
    writeFileSync(
      control,
      `name,x,y\n${Object.entries(reference.input.fixed as Record<string, number[]>)
        .map(([name, p]) => `${name},${p[0]},${p[1]}`)
        .join('\n')}\n`,
    );
    const tapes = (reference.input.distances as { from: string; to: string; d: number; sigma: number }[]).map(
      (d) => `${d.from},${d.to},distance,${d.d},${d.sigma}`,
    );
    writeFileSync(measurements, `from,to,kind,value,sigma\n${tapes.join('\n')}\n`);
    const summary = await run(['survey-adjustment', '--control', control, '--measurements', measurements]);
    const [name, wanted] = Object.entries(reference.expected.points as Record<string, { adjusted: number[] }>)[0];
    expect(summary.points[name].x).toBeCloseTo(wanted.adjusted[0], 8);
    expect(summary.points[name].y).toBeCloseTo(wanted.adjusted[1], 8);
  }, 60_000);

  test('a grid fitted to the map equals the reference', async () => {
    const reference = JSON.parse(readFileSync(join(root, 'tests/reference/helmert_site_to_utm.json'), 'utf8'));
    const common = join(folder, 'common.csv');
    const rows = (reference.input.source_points as number[][]).map((p, i) =>
      [`P${i + 1}`, ...p, ...reference.input.target_points[i]].join(','),
    );
    writeFileSync(common, `name,local_x,local_y,easting,northing\n${rows.join('\n')}\n`);
    const summary = await run(['grid-fit', '--common', common]);
    expect(summary.scale).toBeCloseTo(reference.expected.scale, 9);
    expect(summary.rotation_deg).toBeCloseTo(reference.expected.rotation_deg_anticlockwise, 7);
    expect(Math.abs(summary.tx - reference.expected.tx)).toBeLessThan(1e-6);
    expect(Math.abs(summary.rms_m - reference.expected.rmse_per_coordinate)).toBeLessThan(1e-9);
  }, 60_000);
});
