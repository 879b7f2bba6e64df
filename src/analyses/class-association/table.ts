import { tableOf as featureTableOf } from '../../domain/columns.js';
import type { FeatureTable } from '../../domain/feature-table.js';
import type { Sample } from '../../domain/sample.js';
import type { NearestOthers } from '../../math/nearest-others.js';
import type { AnswerTable } from '../contract.js';
import type { Ground } from './ground.js';
import type { Summary } from './schemas.js';

/** One row for each pair of classes, with its distances side by side. */
export function tableOf(summary: Summary): AnswerTable {
  const { dixon } = summary;
  const number = new Map(dixon.classes.map((name, k) => [name, k]));
  const at = (name: string) => number.get(name) ?? 0;
  return {
    columns: [
      { name: 'first', title: 'First class' },
      { name: 'second', title: 'Second class' },
      { name: 'n_first', title: 'Finds of the first', unit: '1' },
      { name: 'n_second', title: 'Finds of the second', unit: '1' },
      { name: 'reading', title: 'Reading' },
      { name: 'strongest_at_m', title: 'Distance of the strongest departure', unit: 'm' },
      { name: 'ratio', title: 'Pairs over those when names are dealt out', unit: '1' },
      { name: 'low', title: 'Lower end of the 95 % interval', unit: '1' },
      { name: 'high', title: 'Upper end of the 95 % interval', unit: '1' },
      { name: 'p', title: 'p', unit: '1' },
      { name: 'p_holm', title: 'p allowing for all pairs (Holm)', unit: '1' },
      { name: 'p_bh', title: 'p by false discovery rate', unit: '1' },
      ...summary.distances_m.map((d, k) => ({
        name: `ratio_${k + 1}`,
        title: `Ratio within ${Number(d.toPrecision(4))} m`,
        unit: '1',
      })),
      { name: 'z_second_beside_first', title: 'Dixon z: second as nearest neighbour of first', unit: '1' },
      { name: 'z_first_beside_second', title: 'Dixon z: first as nearest neighbour of second', unit: '1' },
      { name: 'shared_squares', title: 'Squares that hold both', unit: '1' },
      { name: 'jaccard', title: 'Jaccard', unit: '1' },
      { name: 'jaccard_p_holm', title: 'Its p allowing for all pairs', unit: '1' },
      { name: 'robinson_brainerd', title: 'Robinson–Brainerd', unit: '1' },
      { name: 'robinson_brainerd_p_holm', title: 'Its p allowing for all pairs', unit: '1' },
    ],
    rows: summary.pairs.map((row) => [
      row.first,
      row.second,
      row.n_first,
      row.n_second,
      row.reading,
      row.strongest_at_m,
      row.ratio,
      row.low,
      row.high,
      row.p,
      row.p_holm,
      row.p_bh,
      ...row.at.map((place) => place.ratio),
      dixon.z[at(row.first)][at(row.second)],
      dixon.z[at(row.second)][at(row.first)],
      row.shared_squares,
      row.jaccard.value,
      row.jaccard.p_holm,
      row.robinson_brainerd.value,
      row.robinson_brainerd.p_holm,
    ]),
  };
}

/** Every find with its class and its nearest neighbour. */
export function findsLayer(sample: Sample, ground: Ground, nearest: NearestOthers): FeatureTable {
  const { members, classes, label } = ground;
  return featureTableOf({
    name: 'class-association',
    fields: [
      { name: 'find', title: 'Find', type: 'text' },
      { name: 'artefact_class', title: 'Artefact class', type: 'text' },
      { name: 'nearest_find', title: 'Nearest other find', type: 'text' },
      { name: 'nearest_class', title: 'Its class', type: 'text' },
      { name: 'nearest_m', title: 'Distance to it', type: 'number', unit: 'm' },
    ],
    rows: members.map((i, k) => {
      const other = nearest.index[k];
      return {
        find: sample.label[i],
        artefact_class: classes[label[k]],
        nearest_find: other < 0 ? null : sample.label[members[other]],
        nearest_class: other < 0 ? null : classes[label[other]],
        nearest_m: other < 0 ? null : nearest.distanceM[k],
      };
    }),
    geometry: {
      type: 'point',
      coordinates: Float64Array.from(members.flatMap((i) => [sample.xy[2 * i], sample.xy[2 * i + 1]])),
    },
  });
}
