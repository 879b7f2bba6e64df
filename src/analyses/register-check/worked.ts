import type { WorkedExample } from '../contract.js';

// 30 invented places, half of their coordinates rounded to the half metre
const places: readonly (readonly [number, number])[] = [
  [5.5, 0.917],
  [1.5, 0.342],
  [1.5, 1.204],
  [1.0, 3.218],
  [1.091, 1.5],
  [0.077, 1.117],
  [2.456, 1.611],
  [1.0, 0.5],
  [1.5, 0.5],
  [4.5, 2.511],
  [2.5, 2.5],
  [3.5, 2.37],
  [2.0, 3.442],
  [4.5, 0.5],
  [4.372, 3.11],
  [2.0, 3.5],
  [5.0, 2.5],
  [0.5, 2.684],
  [2.48, 0.983],
  [2.0, 1.166],
  [2.0, 0.592],
  [4.0, 1.482],
  [2.0, 3.5],
  [5.084, 2.5],
  [1.439, 3.384],
  [3.064, 3.2],
  [3.16, 3.482],
  [5.0, 2.5],
  [1.5, 1.703],
  [2.5, 2.5],
];

const nodes = Array.from({ length: 35 }, (_, i) => ({ x: i % 7, y: Math.floor(i / 7) }));

/** Heaped offsets by another program's binomial law, and one inverted node by hand. */
export const worked: readonly WorkedExample[] = [
  {
    source: 'scipy 1.17.1, binom.sf(31, 60, 0.02), on invented places; one top written 0.25 m below its bottom',
    xy: places,
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
    levels: nodes.flatMap(({ x, y }) => [
      { x, y, surface: 'deposit_top', elevation: x === 3 && y === 2 ? -0.75 : -0.25, sigma: 0.02 },
      { x, y, surface: 'deposit_bottom', elevation: -0.5, sigma: 0.02 },
    ]),
    parameters: {},
    expected: {
      'heaping.0.offsets': 60,
      'heaping.0.on_half_metres': 32,
      'heaping.0.expected': 1.2,
      'heaping.0.p_binomial': 2.574718601325559e-38,
      'inverted_nodes.0.thickness_m': -0.25,
      squares: 24,
    },
    tolerance: 1e-9,
  },
];
