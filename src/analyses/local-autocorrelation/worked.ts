import type { WorkedExample } from '../contract.js';

const columns = 8;
const rows = 6;

/** finds in each square, row by row; the statistics do not change when all counts are multiplied */
const counts = [
  327, 756, 183, 288, 566, 436, 314, 304, 263, 229, 591, 402, 653, 883, 432, 309, 504, 913, 414, 532, 652, 437, 553,
  415, 422, 652, 471, 793, 597, 761, 263, 417, 304, 413, 614, 732, 452, 437, 253, 615, 63, 229, 391, 502, 353, 283, 432,
  309,
];

/** as many finds in the middle of each square as it counts; the reference has its first row anywhere: turning the field changes nothing */
const finds = counts.flatMap((count, i) =>
  Array.from({ length: count }, (): [number, number] => [(i % columns) + 0.5, Math.floor(i / columns) + 0.5]),
);

const field: Pick<WorkedExample, 'xy' | 'window' | 'simulations' | 'tolerance'> = {
  xy: finds,
  window: [
    [
      [
        [0, 0],
        [columns, 0],
        [columns, rows],
        [0, rows],
      ],
    ],
  ],
  simulations: 0,
  tolerance: 1e-11,
};

const rookRows: WorkedExample = {
  ...field,
  source:
    'synthetic counts; numpy 1.24.2 and scipy 1.10.1 from the formulas; spdep 1.2-7, moran.test and geary.test, rook, style "W"',
  parameters: { contiguity: 'rook', weights: 'W', block_m: 1 },
  expected: {
    squares: 48,
    'moran.i': 0.13365582891498523,
    'moran.expected': -0.02127659574468085,
    'moran.z_randomisation': 1.4316920318931985,
    'moran.p_randomisation': 0.15223197779333533,
    'moran.z_normality': 1.4331923335862522,
    'moran.p_normality': 0.1518028799619432,
    'geary.c': 0.8489234322912027,
  },
};

const queenBinary: WorkedExample = {
  ...field,
  source: 'the same; spdep 1.2-7, queen, style "B"',
  parameters: { contiguity: 'queen', weights: 'B', block_m: 1 },
  expected: {
    squares: 48,
    'moran.i': 0.12428477107686878,
    'moran.expected': -0.02127659574468085,
    'moran.z_randomisation': 1.949682666374171,
    'moran.p_randomisation': 0.05121395355575804,
    'moran.z_normality': 1.9516763937816906,
    'moran.p_normality': 0.050976636975313704,
    'geary.c': 0.8852801870915482,
  },
};

export const worked: readonly WorkedExample[] = [rookRows, queenBinary];
