import type { WorkedExample } from '../contract.js';

/** Fourteen sherds with eight joins that make five groups, numbers made by another program. */
export const worked: readonly WorkedExample[] = [
  {
    source: 'numpy 2.4.6 on synthetic sherds',
    xy: [
      [3.7, 1.2],
      [3.32, 1.25],
      [1.46, 3.66],
      [1.56, 1.6],
      [5.22, 1.67],
      [4.94, 0.48],
      [2.86, 1.46],
      [5.62, 0.86],
      [1.23, 1.74],
      [3.62, 0.01],
      [2.03, 3.4],
      [5.84, 0.07],
      [5.0, 3.72],
      [4.46, 3.02],
    ],
    joins: [
      [0, 1],
      [1, 2],
      [3, 4],
      [5, 6],
      [6, 7],
      [5, 7],
      [8, 9],
      [10, 11],
    ],
    window: [
      [
        [
          [0, 0],
          [6, 0],
          [6, 4],
          [0, 4],
        ],
      ],
    ],
    parameters: {},
    simulations: 0,
    expected: {
      n: 14,
      'distances.joins': 8,
      'distances.units': 5,
      'distances.mean_m': 3.070518949430197,
      'distances.median_m': 2.8874441247059717,
      'distances.greatest_m': 5.0601383380299,
      'bearings.rbar': 0.6832305073856049,
      'bearings.mean_deg': 109.65956362027984,
    },
    // distances are summed in whole steps of a thousandth of a millimetre
    tolerance: 1e-6,
  },
];
