import { denominatorSide, numeratorSide } from '../../math/density-ratio.js';
import type { Sides } from './sides.js';

/** ln of the ratio of both weights on the ground compared: what both densities are held against. */
export function overallLevel({ side, weight, onShared }: Sides): number {
  const sum = (bit: number) =>
    side.reduce((total, s, i) => total + ((s & bit) !== 0 && onShared[i] === 1 ? weight[i] : 0), 0);
  return Math.log(sum(numeratorSide) / sum(denominatorSide));
}
