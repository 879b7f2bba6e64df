import { expect, test } from 'vitest';
import { randomStream } from '../../src/math/random.js';
import { shareLarger } from '../../src/math/share-larger.js';
import { mannWhitney } from '../../src/math/two-samples.js';
import { near } from '../support/near.js';

test('share of larger pairs, weighted, beside its slow twin; unweighted it is U over all pairs', () => {
  for (let seed = 0; seed < 50; seed++) {
    const random = randomStream(seed, 21);
    const list = () => Array.from({ length: 2 + random.below(12) }, () => random.below(9));
    const [a, b] = [list(), list()];
    const weight = [...a, ...b].map(() => random.below(4));
    let [larger, pairs] = [0, 0];
    a.forEach((x, i) => {
      b.forEach((y, j) => {
        const w = weight[i] * weight[a.length + j];
        pairs += w;
        larger += w * (x > y ? 1 : x === y ? 0.5 : 0);
      });
    });
    const share = shareLarger(a, b);
    if (pairs > 0) near(share(weight), larger / pairs, { absolute: 1e-12 });
    else expect(share(weight)).toBeNaN();
    near(share(), mannWhitney(a, b)?.shareLarger ?? share(), { absolute: 1e-12 });
  }
});
