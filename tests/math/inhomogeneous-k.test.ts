import { expect, test } from 'vitest';
import { circleFraction } from '../../src/math/circle-fraction.js';
import { inhomogeneousK } from '../../src/math/inhomogeneous-k.js';
import { kFunctions } from '../../src/math/k-function.js';
import { radiiOf } from '../../src/math/radii.js';
import { randomStream } from '../../src/math/random.js';
import { regionArea } from '../../src/math/rings.js';
import { setCovariance } from '../../src/math/set-covariance.js';
import { uniformPoints } from '../../src/math/uniform-points.js';
import { trench } from '../support/local-pattern.js';
import { allNear, near } from '../support/near.js';

const xy = new Float64Array(2 * 50);
uniformPoints(trench)(xy, randomStream(1, 0));
const areaM2 = regionArea(trench);
const radii = radiiOf([0, 0.4, 1.1, 2]);
const covariance = setCovariance(trench, 2);
const pattern = { from: xy, to: xy, window: trench, areaM2 };

test('with one density everywhere it is K, but for the last find', () => {
  const density = new Float64Array(50).fill(50 / areaM2);
  const even = inhomogeneousK(pattern, { from: density, to: density }, { radii, covariance });
  const { k } = kFunctions(pattern, { radii, corrections: ['isotropic', 'translation'], covariance });
  allNear(
    even.isotropic,
    (k.isotropic ?? xy).map((v) => (v * 49) / 50),
    { relative: 1e-13 },
  );
  allNear(
    even.translation,
    (k.translation ?? xy).map((v) => (v * 49) / 50),
    { relative: 1e-13 },
  );
});

test('a ten-line twin with a density that slopes', () => {
  const density = Float64Array.from({ length: 50 }, (_, i) => 0.2 + 0.1 * xy[2 * i]);
  const found = inhomogeneousK(pattern, { from: density, to: density }, { radii, covariance });
  const share = circleFraction(trench);
  radii.values.forEach((r, k) => {
    let isotropic = 0;
    let translation = 0;
    for (let i = 0; i < 50; i++) {
      for (let j = 0; j < 50; j++) {
        const [dx, dy] = [xy[2 * j] - xy[2 * i], xy[2 * j + 1] - xy[2 * i + 1]];
        const d = Math.sqrt(dx * dx + dy * dy);
        if (i === j || d > r) continue;
        isotropic += 1 / (areaM2 * share(xy[2 * i], xy[2 * i + 1], d) * density[i] * density[j]);
        translation += 1 / (covariance(dx, dy) * density[i] * density[j]);
      }
    }
    near(found.isotropic[k], isotropic, { relative: 1e-12 });
    near(found.translation[k], translation, { relative: 1e-12 });
  });
});

test('a pair without density at an end leaves the rest undefined', () => {
  const density = new Float64Array(50).fill(0);
  const found = inhomogeneousK(pattern, { from: density, to: density }, { radii, covariance });
  expect(found.translation[0]).toBe(0);
  expect(found.translation[3]).toBeNaN();
  const none = new Float64Array(0);
  const empty = inhomogeneousK({ ...pattern, from: none, to: none }, { from: none, to: none }, { radii, covariance });
  expect([...empty.isotropic].every(Number.isNaN)).toBe(true);
});
