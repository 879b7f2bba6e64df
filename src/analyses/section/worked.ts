import type { WorkedExample } from '../contract.js';

// nodes of an invented grid of 12 × 8 one-metre squares, rows from the south, columns from the west
const top: readonly (readonly number[])[] = [
  [-31.151, -31.194, -31.08, -31.041, -30.98, -30.921, -30.913, -30.845, -30.833, -30.729, -30.768, -30.753, -30.719],
  [-31.259, -31.211, -31.133, -31.043, -30.985, -30.897, -30.873, -30.841, -30.799, -30.812, -30.823, -30.799, -30.758],
  [-31.259, -31.24, -31.162, -31.049, -30.997, -30.909, -30.834, -30.82, -30.832, -30.831, -30.906, -30.822, -30.842],
  [-31.384, -31.274, -31.177, -31.097, -31.004, -30.894, -30.841, -30.798, -30.826, -30.864, -30.865, -30.895, -30.896],
  [-31.395, -31.319, -31.239, -31.138, -31.003, -30.962, -30.843, -30.836, -30.902, -30.904, -30.953, -30.929, -30.975],
  [-31.485, -31.377, -31.272, -31.226, -31.078, -30.966, -30.929, -30.874, -30.953, -30.958, -31.015, -30.976, -30.995],
  [-31.539, -31.494, -31.337, -31.253, -31.147, -31.052, -31.013, -31.019, -31.037, -31.064, -31.04, -31.1, -31.069],
  [-31.604, -31.53, -31.446, -31.394, -31.314, -31.203, -31.128, -31.116, -31.129, -31.151, -31.144, -31.148, -31.106],
  [-31.681, -31.607, -31.547, -31.462, -31.396, -31.285, -31.259, -31.232, -31.29, -31.25, -31.246, -31.205, -31.234],
];

/** The corners of a crooked line over a grid, read bilinearly by another program. */
export const worked: readonly WorkedExample[] = [
  {
    source: 'numpy 1.24.2 on synthetic levels over a one-metre grid: bilinear interpolation at places',
    xy: [],
    window: [],
    levels: top.flatMap((row, y) =>
      row.map((elevation, x) => ({ x, y, surface: 'deposit_top', elevation, sigma: 0.03 })),
    ),
    parameters: {
      line: [
        [0.0, 0.0],
        [12.0, 8.0],
        [2.0, 0.5],
        [0.97, 2.958],
        [7.288, 7.751],
        [4.518, 7.432],
        [9.623, 1.422],
        [2.094, 4.871],
        [10.46, 5.639],
        [6.527, 7.542],
        [10.827, 5.325],
        [5.726, 1.067],
      ],
      step_m: 100,
    },
    expected: {
      'profile.0.elevation_m.deposit_top': -31.151,
      'profile.1.elevation_m.deposit_top': -31.234,
      'profile.2.elevation_m.deposit_top': -31.106499999999997,
      'profile.3.elevation_m.deposit_top': -31.275757340000006,
      'profile.4.elevation_m.deposit_top': -31.21659296,
      'profile.5.elevation_m.deposit_top': -31.291925999999997,
      'profile.6.elevation_m.deposit_top': -30.843696983999997,
      'profile.7.elevation_m.deposit_top': -31.26275207,
      'profile.8.elevation_m.deposit_top': -31.04213506,
      'profile.9.elevation_m.deposit_top': -31.18839349,
      'profile.10.elevation_m.deposit_top': -31.017480725,
      'profile.11.elevation_m.deposit_top': -30.877899258,
    },
    tolerance: 1e-10,
  },
];
