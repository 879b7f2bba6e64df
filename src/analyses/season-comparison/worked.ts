import type { WorkedExample } from '../contract.js';

/** Finds of two seasons in the same twelve squares, four by three, row by row from the south. */
const found = {
  first: [4, 4, 2, 3, 3, 7, 2, 2, 8, 6, 1, 2],
  second: [3, 1, 3, 3, 5, 1, 3, 7, 7, 3, 2, 4],
};

const middle = (square: number) => [(square % 4) + 0.5, Math.floor(square / 4) + 0.5] as const;
const placed = (counts: readonly number[]) =>
  counts.flatMap((n, square) => Array.from({ length: n }, () => middle(square)));

const twelveSquares: WorkedExample = {
  source:
    'invented; Ψ and p over all 4,096 swaps by numpy 1.24.2 from the formula of Syrjala 1996; exact Poisson interval of 42 by R 4.2.2 poisson.test(42, T = 12)',
  xy: [...placed(found.first), ...placed(found.second)],
  seasons: [...placed(found.first).map(() => '2021'), ...placed(found.second).map(() => '2022')],
  window: [
    [
      [
        [0, 0],
        [4, 0],
        [4, 3],
        [0, 3],
      ],
    ],
  ],
  parameters: {},
  expected: {
    n: 86,
    'pairs.0.shared_squares': 12,
    'pairs.0.syrjala.psi': 0.1578727909896741,
    'pairs.0.syrjala.ks': 0.2510822510822511,
    'pairs.0.syrjala.p': 0.58154296875,
    'pairs.0.syrjala.p_ks': 0.40673828125,
    'seasons.1.per_m2': 3.5,
  },
  tolerance: 1e-12,
};

export const worked: readonly WorkedExample[] = [twelveSquares];
