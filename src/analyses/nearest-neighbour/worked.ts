import type { WorkedExample } from '../contract.js';

const pairs = (flat: readonly number[]): [number, number][] =>
  Array.from({ length: flat.length / 2 }, (_, i) => [flat[2 * i], flat[2 * i + 1]]);

/** An invented L-shaped excavation with an undug square in it, 96 finds of three classes. */
const lShape: WorkedExample = {
  source:
    'invented pattern; values by an independent program on numpy 1.24.2 and scipy 1.10.1; the plain ratio also by spatstat.explore 3.0-6, clarkevans(X, correction = "none")',
  xy: pairs([
    6.517, 2.167, 2.579, 6.553, 1.676, 6.299, 7.521, 2.8, 0.885, 6.345, 7.964, 2.878, 3.084, 4.865, 7.917, 3.322, 7.365,
    2.517, 2.748, 4.155, 7.362, 1.781, 7.696, 2.847, 8.023, 3.371, 1.783, 5.878, 1.485, 5.474, 9.126, 3.058, 7.747,
    2.558, 7.508, 2.756, 2.27, 6.591, 0.501, 4.447, 7.698, 3.754, 8.301, 0.221, 6.509, 2.312, 7.611, 3.146, 3.73, 7.711,
    11.488, 3.188, 8.38, 2.263, 9.028, 0.519, 0.646, 0.081, 9.371, 3.776, 2.378, 5.279, 1.66, 5.83, 2.349, 5.249, 8.295,
    3.094, 8.246, 1.358, 3.909, 3.339, 8.655, 2.613, 1.048, 6.456, 8.339, 2.499, 9.009, 1.947, 1.551, 5.893, 8.545,
    2.148, 7.7, 2.517, 7.977, 4.085, 7.386, 1.796, 8.111, 2.337, 8.296, 3.847, 8.635, 0.861, 9.844, 4.741, 11.391, 2.61,
    9.848, 2.808, 9.235, 2.17, 10.536, 4.522, 10.606, 1.876, 10.605, 3.158, 0.789, 7.084, 7.83, 4.113, 9.414, 0.715,
    8.769, 3.648, 1.633, 4.553, 10.219, 3.635, 3.083, 4.468, 9.435, 3.508, 9.613, 2.872, 7.659, 3.404, 11.183, 2.81,
    10.567, 3.437, 6.576, 5.048, 8.728, 2.285, 10.746, 4.556, 10.934, 2.975, 6.101, 2.896, 8.106, 3.287, 10.965, 2.908,
    7.577, 3.343, 9.764, 4.754, 7.956, 2.658, 11.304, 2.976, 2.563, 4.371, 1.043, 5.489, 9.732, 2.564, 11.555, 4.479,
    7.016, 2.73, 1.036, 5.045, 7.185, 3.196, 3.129, 6.041, 1.308, 1.377, 6.482, 0.849, 1.516, 3.597, 1.187, 0.908,
    11.677, 3.916, 3.62, 5.431, 1.761, 1.727, 2.237, 2.841, 6.209, 7.966, 9.136, 1.188,
  ]),
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
  parameters: { k: 5 },
  simulations: 0,
  expected: {
    n: 96,
    window_area_m2: 79,
    mean_distance_m: 0.4060882363942137,
    expected_distance_m: 0.45357377202244253,
    'clark_evans.ratio': 0.8953080214129329,
    'clark_evans.z': -1.962353515362777,
    'clark_evans.p': 0.049721340719022004,
    'kaplan_meier.ratio': 0.754467403113216,
    'kaplan_meier.mean_distance_m': 0.3422066258980381,
    'kth_mean_distance_m.4': 0.9575956404474488,
    'kth_expected_m.4': 1.1162167045864797,
    coincident: 0,
  },
  tolerance: 1e-10,
};

/** Five finds in a trench of 10 m by 5 m, with Donnelly's correction. */
const trench: WorkedExample = {
  source: 'spatstat.explore 3.0.6, clarkevans(X, correction = "Donnelly")',
  xy: pairs([1, 1, 2, 1, 4, 3, 4.5, 3.5, 8, 4]),
  window: [
    [
      [
        [0, 0],
        [10, 0],
        [10, 5],
        [0, 5],
      ],
    ],
  ],
  parameters: { edge: 'donnelly' },
  simulations: 0,
  expected: { 'donnelly.ratio': 0.6949434636, ratio: 0.6949434636 },
  tolerance: 1e-9,
};

export const worked: readonly WorkedExample[] = [lShape, trench];
