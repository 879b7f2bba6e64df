import { describe, expect, test } from 'vitest';
import type { Analysis } from '../../src/analyses/contract.js';
import { readRadii, usualRadii } from '../../src/analyses/distance-functions/asked-radii.js';
import analysis from '../../src/analyses/distance-functions/index.js';
import { functions } from '../../src/analyses/distance-functions/schemas.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import type { Sample } from '../../src/domain/sample.js';
import { edgeCorrections } from '../../src/math/k-function.js';
import { randomStream } from '../../src/math/random.js';
import { insideEvenOdd } from '../../src/math/rings.js';
import { readReference, rectangle } from '../support/kernel-reference.js';
import { markNames, trench } from '../support/local-pattern.js';
import { near } from '../support/near.js';
import { sampleOf } from '../support/sample-of.js';

import { classed, pairsOf, scatterIn } from '../support/scattered-finds.js';

function answerOf(
  sample: Sample,
  own: Record<string, unknown> = {},
  how: { simulations?: number; seed?: number } = {},
) {
  const { own: parameters } = checkInputs(analysis as unknown as Analysis, own);
  const control = { seed: how.seed ?? 1790, simulations: how.simulations ?? 0, draws: 1, progress: () => {} };
  return analysis.run(sample, parameters as never, control);
}

const even = sampleOf(pairsOf(scatterIn(trench, 60, 3)), trench);
const twoClasses = classed(
  scatterIn(trench, 60, 3),
  trench,
  Array.from({ length: 60 }, (_, i) => (i % 3 === 0 ? 'jar' : 'nail')),
);

// ——— reference numbers through the whole analysis ———

describe.each(['site_a', 'demopat', 'betacells', 'humberside', 'ants'])('two types of %s', (name) => {
  test('cross K, L and G at map coordinates come out as printed', () => {
    const { expected, xy, window } = readReference<
      Record<
        'Kcross_AB' | 'Gcross_AB',
        Record<'r' | 'un' | 'border' | 'iso' | 'trans' | 'km' | 'rs' | 'raw', (number | null)[]>
      > & {
        levels: string[];
      }
    >('cross', name);
    const sample = classed(xy, window, markNames('cross', name));
    const [from, to] = expected.levels;
    const { K } = answerOf(sample, { r: expected.Kcross_AB.r, from, to }).summary;
    const printed = { none: 'un', border: 'border', isotropic: 'iso', translation: 'trans' } as const;
    for (const edge of edgeCorrections) {
      expected.Kcross_AB[printed[edge]].forEach((value, k) => {
        if (value === null) expect(K[edge][k]).toBeNull();
        else near(K[edge][k], value, { relative: 1e-9 });
      });
    }
    const { G } = answerOf(sample, { r: expected.Gcross_AB.r, from, to }).summary;
    for (const [ours, theirs] of [
      ['raw', 'raw'],
      ['reduced_sample', 'rs'],
      ['kaplan_meier', 'km'],
    ] as const) {
      expected.Gcross_AB[theirs].forEach((value, k) => {
        if (value === null) expect(G[ours][k]).toBeNull();
        else near(G[ours][k], value, { absolute: 1e-12 });
      });
    }
  });
});

// ——— inputs ———

test('radii as numbers, as text with commas, or the usual ones', () => {
  expect(readRadii([0.25, 0.5])).toEqual([0.25, 0.5]);
  expect(readRadii('0.25,0.5; 1')).toEqual([0.25, 0.5, 1]);
  expect(readRadii(['0.25,0.5', '1'])).toEqual([0.25, 0.5, 1]);
  expect(readRadii('[0, 0.5]')).toEqual([0, 0.5]);
  expect(readRadii(null)).toBeNull();
  const usual = usualRadii(trench);
  expect(usual).toHaveLength(65);
  expect([usual[0], usual[64]]).toEqual([0, 2]);
  expect(answerOf(even, { r: '0.25,0.5,1' }).summary).toEqual(answerOf(even, { r: [0.25, 0.5, 1] }).summary);
});

test.each([
  ['0.5,0.25', /radii must rise, but 0.25 follows 0.5/],
  [[-1], /"-1" is no radius/],
  ['near', /"near" is no radius/],
  ['', /at least one radius/],
  [Array.from({ length: 1100 }, (_, k) => k), /1100 radii are too many/],
])('radii %j are refused with a sentence', (r, sentence) => {
  expect(() => answerOf(even, { r })).toThrow(sentence);
});

test.each([
  [{ from: 'jar' }, /need both `from` and `to`/],
  [{ to: 'jar' }, /need both `from` and `to`/],
  [{ from: 'jar', to: ['nail', 'jar'] }, /class "jar" stands on both sides/],
  [{ from: 'jar', to: 'gun' }, /class "gun" is not among the finds chosen; there are: jar, nail/],
  [{ function: 'pcf', edge: 'border' }, /no border correction of the pair correlation/],
  [{ null_model: 'toroidal_shift' }, /slides one type over another/],
  [{ null_model: 'toroidal_shift', from: 'jar', to: 'nail' }, /only a rectangle along the site grid allows/],
  [{ null_model: 'random_labelling' }, /needs finds of other classes to deal among/],
  [{ null_model: 'uniform', function: 'F', from: 'jar', to: 'nail' }, /F about it never changes/],
  [{ null_model: 'inhomogeneous', bandwidth: -1 }, /input bandwidth/],
])('%j is refused with a sentence', (own, sentence) => {
  expect(() => answerOf(twoClasses, own)).toThrow(sentence);
});

test('more work than fits is refused with what would fit', () => {
  const many = sampleOf(pairsOf(scatterIn(trench, 9000, 1)), trench);
  expect(() => answerOf(many, {}, { simulations: 99_999 })).toThrow(/at most \d+ simulations fit/);
  const heap = sampleOf(pairsOf(new Float64Array(90_000).fill(1)), trench);
  expect(() => answerOf(heap)).toThrow(/ask for smaller radii/);
});

// ——— what is printed ———

test('without simulations the curves stand alone', () => {
  const { summary, methods } = answerOf(even);
  expect(summary).toMatchObject({ global: null, envelope: null, simulations: 0, leaves_global_band_m: null });
  expect(summary.reading).toMatch(/No test was made/);
  expect(methods).toMatch(/No test was made/);
  expect(summary.G.hanisch).toBeNull();
  expect(answerOf(even, { hanisch: true }).summary.G.hanisch).toHaveLength(65);
});

test('every array runs beside r, undefined is null', () => {
  const { summary } = answerOf(even, { null_model: 'inhomogeneous', hanisch: true }, { simulations: 39 });
  const check = (value: unknown, path: string): void => {
    if (Array.isArray(value)) expect(value, path).toHaveLength(summary.r.length);
    else if (value !== null && typeof value === 'object') {
      for (const [key, inner] of Object.entries(value)) check(inner, `${path}.${key}`);
    } else if (typeof value === 'number') expect(Number.isFinite(value), path).toBe(true);
  };
  check(summary, 'summary');
  expect(summary.pcf.translation[0]).toBeNull();
  expect(summary.inhomogeneous?.bandwidth_m).toBeGreaterThan(0);
  expect(answerOf(even, { null_model: 'inhomogeneous', bandwidth: 1.5 }).summary.inhomogeneous?.bandwidth_m).toBe(1.5);
});

test.each(functions.flatMap((name) => edgeCorrections.map((edge) => [name, edge] as const)))(
  'the tested curve of %s, %s, is near the printed one and lies among its simulations',
  (name, edge) => {
    if (name === 'pcf' && edge === 'border') return;
    const { summary } = answerOf(even, { function: name, edge, r: '0.2,0.4,0.8,1.2,1.6' }, { simulations: 39 });
    const printed = {
      K: summary.K[edge],
      L: summary.L[edge],
      pcf: edge === 'border' ? [] : summary.pcf[edge],
      G: summary.G.kaplan_meier,
      F: summary.F.kaplan_meier,
      J: summary.J,
    }[name];
    summary.envelope?.observed.forEach((value, k) => {
      if (printed[k] === null) expect(value).toBeNull();
      else near(value, printed[k], { relative: 0.02, absolute: 1e-12 });
    });
    expect(summary.edge).toBe(['K', 'L', 'pcf'].includes(name) ? edge : null);
    for (const p of [summary.global?.mad.p, summary.global?.dclf.p, summary.global?.extreme_rank_length.p]) {
      expect(p).toBeGreaterThanOrEqual(1 / 40);
    }
  },
);

test('the same seed gives the same bytes, another seed other simulations', () => {
  const text = (seed: number) => JSON.stringify(answerOf(even, {}, { simulations: 39, seed }));
  expect(text(1)).toBe(text(1));
  expect(text(1)).not.toBe(text(2));
});

test('clusters are told from a random scatter, and so is even spacing', () => {
  const random = randomStream(8, 0);
  const heaps = Float64Array.from(
    Array.from({ length: 10 }, () => {
      const [x, y] = [0.5 + 6 * random.next(), 5.3 + 2.4 * random.next()];
      return Array.from({ length: 5 }, () => [x + 0.4 * (random.next() - 0.5), y + 0.4 * (random.next() - 0.5)]);
    }).flat(2),
  );
  const clustered = answerOf(sampleOf(pairsOf(heaps), trench), {}, { simulations: 99 }).summary;
  expect(clustered.global?.mad.p).toBe(0.01);
  expect(clustered.leaves_global_band).toBe('above');
  expect(clustered.reading).toMatch(/more neighbours/);
  const lattice = pairsOf(
    Float64Array.from({ length: 2 * 84 }, (_, k) =>
      k % 2 === 0 ? 0.25 + ((k >> 1) % 14) * 0.5 : 5.2 + Math.floor((k >> 1) / 14) * 0.5,
    ),
  ).filter(([x, y]) => insideEvenOdd(trench, x, y));
  const spaced = answerOf(sampleOf(lattice, rectangle([0, 5, 7, 8])), { function: 'G' }, { simulations: 99 }).summary;
  expect(spaced.leaves_global_band).toBe('below');
  expect(spaced.reading).toMatch(/fewer neighbours/);
});

// ——— degenerate inputs ———

test.each([
  ['no find', []],
  ['one', [[1, 1]]],
  [
    'two',
    [
      [1, 1],
      [2, 2],
    ],
  ],
  [
    'three on a line',
    [
      [1, 1],
      [2, 1],
      [3, 1],
    ],
  ],
  [
    'all at one place',
    [
      [1, 1],
      [1, 1],
      [1, 1],
      [1, 1],
    ],
  ],
  [
    'on edges and corners',
    [
      [0, 0],
      [12, 0],
      [12, 5],
      [7, 5],
      [0, 8],
      [3, 2],
      [5, 2.5],
    ],
  ],
] as const)('%s: defined values or null, under every function and model that fits', (_, points) => {
  const sample = sampleOf(points as never, trench);
  for (const name of functions) {
    for (const null_model of ['uniform', 'inhomogeneous'] as const) {
      const own = { function: name, null_model, bandwidth: 1, hanisch: true };
      const { summary, table } = answerOf(sample, own, { simulations: 9 });
      expect(JSON.stringify([summary, table])).not.toMatch(/NaN|Infinity/);
      expect(analysis.result.safeParse(summary).success).toBe(true);
      expect(summary.n).toBe(points.length);
      if (points.length < 2) {
        expect(summary.global).toBeNull();
        expect(summary.K.translation.every((v) => v === null)).toBe(true);
        expect(summary.reading).toMatch(/too few finds/);
      }
    }
  }
});

test('few finds and a quiet test: cannot tell', () => {
  const { summary, cautions } = answerOf(sampleOf(pairsOf(scatterIn(trench, 8, 4)), trench), {}, { simulations: 99 });
  expect(summary.leaves_global_band_m).toBeNull();
  expect(summary.reading).toMatch(/^Cannot tell: only 8 finds/);
  expect(cautions.join(' ')).toMatch(/Only 8 finds/);
});

test('position errors, coincident finds, long radii and many classes are spoken of', () => {
  const blurred = { ...even, sigmaXy: even.sigmaXy.map(() => 0.2) };
  expect(answerOf(blurred).cautions.join(' ')).toMatch(
    /middle position error is 0.2 m.* 0.4 to 0.6 m; 19 of the radii/,
  );
  const twice = sampleOf([...pairsOf(even.xy), [even.xy[0], even.xy[1]]], trench);
  expect(answerOf(twice).summary.coincident).toBe(2);
  expect(answerOf(twice).cautions.join(' ')).toMatch(/2 finds share their place/);
  expect(answerOf(even, { r: '1,3' }).cautions.join(' ')).toMatch(/Radii beyond 2 m/);
  expect(answerOf(even).cautions.join(' ')).not.toMatch(/Radii beyond|share their place|position error/);
  const names = Array.from({ length: 60 }, (_, i) => ['jar', 'nail', 'gun'][i % 3]);
  const three = answerOf(classed(even.xy, trench, names), { from: 'jar', to: 'gun' }, { simulations: 19 });
  expect(three.cautions.join(' ')).toMatch(/3 classes make 6 ordered pairs/);
  expect(three.cautions.join(' ')).toMatch(/Three global tests look at one curve/);
});
