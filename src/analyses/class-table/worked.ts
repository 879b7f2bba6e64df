import type { WorkedExample } from '../contract.js';

/** Ten finds on a strip of four squares, one of them empty; the numbers can be checked by hand and in printed tables. */
const strip: WorkedExample = {
  source: 'invented; exact Poisson interval of 10: 4.795389 to 18.390356, as printed in tables after Garwood 1936',
  xy: [
    [0.2, 0.3],
    [0.4, 0.4],
    [0.6, 0.1],
    [0.7, 0.9],
    [0.9, 0.5],
    [1.2, 0.3],
    [1.5, 0.5],
    [1.8, 0.7],
    [3.1, 0.2],
    [3.6, 0.8],
  ],
  window: [
    [
      [
        [0, 0],
        [4, 0],
        [4, 1],
        [0, 1],
      ],
    ],
  ],
  parameters: {},
  expected: {
    n: 10,
    squares: 4,
    squares_without_finds: 1,
    dug_m2: 4,
    per_m2: 2.5,
    per_m2_low: 1.19884725,
    per_m2_high: 4.597589,
    'by_season.0.dispersion': 26 / 15,
  },
  tolerance: 1e-6,
};

export const worked: readonly WorkedExample[] = [strip];
