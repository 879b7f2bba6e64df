import { describe, expect, test } from 'vitest';
import type { DugArea, Sample } from '../../src/domain/sample.js';
import { unknownDetail } from '../../src/domain/sample-detail.js';
import { randomStream } from '../../src/math/random.js';
import { regionArea } from '../../src/math/rings.js';
import { rectangle } from '../support/kernel-reference.js';
import { near, uniformScatter } from '../support/near.js';
import { cellsWhereNumber } from '../support/raster-cells.js';
import { jars, nails, namedFinds, pairs, ratioWindow, runRatio } from '../support/ratio-samples.js';
import { sampleOf } from '../support/sample-of.js';

describe('groups', () => {
  test('sherds of one pot keep together: a scatter of few pots is no pattern', () => {
    // each pot a heap of five sherds of one class: as single finds that is a contrast everywhere
    const random = randomStream(8, 0);
    const spots = Array.from({ length: 24 }, () => [0.3 + 9.4 * random.next(), 0.3 + 5.4 * random.next()]);
    const finds = spots.flatMap(([x, y], pot) =>
      Array.from(
        { length: 5 },
        (_, k) => [pot % 2 === 0 ? 'red' : 'grey', [x + 0.05 * k, y - 0.05 * k] as const] as const,
      ),
    );
    const loose = namedFinds(finds, ratioWindow);
    const potted: Sample = {
      ...loose,
      detail: { ...unknownDetail(120), potVessel: finds.map((_, i) => `P${Math.floor(i / 5)}`) },
    };
    const ask = { numerator: 'red', denominator: 'grey', bandwidth: 0.5 };
    const [single, whole] = [runRatio(loose, ask, 199).summary, runRatio(potted, ask, 199).summary];
    expect(single.global?.p).toBe(0.005);
    expect(whole.global?.p).toBeGreaterThan(0.05);
    expect(whole.global?.statistic_m2).toBe(single.global?.statistic_m2);
    expect(whole.labelling).toEqual({ units: 24, grouped: 120, fixed: 0 });
    const children: Sample = {
      ...loose,
      detail: { ...unknownDetail(120), concretion: finds.map((_, i) => `C${Math.floor(i / 5)}`) },
    };
    expect(runRatio(children, ask, 199).summary.global?.p).toBe(whole.global?.p);
  });

  test('groups that find no other of their size: nothing is tested, and the answer says so', () => {
    const finds = [...jars.slice(0, 10).map((p) => ['jar', p] as const), ...nails.map((p) => ['nail', p] as const)];
    const sample = namedFinds(finds, ratioWindow);
    const potVessel = finds.map(([name]) => (name === 'jar' ? 'P1' : 'P2'));
    const { summary, cautions } = runRatio(
      { ...sample, detail: { ...unknownDetail(100), potVessel } },
      { numerator: 'jar' },
    );
    expect(summary.global).toBeNull();
    expect(summary.reading).toMatch(/^No test was made because no dealing changes the names/);
    expect(cautions.join(' ')).toMatch(/100 of 100 finds keep their name/);
  });
});

describe('seasons', () => {
  const dug = (season: string, box: [number, number, number, number], dugFraction = 1): DugArea => ({
    season,
    progress: 'to_deposit_bottom',
    region: rectangle(box),
    areaM2: regionArea(rectangle(box)),
    dugFraction,
    meshMm: null,
    tool: null,
  });
  const scatter = (n: number, seed: number, west: number) =>
    pairs(uniformScatter({ n, seed, width: 6, height: 6 }).map((v, k) => v + (k % 2 === 0 ? west : 0)));
  const first = scatter(80, 21, 0);
  const second = scatter(120, 22, 4);
  const sample = sampleOf([...first, ...second, [9.5, 1]], ratioWindow, {
    seasons: ['S1', 'S2'],
    seasonCode: Uint32Array.from({ length: 201 }, (_, i) => (i < 80 || i === 200 ? 1 : 2)),
    dug: [dug('S1', [0, 0, 6, 6]), dug('S2', [4, 0, 10, 6], 0.5)],
  });

  test('each in its own dug window, compared only where both dug, names dealt there alone', () => {
    const { summary, coverage, cautions, methods } = runRatio(sample, { by: 'season' }, 199);
    expect([summary.numerator, summary.denominator]).toEqual(['S2', 'S1']);
    near(summary.shared_area_m2, 12, { relative: 1e-12 });
    const inBoth = (list: (readonly [number, number])[]) => list.filter(([x]) => x >= 4 && x <= 6).length;
    expect([summary.n_numerator, summary.n_denominator]).toEqual([120, 80]);
    expect([summary.n_numerator_shared, summary.n_denominator_shared]).toEqual([inBoth(second), inBoth(first)]);
    expect(summary.labelling.fixed).toBe(200 - inBoth(second) - inBoth(first));
    expect(summary.outside_own_ground).toBe(1);
    expect(cellsWhereNumber(coverage).every(({ x }) => x > 4 && x < 6)).toBe(true);
    near(summary.overall_ratio, inBoth(second) / inBoth(first), { relative: 1e-12 });
    expect(summary.global?.p).toBeGreaterThan(0.05);
    expect(cautions.join(' ')).toMatch(/1 finds lie outside the ground their own season dug/);
    expect(cautions.join(' ')).toMatch(/dug in part only/);
    expect(methods).toMatch(/only on the ground both dug/);
  });

  test('no shared ground is refused; plain files stand on the whole window with a word', () => {
    const apart = { ...sample, dug: [dug('S1', [0, 0, 5, 6]), dug('S2', [5, 0, 10, 6])] };
    expect(() => runRatio(apart, { by: 'season' })).toThrow(/S2 and S1 share no dug ground/);
    const plain = { ...sample, dug: [dug('', [0, 0, 10, 6])] };
    const { summary, cautions } = runRatio(plain, { by: 'season', numerator: 'S1' }, 0);
    expect([summary.numerator, summary.denominator, summary.shared_area_m2]).toEqual(['S1', 'S2', 60]);
    expect(cautions.join(' ')).toMatch(/does not say which season dug what/);
    expect(() => runRatio(sample, { by: 'season', numerator: 'S9' })).toThrow(/season "S9" is not known here/);
  });
});
