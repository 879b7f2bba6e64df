import { type Column, codeColumn, type FeatureTable, numberColumn, textColumn } from '../../domain/feature-table.js';
import type { Sample } from '../../domain/sample.js';
import type { AnswerTable } from '../contract.js';
import type { Summary } from './schemas.js';

/** One row for each class and one for all finds chosen, under the edge correction chosen. */
export function tableOf(summary: Summary): AnswerTable {
  const pooled = { none: summary.clark_evans, donnelly: summary.donnelly, kaplan_meier: null }[summary.edge];
  const { simulated } = summary;
  return {
    columns: [
      { name: 'artefact_class', title: 'Artefact class' },
      { name: 'n', title: 'Finds', unit: '1' },
      { name: 'mean_distance_m', title: 'Mean nearest distance', unit: 'm' },
      { name: 'ratio', title: 'Ratio', unit: '1' },
      { name: 'z', title: 'z', unit: '1' },
      { name: 'p', title: 'p, normal law', unit: '1' },
      { name: 'p_clustered', title: 'p clustered, simulated', unit: '1' },
      { name: 'p_regular', title: 'p evenly spaced, simulated', unit: '1' },
      { name: 'p_two_sided', title: 'p two-sided, simulated', unit: '1' },
    ],
    rows: [
      ...summary.by_class.map((row) => [
        row.artefact_class ?? 'class unknown',
        row.n,
        row.mean_distance_m,
        row.ratio,
        row.z,
        row.p,
        row.p_clustered,
        row.p_regular,
        row.p_two_sided,
      ]),
      [
        'all finds chosen',
        summary.n,
        summary.mean_distance_m,
        summary.ratio,
        pooled?.z ?? null,
        pooled?.p ?? null,
        simulated?.p_clustered ?? null,
        simulated?.p_regular ?? null,
        simulated?.p_two_sided ?? null,
      ],
    ],
  };
}

/** The finds used, each with the distance to its nearest neighbour among them. */
export function findsLayer(sample: Sample, distances: Float64Array): FeatureTable {
  const n = distances.length;
  const word = (words: readonly string[], code: number) => (code === 0 ? null : words[code - 1]);
  return {
    name: 'nearest-neighbour',
    length: n,
    fields: [
      { name: 'find', title: 'Find', type: 'text', distinct: true },
      { name: 'artefact_class', title: 'Artefact class', type: 'text' },
      { name: 'season', title: 'Season', type: 'text' },
      { name: 'nearest_distance_m', title: 'Distance to the nearest other find', type: 'number', unit: 'm' },
    ],
    columns: new Map<string, Column>([
      ['find', textColumn(sample.label)],
      ['artefact_class', codeColumn(Array.from(sample.classCode, (code) => word(sample.classes, code)))],
      ['season', codeColumn(Array.from(sample.seasonCode, (code) => word(sample.seasons, code)))],
      ['nearest_distance_m', numberColumn(Array.from(distances, (d) => (d < Infinity ? d : null)))],
    ]),
    geometry: { type: 'point', coordinates: sample.xy.slice() },
    ids: Float64Array.from({ length: n }, (_, i) => i + 1),
  };
}
