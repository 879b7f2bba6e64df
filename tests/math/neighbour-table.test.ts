import { describe, expect, test } from 'vitest';
import { chiSquareUpperTail, normalTwoSided } from '../../src/math/distributions.js';
import { nearestOthers } from '../../src/math/nearest-others.js';
import {
  dixonLaw,
  expectedNeighbours,
  neighbourCovariance,
  neighbourShape,
  neighbourTable,
  pielouTest,
  segregation,
} from '../../src/math/neighbour-table.js';
import { randomStream } from '../../src/math/random.js';
import { allNear, near, uniformScatter } from '../support/near.js';
import { readReferenceFile } from '../support/reference-file.js';

/** One reference file segregation_*: two classes. */
interface TwoClasses {
  readonly dixon: Readonly<Record<string, number>>;
}

/** Finds of a set as the methods want them: from a local origin, classes in alphabetical order. */
function labelled(xy: readonly (readonly number[])[], marks: readonly string[]) {
  const west = Math.min(...xy.map(([x]) => x));
  const south = Math.min(...xy.map(([, y]) => y));
  const classes = [...new Set(marks)].sort();
  const local = Float64Array.from(xy.flatMap(([x, y]) => [x - west, y - south]));
  const nearest = nearestOthers(local);
  const label = Uint8Array.from(marks, (name) => classes.indexOf(name));
  const count = classes.map((name) => marks.filter((mark) => mark === name).length);
  return { classes, label, count, nearest, shape: neighbourShape(nearest.index) };
}

describe.each(['site_a', 'gpl/ants', 'gpl/betacells', 'gpl/demopat', 'gpl/humberside'])('two classes of %s', (name) => {
  const { input, expected } = readReferenceFile<{ points: number[][]; marks: string[] }, TwoClasses>(
    name.replace(/([^/]+)$/, 'segregation_$1'),
  );
  // which class the file calls the first follows from its count
  const finds = labelled(input.points, input.marks);
  const d = expected.dixon;
  const [a, b] = finds.count[0] === d['n1'] && finds.count[1] === d['n2'] ? [0, 1] : [1, 0];
  const table = neighbourTable({ label: finds.label, classes: 2, nearest: finds.nearest.index });
  const law = dixonLaw(finds.count, finds.shape);

  test('the table, R, Q and ties', () => {
    expect([table[3 * a], table[2 * a + b], table[2 * b + a], table[3 * b]]).toEqual([
      d['N11'],
      d['N12'],
      d['N21'],
      d['N22'],
    ]);
    expect(finds.shape.mutual).toBe(d['R']);
    expect(finds.shape.sharing).toBe(d['Q']);
    expect(finds.nearest.tied).toBe(d['points_with_tied_nearest_neighbour']);
  });

  test('means, variances, z, χ² and p to 1e-10', () => {
    const close = { relative: 1e-10 };
    near(law.expected[3 * a], d['E_N11'], close);
    near(law.expected[3 * b], d['E_N22'], close);
    near(law.deviation[3 * a] ** 2, d['Var_N11'], close);
    near(law.deviation[3 * b] ** 2, d['Var_N22'], close);
    near(neighbourCovariance(finds.count, finds.shape)([a, a], [b, b]), d['Cov_N11_N22'], close);
    const z = (cell: number) => (table[cell] - law.expected[cell]) / law.deviation[cell];
    near(z(3 * a), d['z1'], { relative: 1e-10, absolute: 1e-12 });
    near(z(3 * b), d['z2'], { relative: 1e-10, absolute: 1e-12 });
    near(normalTwoSided(z(3 * a)), d['p1_two'], { absolute: 1e-10 });
    near(law.chi2(table), d['C'], close);
    expect(law.df).toBe(d['C_df']);
    near(chiSquareUpperTail(law.chi2(table), law.df), d['C_p'], { absolute: 1e-10, relative: 1e-9 });
    const odds = segregation(table, finds.count);
    near(odds[3 * a], d['segregation_S1'], close);
    near(odds[3 * b], d['segregation_S2'], close);
  });

  test('Pielou’s test beside it', () => {
    const pielou = pielouTest(table, 2);
    near(pielou?.chi2, d['pielou_X2_uncorrected'], { relative: 1e-10 });
    near(pielou?.p, d['pielou_p_uncorrected'], { absolute: 1e-10 });
    near(pielou?.segregation, d['pielou_S'], { relative: 1e-10, absolute: 1e-12 });
  });
});

interface SeveralClasses {
  readonly sets: readonly {
    readonly classes: string[];
    readonly counts: number[];
    readonly table: number[][];
    readonly expected: number[][];
    readonly variance: number[][];
    readonly z: (number | null)[][];
    readonly chi2: number;
    readonly df: number;
    readonly p: number | null;
  }[];
}

const several = readReferenceFile<{ sets: { name: string; marks: string[]; xy: number[][] }[] }, SeveralClasses>(
  'association_several_classes',
);

test.each(several.input.sets.map((set, k) => [set.name, k] as const))('several classes: %s', (_, k) => {
  const { marks, xy } = several.input.sets[k];
  const expected = several.expected.sets[k];
  const finds = labelled(xy, marks);
  const { classes } = finds;
  expect(classes).toEqual(expected.classes);
  const table = neighbourTable({ label: finds.label, classes: classes.length, nearest: finds.nearest.index });
  expect([...table]).toEqual(expected.table.flat());
  const law = dixonLaw(finds.count, finds.shape);
  allNear(law.expected, expected.expected.flat(), { relative: 1e-12 });
  allNear(
    law.deviation.map((v) => v * v),
    expected.variance.flat(),
    { relative: 1e-9, absolute: 1e-9 },
  );
  expected.z.flat().forEach((z, cell) => {
    if (z === null) expect(law.deviation[cell]).toBe(0);
    else near((table[cell] - law.expected[cell]) / law.deviation[cell], z, { relative: 1e-10, absolute: 1e-12 });
  });
  expect(law.df).toBe(expected.df);
  near(law.chi2(table), expected.chi2, { relative: 1e-10 });
  if (expected.p !== null) near(chiSquareUpperTail(law.chi2(table), law.df), expected.p, { absolute: 1e-10 });
});

test('the covariance is that over all ways to deal the names, listed one by one', () => {
  // six finds, three classes: 60 different namings
  const xy = uniformScatter({ n: 6, seed: 4 });
  const nearest = nearestOthers(xy).index;
  const namings: number[][] = [];
  const deal = (left: number[], so: number[]): void => {
    if (so.length === 6) namings.push(so);
    for (const [c, many] of left.entries()) if (many > 0) deal(left.with(c, many - 1), [...so, c]);
  };
  deal([3, 2, 1], []);
  expect(namings).toHaveLength(60);
  const tables = namings.map((label) => neighbourTable({ label, classes: 3, nearest }));
  const mean = (of: (table: Float64Array) => number) => tables.reduce((sum, t) => sum + of(t) / tables.length, 0);
  const expected = expectedNeighbours([3, 2, 1], 6);
  const covariance = neighbourCovariance([3, 2, 1], neighbourShape(nearest));
  for (let a = 0; a < 9; a++) {
    near(
      expected[a],
      mean((t) => t[a]),
      { absolute: 1e-12 },
    );
    for (let b = 0; b < 9; b++) {
      const listed = mean((t) => t[a] * t[b]) - mean((t) => t[a]) * mean((t) => t[b]);
      const cell = (k: number) => [Math.floor(k / 3), k % 3] as const;
      near(covariance(cell(a), cell(b)), listed, { absolute: 1e-12 });
    }
  }
});

test('laws on seeded scatters: rows add up, other names of classes change nothing, degrees of freedom', () => {
  const random = randomStream(8, 0);
  for (let seed = 0; seed < 300; seed++) {
    const classes = 2 + random.below(4);
    const n = 30 + random.below(60);
    const nearest = nearestOthers(uniformScatter({ n, seed })).index;
    const label = Uint8Array.from({ length: n }, (_, i) => (i < 6 * classes ? i % classes : random.below(classes)));
    const count = Array.from({ length: classes }, (_, c) => label.filter((v) => v === c).length);
    const table = neighbourTable({ label, classes, nearest });
    const law = dixonLaw(count, neighbourShape(nearest));
    expect(law.df).toBe(classes * (classes - 1));
    count.forEach((own, i) => {
      const row = Array.from({ length: classes }, (_, j) => i * classes + j);
      expect(row.reduce((sum, cell) => sum + table[cell], 0)).toBe(own);
      near(
        row.reduce((sum, cell) => sum + law.expected[cell], 0),
        own,
        { relative: 1e-12 },
      );
      expect(law.ofClass(i, table)?.df).toBe(classes - 1);
    });
    const turned = label.map((c) => classes - 1 - c);
    const mirror = dixonLaw([...count].reverse(), neighbourShape(nearest));
    near(mirror.chi2(neighbourTable({ label: turned, classes, nearest })), law.chi2(table), { relative: 1e-8 });
  }
});

test('χ² of dealt names has its mean and its tail', () => {
  const n = 200;
  const nearest = nearestOthers(uniformScatter({ n, seed: 3 })).index;
  const label = Uint8Array.from({ length: n }, (_, i) => (i < 80 ? 0 : i < 150 ? 1 : 2));
  const law = dixonLaw([80, 70, 50], neighbourShape(nearest));
  let sum = 0;
  let beyond = 0;
  const rounds = 3000;
  for (let s = 0; s < rounds; s++) {
    const random = randomStream(5, s);
    for (let i = n - 1; i > 0; i--) {
      const j = random.below(i + 1);
      [label[i], label[j]] = [label[j], label[i]];
    }
    const chi2 = law.chi2(neighbourTable({ label, classes: 3, nearest }));
    sum += chi2 / rounds;
    if (chiSquareUpperTail(chi2, law.df) <= 0.05) beyond++;
  }
  // the mean is exact: the rank of its covariance
  expect(Math.abs(sum - 6)).toBeLessThan(4 * Math.sqrt(12 / rounds));
  expect(beyond / rounds).toBeGreaterThan(0.035);
  expect(beyond / rounds).toBeLessThan(0.065);
});

test('one class, two finds, or nothing at all leave nothing to vary', () => {
  expect(dixonLaw([6], { n: 6, mutual: 4, sharing: 2 }).df).toBe(0);
  expect(dixonLaw([1, 1], { n: 2, mutual: 2, sharing: 0 }).df).toBe(0);
  expect(dixonLaw([], { n: 0, mutual: 0, sharing: 0 }).df).toBe(0);
  expect(pielouTest([6], 1)).toBeNull();
  expect(Number.isNaN(segregation([0, 3, 2, 1], [3, 3])[0])).toBe(true);
});
