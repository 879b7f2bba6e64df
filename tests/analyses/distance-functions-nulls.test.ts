import { expect, test } from 'vitest';
import type { Analysis } from '../../src/analyses/contract.js';
import { estimatorOf } from '../../src/analyses/distance-functions/estimator.js';
import { groundOf } from '../../src/analyses/distance-functions/ground.js';
import analysis from '../../src/analyses/distance-functions/index.js';
import { drawFromCrowd, labellingOf } from '../../src/analyses/distance-functions/labelling.js';
import { nullPatterns } from '../../src/analyses/distance-functions/nulls.js';
import type { nullModels } from '../../src/analyses/distance-functions/schemas.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import type { Sample } from '../../src/domain/sample.js';
import { unknownDetail } from '../../src/domain/sample-detail.js';
import { testPlaces } from '../../src/math/empty-space.js';
import { radiiOf } from '../../src/math/radii.js';
import { randomStream } from '../../src/math/random.js';
import { insideEvenOdd } from '../../src/math/rings.js';
import { setCovariance } from '../../src/math/set-covariance.js';
import { rectangle } from '../support/kernel-reference.js';
import { trench } from '../support/local-pattern.js';
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

const ground = groundOf(twoClasses, { from: ['jar'], to: ['nail'] });
const plan = (model: (typeof nullModels)[number]) => ({ model, function: 'L' as const, bandwidthM: 1 });

test('uniform and inhomogeneous lay out the first type inside the window and leave the second', () => {
  for (const model of ['uniform', 'inhomogeneous'] as const) {
    const { draw } = nullPatterns(ground, twoClasses, plan(model));
    const { from, to } = draw(randomStream(1, 0));
    expect(from).toHaveLength(40);
    expect(to).toEqual(ground.to);
    for (const [x, y] of pairsOf(from)) expect(insideEvenOdd(trench, x, y)).toBe(true);
    expect(draw(randomStream(1, 0)).from).toEqual(from);
  }
});

test('labelling keeps places and numbers of both types', () => {
  const labelling = labellingOf(ground, twoClasses);
  const all = (pattern: { from: Float64Array; to: Float64Array }) =>
    [...pairsOf(pattern.from), ...pairsOf(pattern.to)].map(String).sort();
  for (let k = 0; k < 20; k++) {
    const drawn = labelling.draw(randomStream(2, k));
    expect(drawn.from).toHaveLength(ground.from.length);
    expect(all(drawn)).toEqual(all(ground));
  }
  expect(labelling).toMatchObject({ units: 60, grouped: 0, fixed: 0 });
});

test('finds of one pot vessel or concretion change class together', () => {
  const detail = {
    ...unknownDetail(60),
    // jars are 0, 3, 6 …; two vessels of two jars, a concretion of two nails, one vessel of three jars
    potVessel: Array.from({ length: 60 }, (_, i) =>
      i === 0 || i === 3 ? 'P1' : i === 6 || i === 9 ? 'P2' : [12, 15, 18].includes(i) ? 'P3' : null,
    ),
    concretion: Array.from({ length: 60 }, (_, i) => (i === 1 || i === 2 ? 'C1' : null)),
  };
  const sample = { ...twoClasses, detail };
  const labelling = labellingOf(ground, sample);
  expect(labelling).toMatchObject({ grouped: 9, fixed: 3, units: 51 + 4 });
  const at = (i: number) => `${twoClasses.xy[2 * i]},${twoClasses.xy[2 * i + 1]}`;
  let concretionWasJar = 0;
  for (let k = 0; k < 60; k++) {
    const jars = new Set(pairsOf(labelling.draw(randomStream(3, k)).from).map(String));
    expect(jars.size).toBe(20);
    expect(jars.has(at(0))).toBe(jars.has(at(3)));
    expect(jars.has(at(6))).toBe(jars.has(at(9)));
    expect(jars.has(at(1))).toBe(jars.has(at(2)));
    for (const i of [12, 15, 18]) expect(jars.has(at(i))).toBe(true);
    if (jars.has(at(1))) concretionWasJar++;
  }
  // two of three groups of two are jars
  expect(concretionWasJar).toBeGreaterThan(25);
  expect(concretionWasJar).toBeLessThan(55);
  const { summary, cautions } = answerOf(sample, { from: 'jar', to: 'nail' }, { simulations: 19 });
  expect(summary.labelling).toEqual({ units: 55, grouped: 9, fixed: 3 });
  expect(cautions.join(' ')).toMatch(/3 finds stand in a concretion or pot vessel of which no other has the same size/);
});

test('a class is drawn out of all finds, each as likely as any other', () => {
  const crowd = Float64Array.from({ length: 20 }, (_, i) => i >> 1);
  const draw = drawFromCrowd(crowd, 3);
  const times = new Array<number>(10).fill(0);
  for (let k = 0; k < 2000; k++) {
    const { from, to } = draw(randomStream(4, k));
    expect(to).toBe(from);
    expect(new Set([from[0], from[2], from[4]]).size).toBe(3);
    for (const i of [0, 2, 4]) times[from[i]]++;
  }
  for (const count of times) near(count, 600, { absolute: 90 });
  const sample = { ...even, xy: even.xy.slice(0, 40), others: { xy: even.xy, classCode: new Uint32Array(60) } };
  const { summary } = answerOf(
    { ...sample, classCode: new Uint32Array(20), label: even.label.slice(0, 20) },
    { null_model: 'random_labelling' },
    { simulations: 19 },
  );
  expect(summary.n).toBe(20);
  expect(summary.global?.mad.p).toBeGreaterThan(0);
});

test('a toroidal shift slides the first type as a whole inside a rectangle', () => {
  const window = rectangle([10, 20, 17, 23]);
  const xy = scatterIn(window, 20, 5);
  const sample = classed(
    xy,
    window,
    Array.from({ length: 20 }, (_, i) => (i < 8 ? 'a' : 'b')),
  );
  const own = groundOf(sample, { from: ['a'], to: ['b'] });
  const { from, to } = nullPatterns(own, sample, plan('toroidal_shift')).draw(randomStream(6, 0));
  expect(to).toEqual(own.to);
  const step = (i: number, size: number) => (((from[i] - own.from[i]) % size) + size) % size;
  for (let i = 0; i < 16; i += 2) {
    near(step(i, 7), step(0, 7), { absolute: 1e-12 });
    near(step(i + 1, 3), step(1, 3), { absolute: 1e-12 });
    expect(from[i] >= 0 && from[i] <= 7 && from[i + 1] >= 0 && from[i + 1] <= 3).toBe(true);
  }
  const { summary } = answerOf(sample, { null_model: 'toroidal_shift', from: 'a', to: 'b' }, { simulations: 19 });
  expect(summary.null_model).toBe('toroidal_shift');
  expect(summary.global).not.toBeNull();
});

test('the null model follows from the types unless it is named', () => {
  expect(answerOf(even).summary.null_model).toBe('uniform');
  expect(answerOf(twoClasses, { from: 'jar', to: 'nail' }).summary).toMatchObject({
    null_model: 'random_labelling',
    n: 60,
    n_from: 20,
    n_to: 40,
  });
});

test('among random scatters the tests reject about as often as they say', () => {
  const window = trench;
  const radii = radiiOf([0.4, 0.8, 1.2, 1.6]);
  const rounds = 250;
  let rejected = 0;
  const covariance = setCovariance(window, 1.6);
  const places = testPlaces(window);
  for (let round = 0; round < rounds; round++) {
    const sample = sampleOf(pairsOf(scatterIn(window, 20, 9000 + round)), window);
    const own = groundOf(sample, { from: null, to: null });
    const estimator = estimatorOf(own, { function: 'L', edge: 'translation', radii, covariance, reachM: 1.6, places });
    const { draw } = nullPatterns(own, sample, plan('uniform'));
    const largest = (curve: Float64Array) => Math.max(...curve.map((l, k) => Math.abs(l - radii.values[k])));
    const observed = largest(estimator(own));
    let above = 1;
    for (let k = 0; k < 19; k++) if (largest(estimator(draw(randomStream(round, k)))) >= observed) above++;
    if (above / 20 <= 0.1) rejected++;
  }
  near(rejected / rounds, 0.1, { absolute: 3.3 * Math.sqrt((0.1 * 0.9) / rounds) });
});
