import type { WorkedExample } from '../contract.js';

const program = 'numpy 1.24.2 and scipy 1.10.1 from the formulas, fastenings of a synthetic site';

/** Fastenings of a synthetic site: centres, spread, ellipse and hull as another program made them. */
export const worked: readonly WorkedExample[] = [
  {
    source: program,
    xy: [
      [7.016, 2.73],
      [1.036, 5.045],
      [7.185, 3.196],
      [3.129, 6.041],
      [1.308, 1.377],
      [6.482, 0.849],
      [1.516, 3.597],
      [1.187, 0.908],
      [11.677, 3.916],
      [3.62, 5.431],
      [1.761, 1.727],
      [2.237, 2.841],
      [6.209, 7.966],
      [9.136, 1.188],
    ],
    window: [
      [
        [
          [0, 0],
          [12, 0],
          [12, 5],
          [7, 5],
          [7, 8],
          [0, 8],
        ],
        [
          [3, 2],
          [5, 2],
          [5, 3],
          [3, 3],
        ],
      ],
    ],
    parameters: {},
    simulations: 0,
    expected: {
      n: 14,
      'mean_centre.0': 4.535642857142856,
      'mean_centre.1': 3.343714285714286,
      'median_centre.0': 3.611321091066992,
      'median_centre.1': 3.34383820557724,
      standard_distance_m: 3.881625580598828,
      'ellipse.bearing_deg': 88.19365469679796,
      'ellipse.semi_major_m': 3.2820762100399166,
      'ellipse.semi_minor_m': 2.0724364645144617,
      hull_area_m2: 51.8494995,
    },
    // the median centre lies where the sum of distances is flat
    tolerance: 1e-7,
  },
];
