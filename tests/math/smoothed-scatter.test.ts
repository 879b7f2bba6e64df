import { expect, test } from 'vitest';
import { kernelIntensity } from '../../src/math/kernels.js';
import { randomStream } from '../../src/math/random.js';
import { insideEvenOdd } from '../../src/math/rings.js';
import { normalPair, smoothedScatter } from '../../src/math/smoothed-scatter.js';
import { trench } from '../support/local-pattern.js';
import { near } from '../support/near.js';

test('normal numbers have mean 0, variance 1, fourth moment 3, and their pairs are uncorrelated', () => {
  const random = randomStream(5, 0);
  const n = 40_000;
  const sums = [0, 0, 0, 0];
  for (let i = 0; i < n; i++) {
    const [u, v] = normalPair(random);
    sums[0] += u;
    sums[1] += u * u;
    sums[2] += u ** 4;
    sums[3] += u * v;
  }
  near(sums[0] / n, 0, { absolute: 4 / Math.sqrt(n) });
  near(sums[1] / n, 1, { absolute: 4 * Math.sqrt(2 / n) });
  near(sums[2] / n, 3, { absolute: 4 * Math.sqrt(96 / n) });
  near(sums[3] / n, 0, { absolute: 4 / Math.sqrt(n) });
});

test('points stay in the window and follow the kernel density with edge correction at each find', () => {
  const finds = Float64Array.of(0.3, 0.3, 6, 1, 6.8, 4.9, 2, 7);
  const sigmaM = 0.8;
  const n = 20_000;
  const xy = new Float64Array(2 * n);
  smoothedScatter(finds, trench, sigmaM)(xy, randomStream(2, 0));
  let west = 0;
  let inHollow = 0;
  for (let i = 0; i < xy.length; i += 2) {
    if (!insideEvenOdd(trench, xy[i], xy[i + 1])) expect.fail(`${xy[i]}, ${xy[i + 1]} lies outside`);
    if (xy[i] < 3) west++;
    if (xy[i] > 6 && xy[i] < 7 && xy[i + 1] > 4 && xy[i + 1] < 6) inHollow++;
  }
  const side = 0.02;
  const share = (inside: (x: number, y: number) => boolean) => {
    const places: number[] = [];
    for (let x = side / 2; x < 12; x += side) {
      for (let y = side / 2; y < 8; y += side) if (inside(x, y) && insideEvenOdd(trench, x, y)) places.push(x, y);
    }
    const density = kernelIntensity(
      { xy: finds, weight: new Float64Array(4).fill(1), window: trench, sigmaM, edge: 'jones-diggle' },
      Float64Array.from(places),
    );
    return (density.reduce((sum, v) => sum + v, 0) * side * side) / 4;
  };
  const expectedWest = share((x) => x < 3);
  const expectedHollow = share((x, y) => x > 6 && x < 7 && y > 4 && y < 6);
  near(west / n, expectedWest, { absolute: 4 * Math.sqrt((expectedWest * (1 - expectedWest)) / n) + 1e-3 });
  near(inHollow / n, expectedHollow, { absolute: 4 * Math.sqrt(expectedHollow / n) + 1e-3 });
});

test('a kernel far wider than the window is refused with what would help', () => {
  const draw = smoothedScatter(Float64Array.of(1, 1), trench, 1e6);
  expect(() => draw(new Float64Array(2), randomStream(1, 0))).toThrow(/ask for a smaller one/);
});
