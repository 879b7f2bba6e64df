import { describe, expect, test } from 'vitest';
import type { RunControl } from '../../src/analyses/contract.js';
import section from '../../src/analyses/section/index.js';
import { valueAt } from '../../src/domain/feature-table.js';
import type { Sample } from '../../src/domain/sample.js';
import { unknownDetail } from '../../src/domain/sample-detail.js';
import { svgText } from '../../src/figures/svg.js';
import { Problem } from '../../src/problems.js';
import { bathymetryOf } from '../support/flat-bathymetry.js';
import { nodeLevels, readingsOf } from '../support/levelled-nodes.js';
import { near } from '../support/near.js';
import { sampleOf } from '../support/sample-of.js';
import { smallSite } from '../support/small-site.js';

const control: RunControl = { seed: 1, simulations: 0, draws: 1, progress: () => {} };
const grid = smallSite().grids[0];
const shape = { columns: 11, rows: 9, season: 'S1', sigma: 0.02 };
const bottom = (x: number, y: number) => -1 + 0.05 * x - 0.02 * y;
const top = (x: number, y: number) => bottom(x, y) + 0.2 + 0.03 * x;
const levels = [
  ...nodeLevels({ ...shape, surface: 'deposit_bottom', field: bottom }),
  ...nodeLevels({ ...shape, surface: 'deposit_top', field: top }),
];

function run(sample: Sample, asked: Record<string, unknown> = {}) {
  const answer = section.run(sample, section.parameters.parse(asked), control);
  section.result.parse(answer.summary);
  return answer;
}

const dig = (more: Partial<Sample> = {}) => {
  const xy: [number, number][] = [
    [2, 4.4],
    [5, 3.7],
    [5, 6],
    [8, 4],
  ];
  return sampleOf(
    xy,
    { rings: [] },
    {
      levels: readingsOf(levels),
      grid,
      seasons: ['S1'],
      dug: [],
      z: Float64Array.of(-0.8, Number.NaN, -0.7, Number.NaN),
      detail: {
        ...unknownDetail(4),
        zMin: Float64Array.of(Number.NaN, -0.9, Number.NaN, Number.NaN),
        zMax: Float64Array.of(Number.NaN, -0.8, Number.NaN, Number.NaN),
      },
      classes: ['jar', 'nail'],
      classCode: Uint32Array.of(1, 2, 1, 0),
      shipAxis: { after: [1, 1], bow: [9, 7], bowEnd: 'unresolved' },
      ...more,
    },
  );
};

function refusal(sample: Sample, asked: Record<string, unknown> = {}): Problem {
  try {
    run(sample, asked);
  } catch (error) {
    if (error instanceof Problem) return error;
    throw error;
  }
  return expect.fail('the question was answered');
}

test('the worked example gives the numbers another program gave', () => {
  for (const w of section.worked) {
    const { summary } = run(sampleOf([], { rings: [] }, { levels: readingsOf(w.levels ?? []) }), w.parameters);
    for (const [path, value] of Object.entries(w.expected)) {
      const found = path.split('.').reduce<unknown>((at, key) => (at as Record<string, unknown>)[key], summary);
      near(found as number, value, { relative: w.tolerance });
    }
  }
});

describe('a section of two planes', () => {
  const line = [
    [0.5, 4],
    [9.5, 4],
  ];

  test('reads both exactly, and the cut deposit has the area of a trapezium', () => {
    const { summary } = run(dig(), { line, step_m: 0.3 });
    for (const place of summary.profile) {
      near(place.elevation_m['deposit_top'], top(place.local_x_m, 4), { absolute: 1e-12 });
      near(place.thickness_m, 0.2 + 0.03 * place.local_x_m, { absolute: 1e-12 });
    }
    near(summary.thickness?.area_m2, 9 * (0.2 + 0.03 * 5), { relative: 1e-12 });
    near(summary.thickness?.known_m, 9, { relative: 1e-12 });
  });

  test('carries finds of the band onto it, with class, offset and what is known of their elevation', () => {
    const { summary, table, features } = run(dig(), { line, band_m: 0.5 });
    expect(summary).toMatchObject({ n: 3, finds_without_z: 1 });
    const finds = table.rows.filter(([kind]) => kind === 'find');
    expect(finds.map((row) => row.slice(-6))).toEqual([
      ['1', 'jar', expect.closeTo(0.4, 9), -0.8, null, null],
      ['2', 'nail', expect.closeTo(-0.3, 9), null, -0.9, -0.8],
      ['4', null, expect.closeTo(0, 9), null, null, null],
    ]);
    const kind = features?.columns.get('kind');
    const kinds = Array.from({ length: features?.length ?? 0 }, (_, i) => kind && valueAt(kind, i));
    expect(kinds.filter((k) => k === 'find')).toHaveLength(3);
    expect(kinds.filter((k) => k === 'profile')).toHaveLength(summary.profile.length);
  });

  test('a missing node opens a gap of its squares, or half of each with the plane of three', () => {
    const without = readingsOf(levels.filter((l) => !(l.surface === 'deposit_top' && l.x === 5 && l.y === 4)));
    const at = {
      line: [
        [0.5, 3.5],
        [9.5, 3.5],
      ],
      step_m: 0.125,
    };
    near(run(dig({ levels: without }), at).summary.thickness?.known_m, 7, { absolute: 0.3 });
    const filled = run(dig({ levels: without }), { ...at, missing_corner: 'triangle' }).summary;
    near(filled.thickness?.known_m, 8, { absolute: 0.3 });
    expect(run(dig({ levels: without }), at).cautions.join(' ')).toContain('gaps are left open');
  });
});

describe('lines', () => {
  test('the ship axis, a row, a column, and places as text', () => {
    near(run(dig()).summary.length_m, 10, { relative: 1e-12 });
    const row = run(dig(), { line: 'row:5' }).summary;
    expect(row.profile.every((p) => p.local_y_m === 4)).toBe(true);
    near(row.length_m, 10, { relative: 1e-12 });
    const column = run(dig(), { line: 'column:c' }).summary;
    expect(column.profile.every((p) => p.local_x_m === 2)).toBe(true);
    expect(run(dig(), { line: '1,1 9,7' }).summary.profile).toEqual(
      run(dig(), {
        line: [
          [1, 1],
          [9, 7],
        ],
      }).summary.profile,
    );
  });

  test('walked the other way it shows the same ground mirrored', () => {
    const there = run(dig(), {
      line: [
        [1, 1],
        [9, 7],
      ],
    }).summary;
    const back = run(dig(), {
      line: [
        [9, 7],
        [1, 1],
      ],
    }).summary;
    near(back.thickness?.area_m2, there.thickness?.area_m2 as number, { relative: 1e-12 });
    expect(back.n).toBe(there.n);
  });

  test('what names no line is refused with what would', () => {
    expect(refusal(dig({ shipAxis: null })).message).toContain('no ship axis');
    expect(refusal(dig({ grid: null }), { line: 'row:5' }).message).toContain('no site grid');
    expect(refusal(dig(), { line: 'row:99' }).message).toContain('no row of grid');
    expect(refusal(dig(), { line: 'bow to stern' }).message).toContain('"column:E"');
    expect(refusal(dig({ levels: null })).message).toContain('--levels');
    expect(
      refusal(dig(), {
        line: [
          [50, 50],
          [60, 50],
        ],
      }).message,
    ).toContain('no surface is known');
  });
});

test('figure, methods and cautions are whole; elevations of several seasons follow the rule', () => {
  const { figure, methods, cautions } = run(dig());
  expect(svgText(figure)).not.toMatch(/NaN|undefined|Infinity/);
  expect(methods).toMatch(/m².*2 times|2007/);
  expect(cautions.join(' ')).toContain('not resolved');
  const later = nodeLevels({ ...shape, season: 'S2', surface: 'deposit_top', field: (x, y) => top(x, y) - 0.1 });
  const both = dig({ levels: readingsOf([...levels, ...later]), seasons: ['S1', 'S2'] });
  const of = (rule: string) => run(both, { node_value: rule }).summary.profile[3].elevation_m['deposit_top'] as number;
  near(of('mean') - of('newest'), 0.05, { absolute: 1e-12 });
});

describe('bathymetry along a section', () => {
  const line = [
    [0.5, 4],
    [9.5, 4],
  ];
  const seabed = (x: number, y: number) => -14.2 + 0.1 * x - 0.02 * y;

  test('is one more profile in the site datum with an error of its own, and takes no part in the thickness', () => {
    const plain = run(dig(), { line }).summary;
    const { summary, table, figure, cautions } = run(dig({ bathymetry: bathymetryOf(seabed) }), { line });
    for (const place of summary.profile) {
      near(place.elevation_m['bathymetry'], seabed(place.local_x_m, 4) + 14, { absolute: 1e-12 });
      // √(0.1² + 0.05²)
      near(place.sigma_m['bathymetry'], 0.1118034, { absolute: 1e-6 });
    }
    expect(summary.thickness).toEqual(plain.thickness);
    expect(plain.bathymetry).toBeNull();
    expect(table.columns.map(({ name }) => name)).toContain('bathymetry_m');
    expect(svgText(figure)).toContain('bathymetry, with its 95 % band');
    const against = summary.bathymetry?.against_levels;
    expect(against?.surface).toBe('deposit_top');
    // levels of σ 0.02 between nodes are surer than that: the soundings make nearly all of the error
    expect(against?.combined_95_m).toBeGreaterThan(1.96 * 0.1118);
    expect(against?.combined_95_m).toBeLessThan(1.96 * Math.hypot(0.1118, 0.021));
    expect(cautions.join(' ')).toMatch(/with both errors ± 0\.2\d m \(95 %\)/);
  });

  test('of a datum that is not tied to the site is named and left out', () => {
    const { summary, cautions } = run(dig({ bathymetry: bathymetryOf(seabed, { tie: null }) }), { line });
    expect(Object.keys(summary.profile[0].elevation_m)).not.toContain('bathymetry');
    expect(summary.bathymetry).toMatchObject({ offset_to_site_datum_m: null, known_m: 0, combined_sigma_m: null });
    expect(cautions.join(' ')).toMatch(/mean sea level, which site.json does not tie/);
  });
});
