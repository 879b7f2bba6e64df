import { describe, expect, test } from 'vitest';
import { circleFraction } from '../../src/math/circle-fraction.js';
import { edgeCorrections, isotropicBySteps, kFunctions, lFunction } from '../../src/math/k-function.js';
import { intersection } from '../../src/math/overlay.js';
import { usualHalfWidth } from '../../src/math/pair-correlation.js';
import { radiiOf } from '../../src/math/radii.js';
import { randomStream } from '../../src/math/random.js';
import { boundaryDistance, type Region, regionArea, shiftRegion } from '../../src/math/rings.js';
import { setCovariance } from '../../src/math/set-covariance.js';
import { uniformPoints } from '../../src/math/uniform-points.js';
import { patterns, rectangle, thinArms } from '../support/kernel-reference.js';
import { localPattern, markNames, pointsOf, trench } from '../support/local-pattern.js';
import { allNear, near } from '../support/near.js';

interface Curves {
  r: number[];
  un: number[];
  border: (number | null)[];
  iso: number[];
  trans: number[];
  halfwidth: number;
}

/** Every value of a reference curve within the tolerance, NaN where it has none. */
function sameCurve(actual: Float64Array | undefined, expected: readonly (number | null)[], relative: number): void {
  expect(actual?.length).toBe(expected.length);
  expected.forEach((value, k) => {
    if (value === null) expect(actual?.[k]).toBeNaN();
    else near(actual?.[k], value, { relative });
  });
}

/** The most a reference pattern asks; the pair correlation reaches a kernel farther than the largest radius. */
function curvesAt(pattern: { xy: Float64Array; window: Region; areaM2: number }, r: number[], halfWidthM: number) {
  const { xy, window, areaM2 } = pattern;
  const reachM = r[r.length - 1] + halfWidthM;
  return kFunctions(
    { from: xy, to: xy, window, areaM2 },
    { radii: radiiOf(r), corrections: edgeCorrections, covariance: setCovariance(window, reachM), halfWidthM },
  );
}

describe.each(patterns)('reference pattern %s', (name) => {
  const pattern = localPattern<{ K: Curves; L: Curves; pcf: Curves }>('k', name);
  const { expected, isRectangle } = pattern;
  // a rim that touches a side keeps half its digits: one pair of redwood does
  const tight = isRectangle && name !== 'redwood' ? 1e-12 : 1e-9;

  test('K and L, four edge corrections', () => {
    const { k } = curvesAt(pattern, expected.K.r, expected.pcf.halfwidth);
    sameCurve(k.none, expected.K.un, 1e-12);
    sameCurve(k.border, expected.K.border, tight);
    sameCurve(k.isotropic, expected.K.iso, tight);
    sameCurve(k.translation, expected.K.trans, tight);
    sameCurve(k.border && lFunction(k.border), expected.L.border, tight);
    sameCurve(k.isotropic && lFunction(k.isotropic), expected.L.iso, tight);
    sameCurve(k.translation && lFunction(k.translation), expected.L.trans, tight);
  });

  test('pair correlation, undefined at 0', () => {
    const halfWidthM = usualHalfWidth(pattern.xy.length / 2 / pattern.areaM2);
    near(halfWidthM, expected.pcf.halfwidth, { relative: 1e-12 });
    const { pairCorrelation } = curvesAt(pattern, expected.pcf.r, halfWidthM);
    sameCurve(pairCorrelation.isotropic, expected.pcf.iso, 1e-9);
    sameCurve(pairCorrelation.translation, expected.pcf.trans, 1e-9);
  });
});

describe.each(['site_a', 'ants', 'betacells', 'demopat', 'humberside'])('two types of %s', (name) => {
  const pattern = localPattern<Record<'Kcross_AB' | 'Kcross_BA' | 'Lcross_AB', Curves> & { levels: string[] }>(
    'cross',
    name,
  );
  const { expected, xy, window, areaM2 } = pattern;
  const marks = markNames('cross', name);
  const [a, b] = expected.levels.map((level) => pointsOf(xy, marks, level));

  test('K from one to the other and back, weight at the first', () => {
    for (const [from, to, curves] of [
      [a, b, expected.Kcross_AB],
      [b, a, expected.Kcross_BA],
    ] as const) {
      const { k } = kFunctions(
        { from, to, window, areaM2 },
        {
          radii: radiiOf(curves.r),
          corrections: edgeCorrections,
          covariance: setCovariance(window, curves.r[curves.r.length - 1]),
        },
      );
      sameCurve(k.none, curves.un, 1e-12);
      sameCurve(k.border, curves.border, 1e-9);
      sameCurve(k.isotropic, curves.iso, 1e-9);
      sameCurve(k.translation, curves.trans, 1e-9);
      if (from === a && k.isotropic) sameCurve(lFunction(k.isotropic), expected.Lcross_AB.iso, 1e-9);
    }
  });
});

test('a ten-line twin: all pairs, circles by the slow way, overlaps by polygons', () => {
  const xy = new Float64Array(2 * 45);
  uniformPoints(thinArms)(xy, randomStream(11, 0));
  const areaM2 = regionArea(thinArms);
  const radii = radiiOf([0, 0.31, 0.77, 1.3, 2.9]);
  const sums = { none: [0, 0, 0, 0, 0], isotropic: [0, 0, 0, 0, 0], translation: [0, 0, 0, 0, 0] };
  const border = radii.values.map((r) => {
    const far = [...Array(45).keys()].filter((i) => boundaryDistance(thinArms, xy[2 * i], xy[2 * i + 1]) >= r);
    const pairs = far.flatMap((i) =>
      [...Array(45).keys()].filter(
        (j) => j !== i && Math.hypot(xy[2 * j] - xy[2 * i], xy[2 * j + 1] - xy[2 * i + 1]) <= r,
      ),
    );
    return far.length > 0 ? (pairs.length * areaM2) / (45 * far.length) : Number.NaN;
  });
  const share = circleFraction(thinArms);
  for (let i = 0; i < 45; i++) {
    for (let j = 0; j < 45; j++) {
      const [dx, dy] = [xy[2 * j] - xy[2 * i], xy[2 * j + 1] - xy[2 * i + 1]];
      const d = Math.hypot(dx, dy);
      if (i === j || d > 2.9) continue;
      const overlap = regionArea(intersection(thinArms, shiftRegion(thinArms, -dx, -dy)));
      radii.values.forEach((r, k) => {
        if (d > r) return;
        sums.none[k]++;
        sums.isotropic[k] += 1 / Math.max(0.01, share(xy[2 * i], xy[2 * i + 1], d));
        sums.translation[k] += areaM2 / overlap;
      });
    }
  }
  const { k } = kFunctions(
    { from: xy, to: xy, window: thinArms, areaM2 },
    { radii, corrections: edgeCorrections, covariance: setCovariance(thinArms, 2.9) },
  );
  for (const name of ['none', 'isotropic', 'translation'] as const) {
    sums[name].forEach((sum, at) => {
      near(k[name]?.[at], (sum * areaM2) / (45 * 44), { relative: 1e-9 });
    });
  }
  sameCurve(
    k.border,
    [...border].map((v) => (Number.isNaN(v) ? null : v)),
    1e-12,
  );
});

// ——— laws ———

const scatter = new Float64Array(2 * 70);
uniformPoints(trench)(scatter, randomStream(21, 0));
const onLattice = scatter.map((v) => Math.round(v * 1024) / 1024);
const radii = [0, 0.25, 0.73, 1.31, 2];
const half = 0.21;

const mapped = (flat: Float64Array, f: (x: number, y: number) => readonly [number, number]) =>
  Float64Array.from({ length: flat.length }, (_, i) => f(flat[i - (i % 2)], flat[i - (i % 2) + 1])[i % 2]);

function under(f: (x: number, y: number) => readonly [number, number], scale = 1) {
  const window = { rings: trench.rings.map((ring) => mapped(ring, f)) };
  const pattern = { xy: mapped(onLattice, f), window, areaM2: regionArea(window) };
  return curvesAt(
    pattern,
    radii.map((r) => r * scale),
    half * scale,
  );
}

test('moved by whole metres, or enlarged to double, K moves with it; g stays', () => {
  const here = under((x, y) => [x, y]);
  const doubled = under((x, y) => [2 * x, 2 * y], 2);
  for (const name of edgeCorrections) {
    const own = here.k[name] ?? new Float64Array(0);
    allNear(
      doubled.k[name] ?? [],
      own.map((v) => 4 * v),
      { relative: 1e-13 },
    );
    allNear(under((x, y) => [x + 4096, y + 2048]).k[name] ?? [], own, { relative: 1e-11 });
    if (name !== 'border') {
      sameCurve(
        doubled.pairCorrelation[name],
        [...(here.pairCorrelation[name] ?? [])].map((v) => (v > 0 ? v : null)),
        1e-12,
      );
    }
  }
});

test('turned by a quarter, or by anything, K stays', () => {
  const here = under((x, y) => [x, y]);
  const [cos, sin] = [Math.cos(0.7), Math.sin(0.7)];
  for (const turn of [
    (x: number, y: number) => [-y, x] as const,
    (x: number, y: number) => [x * cos - y * sin, x * sin + y * cos] as const,
  ]) {
    const turned = under(turn);
    for (const name of edgeCorrections) allNear(turned.k[name] ?? [], here.k[name] ?? [], { relative: 1e-11 });
  }
});

test('between two types the translation correction is the same in either direction', () => {
  const from = onLattice.slice(0, 60);
  const to = onLattice.slice(60);
  const questions = { radii: radiiOf(radii), corrections: edgeCorrections, covariance: setCovariance(trench, 2) };
  const areaM2 = regionArea(trench);
  const there = kFunctions({ from, to, window: trench, areaM2 }, questions).k;
  const back = kFunctions({ from: to, to: from, window: trench, areaM2 }, questions).k;
  allNear(there.translation ?? [], back.translation ?? [], { relative: 1e-13 });
  expect(there.isotropic).not.toEqual(back.isotropic);
});

test('the rings of a square lattice are counted at their radius, not before', () => {
  const lattice = Float64Array.from({ length: 800 }, (_, k) =>
    k % 2 === 0 ? (k >> 1) % 20 : Math.floor((k >> 1) / 20),
  );
  const window = rectangle([-0.5, -0.5, 19.5, 19.5]);
  const { k } = kFunctions(
    { from: lattice, to: lattice, window, areaM2: 400 },
    { radii: radiiOf([0.999, 1, 1.41, Math.SQRT2, 2]), corrections: ['none'], covariance: null },
  );
  const pairs = [0, 4 * 20 * 19, 4 * 20 * 19, 4 * 20 * 19 + 4 * 19 * 19, 4 * 20 * 19 + 4 * 19 * 19 + 4 * 20 * 18];
  allNear(
    k.none ?? [],
    pairs.map((count) => (400 * count) / (400 * 399)),
    { relative: 1e-15 },
  );
});

test('coincident finds count at every r, 0 included', () => {
  const xy = Float64Array.of(1, 1, 1, 1, 5, 1);
  const { k } = curvesAt({ xy, window: trench, areaM2: 79 }, [0, 1], 0.1);
  for (const name of ['none', 'isotropic', 'translation'] as const)
    allNear(k[name] ?? [], [(79 * 2) / 6, (79 * 2) / 6], { relative: 1e-14 });
  near(k.border?.[0], (79 * 2) / (3 * 3), { relative: 1e-14 });
});

test('fewer than two finds leave every curve undefined; finds at opposite corners the translation one', () => {
  for (const xy of [new Float64Array(0), Float64Array.of(2, 1)]) {
    const { k } = curvesAt({ xy, window: trench, areaM2: 79 }, [0, 1], 0.1);
    for (const name of edgeCorrections) expect([...(k[name] ?? [0])].every(Number.isNaN)).toBe(true);
  }
  const window = rectangle([0, 0, 3, 4]);
  const xy = Float64Array.of(0, 0, 3, 4);
  const { k } = curvesAt({ xy, window, areaM2: 12 }, [4, 5], 0.1);
  expect(k.translation?.[0]).toBe(0);
  expect(k.translation?.[1]).toBeNaN();
  expect(Number.isFinite(k.isotropic?.[1])).toBe(true);
});

test('isotropic weights by steps stay within 1 % of the exact ones', () => {
  const xy = new Float64Array(2 * 400);
  uniformPoints(thinArms)(xy, randomStream(5, 0));
  const pattern = { from: xy, to: xy, window: thinArms, areaM2: regionArea(thinArms) };
  const fine = radiiOf(Array.from({ length: 65 }, (_, k) => (k * 2.7) / 64));
  const exact = kFunctions(pattern, { radii: fine, corrections: ['isotropic'], covariance: null }).k.isotropic;
  const quick = isotropicBySteps(pattern, fine);
  for (let k = 16; k < 65; k++) near(quick[k], exact?.[k] ?? Number.NaN, { relative: 0.01 });
});

test('the mean over random scatters is π r², within four standard errors, in a window with a hole', () => {
  const asked = radiiOf([0.4, 0.8, 1.2]);
  const covariance = setCovariance(trench, 1.2);
  const xy = new Float64Array(2 * 60);
  const draw = uniformPoints(trench);
  const rounds = 300;
  const sums = { isotropic: [0, 0, 0], translation: [0, 0, 0], border: [0, 0, 0] };
  const squares = { isotropic: [0, 0, 0], translation: [0, 0, 0], border: [0, 0, 0] };
  for (let round = 0; round < rounds; round++) {
    draw(xy, randomStream(77, round));
    const { k } = kFunctions(
      { from: xy, to: xy, window: trench, areaM2: 79 },
      { radii: asked, corrections: ['isotropic', 'translation', 'border'], covariance },
    );
    for (const name of ['isotropic', 'translation', 'border'] as const) {
      k[name]?.forEach((value, at) => {
        const ratio = value / (Math.PI * asked.values[at] ** 2);
        sums[name][at] += ratio;
        squares[name][at] += ratio * ratio;
      });
    }
  }
  for (const name of ['isotropic', 'translation', 'border'] as const) {
    sums[name].forEach((sum, at) => {
      const mean = sum / rounds;
      const error = Math.sqrt((squares[name][at] / rounds - mean * mean) / rounds);
      // the border form is a ratio and may lean a little
      near(mean, 1, { absolute: 4 * error + (name === 'border' ? 0.02 : 0) });
    });
  }
});
