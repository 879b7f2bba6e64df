import { type Column, codeColumn, type FeatureTable, numberColumn, textColumn } from '../../domain/feature-table.js';
import type { Sample } from '../../domain/sample.js';
import type { SeenDistances } from '../../math/distance-estimators.js';
import type { AnswerTable } from '../contract.js';
import type { Ground } from './ground.js';
import type { Summary } from './schemas.js';

/** One row for each radius: every function in its tested or usual form, and the bands of the function tested. */
export function tableOf(summary: Summary): AnswerTable {
  const { K, L, pcf, G, F, J, envelope, global } = summary;
  const edge = summary.edge ?? 'translation';
  const correlation = pcf[edge === 'border' ? 'translation' : edge];
  const band = global?.extreme_rank_length;
  return {
    columns: [
      { name: 'r', title: 'r', unit: 'm' },
      { name: 'k', title: `K, ${edge}`, unit: 'm2' },
      { name: 'l', title: `L, ${edge}`, unit: 'm' },
      { name: 'l_minus_r', title: 'L − r', unit: 'm' },
      { name: 'pcf', title: `Pair correlation, ${edge === 'border' ? 'translation' : edge}`, unit: '1' },
      { name: 'g', title: 'G, Kaplan–Meier', unit: '1' },
      { name: 'f', title: 'F, Kaplan–Meier', unit: '1' },
      { name: 'j', title: 'J', unit: '1' },
      { name: 'tested', title: `${summary.function}, as tested` },
      { name: 'mean', title: 'Mean of simulations' },
      { name: 'pointwise_low', title: 'Pointwise band from (ONE r only)' },
      { name: 'pointwise_high', title: 'Pointwise band to (ONE r only)' },
      { name: 'global_low', title: 'Global band from' },
      { name: 'global_high', title: 'Global band to' },
    ],
    rows: summary.r.map((r, k) => {
      const l = L[edge][k];
      return [
        r,
        K[edge][k],
        l,
        l === null ? null : l - r,
        correlation[k],
        G.kaplan_meier[k],
        F.kaplan_meier[k],
        J[k],
        envelope?.observed[k] ?? null,
        envelope?.mean[k] ?? null,
        envelope?.low[k] ?? null,
        envelope?.high[k] ?? null,
        band?.low[k] ?? null,
        band?.high[k] ?? null,
      ];
    }),
  };
}

/** The finds looked from, each with the distance to the nearest find looked for and to the edge of the window. */
export function findsLayer(sample: Sample, ground: Ground, nearest: SeenDistances): FeatureTable {
  const members = ground.fromMembers;
  const word = (words: readonly string[], code: number) => (code === 0 ? null : words[code - 1]);
  const coordinates = Float64Array.from(members.flatMap((i) => [sample.xy[2 * i], sample.xy[2 * i + 1]]));
  return {
    name: 'distance-functions',
    length: members.length,
    fields: [
      { name: 'find', title: 'Find', type: 'text', distinct: true },
      { name: 'artefact_class', title: 'Artefact class', type: 'text' },
      { name: 'season', title: 'Season', type: 'text' },
      {
        name: 'nearest_distance_m',
        title: ground.isCross
          ? 'Distance to the nearest find of the second type'
          : 'Distance to the nearest other find',
        type: 'number',
        unit: 'm',
      },
      { name: 'edge_distance_m', title: 'Distance to the edge of the window', type: 'number', unit: 'm' },
    ],
    columns: new Map<string, Column>([
      ['find', textColumn(members.map((i) => sample.label[i]))],
      ['artefact_class', codeColumn(members.map((i) => word(sample.classes, sample.classCode[i])))],
      ['season', codeColumn(members.map((i) => word(sample.seasons, sample.seasonCode[i])))],
      ['nearest_distance_m', numberColumn(Array.from(nearest.distances, (d) => (d < Infinity ? d : null)))],
      ['edge_distance_m', numberColumn(Array.from(nearest.boundaries))],
    ]),
    geometry: { type: 'point', coordinates },
    ids: Float64Array.from({ length: members.length }, (_, i) => i + 1),
  };
}
