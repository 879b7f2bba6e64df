import type { WorkedExample } from '../contract.js';

const pairs = (flat: readonly number[]): [number, number][] =>
  Array.from({ length: flat.length / 2 }, (_, i) => [flat[2 * i], flat[2 * i + 1]]);

const xy = pairs([
  6.517, 2.167, 2.579, 6.553, 1.676, 6.299, 7.521, 2.8, 0.885, 6.345, 7.964, 2.878, 3.084, 4.865, 7.917, 3.322, 7.365,
  2.517, 2.748, 4.155, 7.362, 1.781, 7.696, 2.847, 8.023, 3.371, 1.783, 5.878, 1.485, 5.474, 9.126, 3.058, 7.747, 2.558,
  7.508, 2.756, 2.27, 6.591, 0.501, 4.447, 7.698, 3.754, 8.301, 0.221, 6.509, 2.312, 7.611, 3.146, 3.73, 7.711, 11.488,
  3.188, 8.38, 2.263, 9.028, 0.519, 0.646, 0.081, 9.371, 3.776, 2.378, 5.279, 1.66, 5.83, 2.349, 5.249, 8.295, 3.094,
  8.246, 1.358, 3.909, 3.339, 8.655, 2.613, 1.048, 6.456, 8.339, 2.499, 9.009, 1.947, 1.551, 5.893, 8.545, 2.148, 7.7,
  2.517, 7.977, 4.085, 7.386, 1.796, 8.111, 2.337, 8.296, 3.847, 8.635, 0.861, 9.844, 4.741, 11.391, 2.61, 9.848, 2.808,
  9.235, 2.17, 10.536, 4.522, 10.606, 1.876, 10.605, 3.158, 0.789, 7.084, 7.83, 4.113, 9.414, 0.715, 8.769, 3.648,
  1.633, 4.553, 10.219, 3.635, 3.083, 4.468, 9.435, 3.508, 9.613, 2.872, 7.659, 3.404, 11.183, 2.81, 10.567, 3.437,
  6.576, 5.048, 8.728, 2.285, 10.746, 4.556, 10.934, 2.975, 6.101, 2.896, 8.106, 3.287, 10.965, 2.908, 7.577, 3.343,
  9.764, 4.754, 7.956, 2.658, 11.304, 2.976, 2.563, 4.371, 1.043, 5.489, 9.732, 2.564, 11.555, 4.479, 7.016, 2.73,
  1.036, 5.045, 7.185, 3.196, 3.129, 6.041, 1.308, 1.377, 6.482, 0.849, 1.516, 3.597, 1.187, 0.908, 11.677, 3.916, 3.62,
  5.431, 1.761, 1.727, 2.237, 2.841, 6.209, 7.966, 9.136, 1.188,
]);
const window: WorkedExample['window'] = [
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
];

/** K, L and pair correlation of 96 invented finds in an L-shaped excavation with an undug square in it. */
const pairDistances: WorkedExample = {
  source:
    'invented pattern; values by an independent program on numpy 1.24.2, scipy 1.10.1 and shapely 1.8.5; none and isotropic also by spatstat.explore 3.0-6, Kest(X)',
  xy,
  window,
  parameters: { r: [0.2731140625, 0.7100965625, 1.3655703125] },
  simulations: 0,
  expected: {
    n: 96,
    window_area_m2: 79,
    'K.none.0': 0.5717105263157894,
    'K.border.0': 0.5787545787545787,
    'K.isotropic.0': 0.5717105263157894,
    'K.translation.0': 0.5900619734553719,
    'L.border.0': 0.429212423039825,
    'L.isotropic.0': 0.4265924431605112,
    'L.translation.0': 0.4333850016001504,
    'pcf.isotropic.0': 2.726301797544317,
    'pcf.translation.0': 2.8766056283550276,
    'K.none.1': 3.690131578947368,
    'K.border.1': 4.1875,
    'K.isotropic.1': 3.706801590651302,
    'K.translation.1': 4.020726377991679,
    'L.border.1': 1.1545226928885475,
    'L.isotropic.1': 1.0862373554735218,
    'L.translation.1': 1.1312987915465553,
    'pcf.isotropic.1': 2.2534730160270326,
    'pcf.translation.1': 2.524164120777973,
    'K.none.2': 11.97127192982456,
    'K.border.2': 15.945951257861635,
    'K.isotropic.2': 12.506785457458767,
    'K.translation.2': 14.190595295356916,
    'L.border.2': 2.2529433925383504,
    'L.isotropic.2': 1.9952527297284393,
    'L.translation.2': 2.1253250982720964,
    'pcf.isotropic.2': 1.6650909282490065,
    'pcf.translation.2': 1.9321578642380357,
    pcf_half_width_m: 0.13607213160673276,
  },
  tolerance: 1e-9,
};

/** G, F and J of the same finds. */
const nearestDistances: WorkedExample = {
  source:
    'invented pattern; values by an independent program on numpy 1.24.2 and scipy 1.10.1, test places at the centres of a 64 × 64 division',
  xy,
  window,
  parameters: { r: [0.225695625, 0.4137753125] },
  simulations: 0,
  expected: {
    'F.test_places': 3360,
    'G.raw.0': 0.375,
    'G.reduced_sample.0': 0.3870967741935484,
    'G.kaplan_meier.0': 0.3820671189622803,
    'F.raw.0': 0.15625,
    'F.reduced_sample.0': 0.17197670435080506,
    'F.kaplan_meier.0': 0.16687020279334175,
    'J.0': 0.7417006126890948,
    'G.raw.1': 0.6666666666666666,
    'G.reduced_sample.1': 0.7045454545454546,
    'G.kaplan_meier.1': 0.6938296740898002,
    'F.raw.1': 0.36964285714285716,
    'F.reduced_sample.1': 0.4191092500951656,
    'F.kaplan_meier.1': 0.4060541059351601,
    'J.1': 0.515485213332876,
  },
  tolerance: 1e-12,
};

export const worked: readonly WorkedExample[] = [pairDistances, nearestDistances];
