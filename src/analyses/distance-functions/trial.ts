import type { Trial } from '../contract.js';
import { heapedFinds, heapShares } from '../planting.js';
import type { Summary } from './schemas.js';

/** Heaps planted in a random scatter. */
export const trial: Trial = {
  effect: 'share of the finds lying in heaps of five within 0.2 m',
  unit: '1',
  strengths: heapShares,
  plant: heapedFinds,
  probability: (summary) => (summary as Summary).global?.extreme_rank_length.p ?? null,
};
