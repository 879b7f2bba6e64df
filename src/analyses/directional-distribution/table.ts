import { type Column, codeColumn, type FeatureTable, numberColumn } from '../../domain/feature-table.js';
import { ellipseRing } from '../../math/centre.js';
import { convexHull } from '../../math/convex-hull.js';
import type { AnswerTable } from '../contract.js';
import type { FindGroup } from './classes.js';
import type { Summary } from './schemas.js';

type ClassRow = Summary['by_class'][number];

const columns: readonly (readonly [string, string, string | undefined, (row: ClassRow) => string | number | null])[] = [
  ['artefact_class', 'Artefact class', undefined, (row) => row.artefact_class ?? 'class unknown'],
  ['n', 'Finds', '1', (row) => row.n],
  ['mean_x_m', 'Mean centre x', 'm', (row) => row.mean_centre?.[0] ?? null],
  ['mean_y_m', 'Mean centre y', 'm', (row) => row.mean_centre?.[1] ?? null],
  ['median_x_m', 'Median centre x', 'm', (row) => row.median_centre?.[0] ?? null],
  ['median_y_m', 'Median centre y', 'm', (row) => row.median_centre?.[1] ?? null],
  ['standard_distance_m', 'Standard distance', 'm', (row) => row.standard_distance_m],
  ['bearing_deg', 'Bearing of the ellipse', 'deg', (row) => row.ellipse?.bearing_deg ?? null],
  ['semi_major_m', 'Longer half axis', 'm', (row) => row.ellipse?.semi_major_m ?? null],
  ['semi_minor_m', 'Shorter half axis', 'm', (row) => row.ellipse?.semi_minor_m ?? null],
  ['off_axis_m', 'Off the ship axis, positive to port', 'm', (row) => row.off_axis_m],
  ['labelled_low_m', 'Names dealt out, from', 'm', (row) => row.labelled_low_m],
  ['labelled_high_m', 'Names dealt out, to', 'm', (row) => row.labelled_high_m],
  ['p_off_axis', 'p of the side', '1', (row) => row.p_off_axis],
  ['downslope_m', 'Step down the slope', 'm', (row) => row.downslope_m],
  ['p_downslope', 'p of the slope', '1', (row) => row.p_downslope],
  ['shift_m', 'Shift from all finds', 'm', (row) => row.shift_m],
  ['shift_bearing_deg', 'Bearing of the shift', 'deg', (row) => row.shift_bearing_deg],
  ['p_shift', 'p of the shift', '1', (row) => row.p_shift],
  ['p_holm', 'p raised for the number of classes', '1', (row) => row.p_holm],
];

/** One row for each class and one for all finds chosen. */
export function tableOf(summary: Summary): AnswerTable {
  const all: ClassRow | null = summary.offset && {
    artefact_class: 'all finds chosen',
    n: summary.n,
    mean_centre: summary.mean_centre,
    median_centre: summary.median_centre,
    standard_distance_m: summary.standard_distance_m,
    ellipse: summary.ellipse,
    ...summary.offset,
    p_holm: null,
  };
  return {
    columns: columns.map(([name, title, unit]) => ({ name, title, ...(unit ? { unit } : {}) })),
    rows: [...summary.by_class, ...(all ? [all] : [])].map((row) => columns.map(([, , , cell]) => cell(row))),
  };
}

/** Deviational ellipses and convex hulls, of all finds chosen and of each class. */
export function spreadLayer(
  summary: Summary,
  of: {
    readonly all: Float64Array;
    readonly classes: readonly FindGroup[];
    readonly west: number;
    readonly south: number;
  },
): FeatureTable {
  const groups = [
    { name: 'all finds chosen', xy: of.all, ellipse: summary.ellipse, centre: summary.mean_centre },
    ...summary.by_class.map((row, k) => ({
      name: row.artefact_class ?? 'class unknown',
      xy: of.classes[k].xy,
      ellipse: row.ellipse,
      centre: row.mean_centre,
    })),
  ];
  const shapes = groups.flatMap((group) => {
    const { ellipse, centre } = group;
    const hull = convexHull(group.xy).map((v, i) => v + (i % 2 === 0 ? of.west : of.south));
    const own: { group: (typeof groups)[number]; kind: string; ring: Float64Array }[] = [];
    if (ellipse && centre && ellipse.semi_minor_m > 1e-9) {
      const axes = {
        bearingDeg: ellipse.bearing_deg,
        semiMajorM: ellipse.semi_major_m,
        semiMinorM: ellipse.semi_minor_m,
      };
      own.push({ group, kind: 'deviational ellipse', ring: ellipseRing({ x: centre[0], y: centre[1] }, axes) });
      if (hull.length >= 6) own.push({ group, kind: 'convex hull', ring: hull });
    }
    return own;
  });
  const n = shapes.length;
  const starts = Uint32Array.from({ length: n + 1 }, (_, i) => i);
  const ends = shapes.map(({ ring }) => ring.length / 2);
  const numbers = (cell: (group: (typeof groups)[number]) => number | null) =>
    numberColumn(shapes.map(({ group }) => cell(group)));
  return {
    name: 'directional-distribution',
    length: n,
    fields: [
      { name: 'group', title: 'Finds', type: 'text' },
      { name: 'kind', title: 'Kind', type: 'text', choices: ['deviational ellipse', 'convex hull'] },
      { name: 'n', title: 'Finds used', type: 'integer' },
      { name: 'mean_x_m', title: 'Mean centre x', type: 'number', unit: 'm' },
      { name: 'mean_y_m', title: 'Mean centre y', type: 'number', unit: 'm' },
      { name: 'bearing_deg', title: 'Bearing from site_north', type: 'number', unit: 'deg' },
      { name: 'semi_major_m', title: 'Longer half axis, divisor n', type: 'number', unit: 'm' },
      { name: 'semi_minor_m', title: 'Shorter half axis, divisor n', type: 'number', unit: 'm' },
    ],
    columns: new Map<string, Column>([
      ['group', codeColumn(shapes.map(({ group }) => group.name))],
      ['kind', codeColumn(shapes.map(({ kind }) => kind))],
      [
        'n',
        numberColumn(
          shapes.map(({ group }) => group.xy.length / 2),
          'integer',
        ),
      ],
      ['mean_x_m', numbers((group) => group.centre?.[0] ?? null)],
      ['mean_y_m', numbers((group) => group.centre?.[1] ?? null)],
      ['bearing_deg', numbers((group) => group.ellipse?.bearing_deg ?? null)],
      ['semi_major_m', numbers((group) => group.ellipse?.semi_major_m ?? null)],
      ['semi_minor_m', numbers((group) => group.ellipse?.semi_minor_m ?? null)],
    ]),
    geometry: {
      type: 'area',
      coordinates: Float64Array.from(shapes.flatMap(({ ring }) => Array.from(ring))),
      partStart: Uint32Array.from([0, ...ends].map((_, i) => ends.slice(0, i).reduce((sum, m) => sum + m, 0))),
      featureStart: starts,
      hole: new Uint8Array(n),
    },
    ids: Float64Array.from({ length: n }, (_, i) => i + 1),
  };
}
