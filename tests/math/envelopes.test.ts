import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import {
  type CurveSet,
  deviationTests,
  extremeRankLength,
  firstOutside,
  testedPlaces,
} from '../../src/math/envelopes.js';
import { pointwiseBand } from '../../src/math/monte-carlo.js';
import { randomStream } from '../../src/math/random.js';
import { normalPair } from '../../src/math/smoothed-scatter.js';
import { allNear, near } from '../support/near.js';

interface Stored {
  input: { r: number[]; L_sim: number[][] };
  expected: {
    L_obs: number[];
    pointwise_lo: number[];
    pointwise_hi: number[];
    mad_theo: number;
    mad_theo_p: number;
    mad_loo_mean: number;
    mad_loo_mean_p: number;
    dclf_theo: number;
    dclf_theo_p: number;
    dclf_loo_mean: number;
    dclf_loo_mean_p: number;
    global_envelope_theo_nrank1: { half_width: number; alpha: number };
    global_envelope_theo_nrank2: { half_width: number; alpha: number };
    erl_p: number;
  };
}
const stored: Stored = JSON.parse(
  readFileSync(new URL('../reference/gpl/montecarlo_redwood.json', import.meta.url), 'utf8'),
);
const set: CurveSet = {
  places: Float64Array.from(stored.input.r),
  observed: Float64Array.from(stored.expected.L_obs),
  simulated: Float64Array.from(stored.input.L_sim.flat()),
};
const { expected } = stored;

test('MAD and DCLF of stored curves, from theory and from the mean of the others', () => {
  const theory = deviationTests(set, set.places, 0.05);
  near(theory?.mad.statistic, expected.mad_theo, { relative: 1e-12 });
  expect(theory?.mad.p).toBe(expected.mad_theo_p);
  near(theory?.dclf.statistic, expected.dclf_theo, { relative: 1e-12 });
  expect(theory?.dclf.p).toBe(expected.dclf_theo_p);
  const others = deviationTests(set, 'mean_of_others', 0.05);
  near(others?.mad.statistic, expected.mad_loo_mean, { relative: 1e-12 });
  expect(others?.mad.p).toBe(expected.mad_loo_mean_p);
  near(others?.dclf.statistic, expected.dclf_loo_mean, { relative: 1e-12 });
  expect(others?.dclf.p).toBe(expected.dclf_loo_mean_p);
});

test('global bands of stored curves', () => {
  for (const [level, wanted] of [
    [0.025, expected.global_envelope_theo_nrank1],
    [0.05, expected.global_envelope_theo_nrank2],
  ] as const) {
    const band = deviationTests(set, set.places, level)?.mad.band;
    expect(band?.level).toBe(wanted.alpha);
    near((band?.high[7] ?? 0) - set.places[7], wanted.half_width, { relative: 1e-12 });
    near(set.places[7] - (band?.low[7] ?? 0), wanted.half_width, { relative: 1e-12 });
    expect(band?.low[0]).toBeNaN();
  }
});

test('extreme rank length and pointwise band of stored curves', () => {
  expect(extremeRankLength(set, 0.05)?.p).toBe(expected.erl_p);
  const band = pointwiseBand(set.simulated, set.places.length, 1);
  allNear(band.low, expected.pointwise_lo, { absolute: 1e-15 });
  allNear(band.high, expected.pointwise_hi, { absolute: 1e-15 });
});

/** Curves that wander: sums of normal steps. */
function wandering(seed: number, m: number): CurveSet {
  const k = 12;
  const random = randomStream(seed, 0);
  const curve = () => {
    let sum = 0;
    return Array.from({ length: k }, () => {
      sum += normalPair(random)[0];
      return sum;
    });
  };
  return {
    places: Float64Array.from({ length: k }, (_, i) => i / 10),
    observed: Float64Array.from(curve()),
    simulated: Float64Array.from(Array.from({ length: m }, curve).flat()),
  };
}

test('the observed curve leaves a band exactly when its test says so', () => {
  let outside = 0;
  for (let seed = 0; seed < 300; seed++) {
    const one = wandering(seed, 59);
    const deviations = deviationTests(one, 'mean_of_others', 0.05);
    const ranks = extremeRankLength(one, 0.05);
    if (!deviations?.mad.band || !ranks?.band) throw new Error('59 simulations make a band');
    expect(firstOutside(one.places, one.observed, deviations.mad.band) !== null).toBe(deviations.mad.p <= 0.05);
    expect(firstOutside(one.places, one.observed, ranks.band) !== null).toBe(ranks.p <= 0.05);
    if (ranks.p <= 0.05) outside++;
  }
  expect(outside).toBeGreaterThan(0);
});

test('among curves of one kind the tests reject as often as they say', () => {
  const rounds = 1500;
  const rejected = { mad: 0, dclf: 0, ranks: 0 };
  for (let seed = 0; seed < rounds; seed++) {
    const one = wandering(10_000 + seed, 19);
    const deviations = deviationTests(one, 'mean_of_others', 0.1);
    if ((deviations?.mad.p ?? 1) <= 0.1) rejected.mad++;
    if ((deviations?.dclf.p ?? 1) <= 0.1) rejected.dclf++;
    if ((extremeRankLength(one, 0.1)?.p ?? 1) <= 0.1) rejected.ranks++;
  }
  const slack = 3.3 * Math.sqrt((0.1 * 0.9) / rounds);
  near(rejected.mad / rounds, 0.1, { absolute: slack });
  near(rejected.dclf / rounds, 0.1, { absolute: slack });
  // equal extreme ranks count against significance: never more often, with few simulations a little less
  expect(rejected.ranks / rounds).toBeLessThan(0.1 + slack);
  expect(rejected.ranks / rounds).toBeGreaterThan(0.1 - 2 * slack);
});

test('extreme rank length by comparing every pair of curves', () => {
  for (let seed = 0; seed < 40; seed++) {
    const one = wandering(500 + seed, 23);
    const k = one.places.length;
    const curves = [one.observed, ...Array.from({ length: 23 }, (_, i) => one.simulated.slice(i * k, (i + 1) * k))];
    const ranks = curves.map((curve) =>
      [...curve.keys()]
        .slice(1)
        .map((at) => {
          const below = curves.filter((other) => other[at] < curve[at]).length;
          return Math.min(below + 1, 24 - below);
        })
        .sort((a, b) => a - b),
    );
    const atLeast = ranks.filter((row) => {
      const at = row.findIndex((value, t) => value !== ranks[0][t]);
      return at < 0 || row[at] < ranks[0][at];
    }).length;
    expect(extremeRankLength(one, 0.05)?.p).toBe(atLeast / 24);
  }
});

test('places at 0, or undefined for any curve, are not tested; nothing to test gives null', () => {
  const places = Float64Array.of(0, 1, 2, 3);
  const observed = Float64Array.of(0, 1, Number.NaN, 1);
  const simulated = Float64Array.of(0, 1, 1, 1, 0, 2, 2, Number.NaN);
  const one = { places, observed, simulated };
  expect(testedPlaces(one)).toEqual([1]);
  expect(deviationTests({ ...one, simulated: new Float64Array(0) }, 'mean_of_others', 0.05)).toBeNull();
  expect(extremeRankLength({ ...one, observed: observed.map(() => Number.NaN) }, 0.05)).toBeNull();
  expect(deviationTests(one, 'mean_of_others', 0.05)?.mad.band).toBeNull();
  expect(extremeRankLength(one, 0.05)?.band).toBeNull();
});

test('ties count against significance, also when rounding parts them', () => {
  const places = Float64Array.of(1, 2);
  const observed = Float64Array.of(0.1 + 0.2, 1);
  const simulated = Float64Array.from(Array.from({ length: 19 }, () => [0.3, 1]).flat());
  const one = { places, observed, simulated };
  expect(deviationTests(one, 'mean_of_others', 0.05)?.dclf.p).toBe(1);
  expect(extremeRankLength(one, 0.05)?.p).toBe(1);
  expect(firstOutside(places, observed, { low: Float64Array.of(0.3, 1), high: Float64Array.of(0.3, 1) })).toBeNull();
  expect(firstOutside(places, observed, { low: Float64Array.of(0, 1.5), high: Float64Array.of(1, 2) })).toEqual({
    at: 2,
    side: 'below',
  });
});
