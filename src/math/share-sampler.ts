import type { RandomStream } from './random.js';

/**
 * Draws numbers 0 to m − 1, each as often as its share: a find dropped at random on dug ground falls into a square in
 * proportion to the ground dug there. One random number a draw; only + − × ÷, so that equal streams draw the same.
 *
 * @param shares  [m] not negative, at least one above 0; left untouched
 */
export function shareSampler(shares: ArrayLike<number>): (random: RandomStream) => number {
  const m = shares.length;
  const upTo = new Float64Array(m);
  let sum = 0;
  let last = 0;
  for (let k = 0; k < m; k++) {
    sum += shares[k];
    upTo[k] = sum;
    if (shares[k] > 0) last = k;
  }
  // where to start looking, for each of 2m equal steps of the whole
  const guide = new Uint32Array(2 * m);
  for (let g = 1; g < guide.length; g++) {
    let k = guide[g - 1];
    while (k < last && upTo[k] <= (g / guide.length) * sum) k++;
    guide[g] = k;
  }
  return (random) => {
    const pick = random.next();
    const at = pick * sum;
    let k = guide[Math.floor(pick * guide.length)];
    while (k > 0 && upTo[k - 1] > at) k--;
    while (k < last && upTo[k] <= at) k++;
    return k;
  };
}
