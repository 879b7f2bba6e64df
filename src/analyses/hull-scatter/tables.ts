import {
  booleanColumn,
  type Column,
  codeColumn,
  type FeatureTable,
  numberColumn,
  textColumn,
} from '../../domain/feature-table.js';
import type { Sample } from '../../domain/sample.js';
import { quantiles } from '../../math/quantiles.js';
import type { AnswerTable } from '../contract.js';
import type { Summary } from './schemas.js';

/** Five numbers of a set of distances; all null when there are none. */
export interface Spread {
  min: number | null;
  q25: number | null;
  median: number | null;
  q75: number | null;
  max: number | null;
}

/** Smallest, quartiles and largest of some distances, metres. */
export function spreadOf(distances: ArrayLike<number>): Spread {
  const [min, q25, median, q75, max] = quantiles(distances, [0, 0.25, 0.5, 0.75, 1]);
  return { min, q25, median, q75, max };
}

/** Distances by class or by season, unknown last; null when there is only one. */
export function spreadsBy(
  codes: Uint32Array,
  names: readonly string[],
  distances: Float64Array,
): ({ name: string | null; n: number } & Spread)[] | null {
  const present = [...new Set(codes)].sort((a, b) => (a || names.length + 1) - (b || names.length + 1));
  if (present.length < 2) return null;
  return present.map((code) => {
    const own = distances.filter((_, i) => codes[i] === code);
    return { name: code === 0 ? null : names[code - 1], n: own.length, ...spreadOf(own) };
  });
}

/** Quantiles of distance for all finds, each class and each season; finds per m² along the keel and by zone. */
export function tableOf(summary: Summary): AnswerTable {
  const noGround: (number | null)[] = [null, null, null];
  const unknownSpread: Spread = { min: null, q25: null, median: null, q75: null, max: null };
  const row = (kind: string, name: string, n: number, s: Spread, more = noGround) => [
    kind,
    name,
    n,
    s.min,
    s.q25,
    s.median,
    s.q75,
    s.max,
    ...more,
  ];
  const onGround = (kind: string, name: string, ground: { n: number; area_m2: number; per_m2: number | null }) =>
    row(kind, name, ground.n, unknownSpread, [ground.area_m2, ground.per_m2, null]);
  const bySeason = new Map((summary.seasons ?? []).map((season) => [season.season, season]));
  const seasonGround = (name: string | null) => {
    const own = bySeason.get(name ?? '');
    return own ? [own.area_m2, own.n / own.area_m2, own.expected_median_m] : noGround;
  };
  return {
    columns: [
      { name: 'group', title: 'Group' },
      { name: 'name', title: 'Name' },
      { name: 'n', title: 'Finds', unit: '1' },
      { name: 'min_m', title: 'Smallest distance', unit: 'm' },
      { name: 'q25_m', title: 'Lower quartile', unit: 'm' },
      { name: 'median_m', title: 'Median distance', unit: 'm' },
      { name: 'q75_m', title: 'Upper quartile', unit: 'm' },
      { name: 'max_m', title: 'Largest distance', unit: 'm' },
      { name: 'area_m2', title: 'Dug ground', unit: 'm2' },
      { name: 'per_m2', title: 'Finds per m²', unit: 'm-2' },
      { name: 'expected_median_m', title: 'Median distance of the dug ground', unit: 'm' },
    ],
    rows: [
      ...(summary.by_class ?? []).map((g) => row('artefact class', g.name ?? 'class unknown', g.n, g)),
      ...(summary.by_season ?? []).map((g) => row('season', g.name ?? 'season unknown', g.n, g, seasonGround(g.name))),
      ...(summary.along_keel ?? []).map((bin) => onGround('along keel', `${bin.from_m} to ${bin.to_m} m`, bin)),
      ...(summary.trench_edge === null
        ? []
        : summary.bands.map((band) =>
            onGround('distance band', `${band.from_m ?? 'nearest'} to ${band.to_m ?? 'farthest'} m`, band),
          )),
      ...(summary.trench_edge?.squares ?? []).map((square) =>
        onGround('square at the edge', square.square, { ...square, area_m2: square.dug_m2 }),
      ),
      ...(summary.zones ?? []).map((zone) => onGround('zone', zone.zone ?? 'outside all zones', zone)),
      row('all', 'all finds chosen', summary.n, summary.distance_m, [
        summary.window_area_m2,
        summary.n / summary.window_area_m2,
        summary.expected_median_m,
      ]),
    ],
  };
}

/** What is known of each find, in the order of the sample. null = cannot be told. */
export interface FindDistances {
  readonly distanceM: Float64Array;
  readonly signedDistanceM: Float64Array | null;
  readonly hullNumber: readonly (string | null)[];
  readonly hullElement: readonly (string | null)[];
  readonly alongKeelM: readonly number[] | null;
  readonly offKeelM: readonly number[] | null;
  readonly side: readonly ('port' | 'starboard' | null)[];
  readonly edgeDistanceM: Float64Array;
  readonly isNearerToEdge: readonly boolean[];
}

/** The finds used, each with its distances: a layer to colour by. */
export function findsLayer(sample: Sample, finds: FindDistances): FeatureTable {
  const n = finds.distanceM.length;
  const word = (words: readonly string[], code: number) => (code === 0 ? null : words[code - 1]);
  const numbers = (values: ArrayLike<number> | null) =>
    numberColumn(values ? Array.from(values) : new Array<null>(n).fill(null));
  return {
    name: 'hull-scatter',
    length: n,
    fields: [
      { name: 'find', title: 'Find', type: 'text', distinct: true },
      { name: 'artefact_class', title: 'Artefact class', type: 'text' },
      { name: 'season', title: 'Season', type: 'text' },
      { name: 'hull_number', title: 'Number of the nearest hull feature', type: 'text' },
      { name: 'hull_element', title: 'Nearest hull element', type: 'text' },
      { name: 'distance_m', title: 'Distance as chosen', type: 'number', unit: 'm' },
      {
        name: 'signed_distance_m',
        title: 'Distance to the outline of hull areas, negative inside',
        type: 'number',
        unit: 'm',
      },
      { name: 'along_keel_m', title: 'Along the axis from the after end', type: 'number', unit: 'm' },
      { name: 'off_keel_m', title: 'Off the axis, positive to port', type: 'number', unit: 'm' },
      { name: 'side', title: 'Side of the ship', type: 'text', choices: ['port', 'starboard'] },
      { name: 'edge_distance_m', title: 'Distance to the edge of the dug area', type: 'number', unit: 'm' },
      { name: 'nearer_to_edge', title: 'Nearer to the edge of the dug area than to the hull', type: 'boolean' },
    ],
    columns: new Map<string, Column>([
      ['find', textColumn(sample.label)],
      ['artefact_class', codeColumn(Array.from(sample.classCode, (code) => word(sample.classes, code)))],
      ['season', codeColumn(Array.from(sample.seasonCode, (code) => word(sample.seasons, code)))],
      ['hull_number', codeColumn(finds.hullNumber)],
      ['hull_element', codeColumn(finds.hullElement)],
      ['distance_m', numbers(finds.distanceM)],
      ['signed_distance_m', numbers(finds.signedDistanceM)],
      ['along_keel_m', numbers(finds.alongKeelM)],
      ['off_keel_m', numbers(finds.offKeelM)],
      ['side', codeColumn(finds.side)],
      ['edge_distance_m', numbers(finds.edgeDistanceM)],
      ['nearer_to_edge', booleanColumn(finds.isNearerToEdge)],
    ]),
    geometry: { type: 'point', coordinates: sample.xy.slice() },
    ids: Float64Array.from({ length: n }, (_, i) => i + 1),
  };
}
