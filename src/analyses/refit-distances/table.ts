import { type Column, codeColumn, type FeatureTable, numberColumn } from '../../domain/feature-table.js';
import type { Sample } from '../../domain/sample.js';
import { bearingOf } from '../../math/circular.js';
import type { AnswerTable } from '../contract.js';
import type { GatheredJoins } from './joined.js';
import type { Distances, Summary } from './schemas.js';

const columns: readonly (readonly [keyof Distances, string, string])[] = [
  ['joins', 'Joins', '1'],
  ['units', 'Units', '1'],
  ['mean_m', 'Mean distance, each unit once', 'm'],
  ['low_m', 'Lower end of 95 %', 'm'],
  ['high_m', 'Upper end of 95 %', 'm'],
  ['median_m', 'Median distance', 'm'],
  ['greatest_m', 'Greatest distance', 'm'],
  ['expected_m', 'Expected when finds trade places', 'm'],
  ['expected_low_m', 'Expected, from', 'm'],
  ['expected_high_m', 'Expected, to', 'm'],
  ['difference_m', 'Mean less expected', 'm'],
  ['p_two_sided', 'p, two-sided', '1'],
  ['p_closer', 'p, closer', '1'],
  ['p_farther', 'p, farther', '1'],
];

/** One row for each class with joins, and one for all joins. */
export function tableOf(summary: Summary): AnswerTable {
  const cells = (row: Distances) => columns.map(([name]) => row[name]);
  return {
    columns: [
      { name: 'artefact_class', title: 'Artefact class' },
      ...columns.map(([name, title, unit]) => ({ name, title, unit })),
      { name: 'p_holm', title: 'p raised for the number of classes', unit: '1' },
    ],
    rows: [
      ...summary.by_class.map((row) => [row.artefact_class ?? 'class unknown', ...cells(row), row.p_holm]),
      ['all joins', ...cells(summary.distances), null],
    ],
  };
}

/** Every join as a line between its two finds. */
export function joinsLayer(sample: Sample, { finds, kind, classCode }: GatheredJoins): FeatureTable {
  const n = finds.a.length;
  const numbers = (of: (k: number) => number | null) => numberColumn(Array.from({ length: n }, (_, k) => of(k)));
  const words = (of: (k: number) => string | null) => codeColumn(Array.from({ length: n }, (_, k) => of(k)));
  const step = (k: number): [number, number] => [
    sample.xy[2 * finds.b[k]] - sample.xy[2 * finds.a[k]],
    sample.xy[2 * finds.b[k] + 1] - sample.xy[2 * finds.a[k] + 1],
  ];
  const coordinates = new Float64Array(4 * n);
  for (let k = 0; k < n; k++) {
    coordinates.set(sample.xy.subarray(2 * finds.a[k], 2 * finds.a[k] + 2), 4 * k);
    coordinates.set(sample.xy.subarray(2 * finds.b[k], 2 * finds.b[k] + 2), 4 * k + 2);
  }
  return {
    name: 'refit-distances',
    length: n,
    fields: [
      { name: 'find_a', title: 'From find', type: 'text' },
      { name: 'find_b', title: 'To find', type: 'text' },
      { name: 'kind', title: 'Kind of join', type: 'text' },
      { name: 'artefact_class', title: 'Artefact class of both', type: 'text' },
      { name: 'pot_vessel', title: 'Pot vessel of both', type: 'text' },
      { name: 'distance_m', title: 'Distance', type: 'number', unit: 'm' },
      { name: 'bearing_deg', title: 'Bearing from site_north, from a to b', type: 'number', unit: 'deg' },
    ],
    columns: new Map<string, Column>([
      ['find_a', words((k) => sample.label[finds.a[k]])],
      ['find_b', words((k) => sample.label[finds.b[k]])],
      ['kind', words((k) => kind[k])],
      ['artefact_class', words((k) => (classCode[k] > 0 ? sample.classes[classCode[k] - 1] : null))],
      [
        'pot_vessel',
        words((k) => {
          const pot = sample.detail.potVessel[finds.a[k]];
          return pot === sample.detail.potVessel[finds.b[k]] ? pot : null;
        }),
      ],
      ['distance_m', numbers((k) => Math.sqrt(step(k)[0] ** 2 + step(k)[1] ** 2))],
      ['bearing_deg', numbers((k) => (step(k)[0] === 0 && step(k)[1] === 0 ? null : bearingOf(...step(k))))],
    ]),
    geometry: {
      type: 'line',
      coordinates,
      partStart: Uint32Array.from({ length: n + 1 }, (_, k) => 2 * k),
      featureStart: Uint32Array.from({ length: n + 1 }, (_, k) => k),
      hole: new Uint8Array(n),
    },
    ids: Float64Array.from({ length: n }, (_, k) => k + 1),
  };
}
