import type { WorkedExample } from '../contract.js';

const columns = 8;

/** finds in each dug square, row by row from the south */
const counts = [
  2, 4, 1, 0, 1, 0, 2, 0, 0, 1, 4, 0, 6, 6, 9, 6, 2, 0, 1, 0, 4, 0, 1, 3, 1, 0, 1, 3, 1, 3, 2, 2, 0, 0, 0, 0, 0, 1, 0,
  1,
];

export const worked: readonly WorkedExample[] = [
  {
    source:
      'invented counts; R 4.2.2: f <- glm(count ~ distance + x + y, family = quasipoisson), predict(f, type = "link", se.fit = TRUE), qnbinom(c(.025, .975), mu =, size = mu^2 / (v - mu)) with v = phi mu + mu^2 (exp(se^2) - 1); the left-out fits likewise',
    xy: counts.flatMap((count, i) =>
      Array.from({ length: count }, (): [number, number] => [(i % columns) + 0.5, Math.floor(i / columns) + 0.5]),
    ),
    window: [
      [
        [
          [0, 0],
          [8, 0],
          [8, 5],
          [0, 5],
        ],
      ],
    ],
    hull: [
      {
        element: 'keelson',
        line: [
          [-30, -8.6],
          [30, 9.4],
        ],
      },
    ],
    grid: { columns: 10, rows: 6 },
    planned: [
      [
        [8, 2],
        [9, 2],
        [9, 4],
        [8, 4],
      ],
    ],
    parameters: { question: 'scatter_limits', trend: 'hull_and_linear' },
    simulations: 0,
    expected: {
      squares_dug: 40,
      'terms.0.estimate': 0.8020014070790534,
      'terms.1.estimate': -0.5918254322314686,
      'terms.2.estimate': 0.15240741841329594,
      'terms.3.estimate': -0.1312349543975605,
      'terms.0.standard_error': 0.444300642761712,
      'terms.1.standard_error': 0.23671453511637053,
      'terms.2.standard_error': 0.07610310320106492,
      'terms.3.standard_error': 0.14889044000699717,
      dispersion: 1.7151715383873156,
      'squares.0.expected': 3.767327438484286,
      'squares.0.expected_high': 11,
      'squares.1.expected': 4.546180353869963,
      'squares.1.expected_high': 12,
      'cross_validation.covered': 39,
    },
    tolerance: 1e-8,
  },
];
