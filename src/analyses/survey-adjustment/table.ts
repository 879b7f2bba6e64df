import {
  booleanColumn,
  type Column,
  codeColumn,
  type FeatureTable,
  numberColumn,
  textColumn,
} from '../../domain/feature-table.js';
import type { AnswerTable } from '../contract.js';
import type { Summary } from './schemas.js';
import type { ReadSurvey } from './survey-network.js';

/** One row for each measurement, in file order. */
export function tableOf(summary: Summary): AnswerTable {
  return {
    columns: [
      { name: 'row', title: 'Row', unit: '1' },
      { name: 'from', title: 'From' },
      { name: 'to', title: 'To' },
      { name: 'kind', title: 'Kind' },
      { name: 'value', title: 'Reading', unit: 'm' },
      { name: 'reduced', title: 'As adjusted', unit: 'm' },
      { name: 'sigma', title: 'σ', unit: 'm' },
      { name: 'state', title: 'Took part' },
      { name: 'residual', title: 'Residual, adjusted − observed', unit: 'm' },
      { name: 'redundancy', title: 'Redundancy number', unit: '1' },
      { name: 'normalised', title: 'Normalised residual', unit: '1' },
      { name: 'mdb', title: 'Smallest error the test would find', unit: 'm' },
      { name: 'suspect', title: 'Suspect' },
      { name: 'cause', title: 'Likely cause' },
    ],
    rows: summary.measurements.map((row) => [
      row.row,
      row.from,
      row.to,
      row.kind,
      row.value,
      row.reduced,
      row.sigma,
      row.state.replace('_', ' '),
      row.residual,
      row.redundancy,
      row.normalised,
      row.mdb,
      row.suspect ? 'suspect' : '',
      row.cause,
    ]),
  };
}

/** The points of the network, found and held, with their 95 % ellipses. */
export function pointsLayer(summary: Summary, survey: ReadSurvey): FeatureTable {
  const found = Object.entries(summary.points);
  const held = survey.names.slice(0, survey.fixedCount).map((name) => survey.control.get(name));
  const points = [
    ...held.flatMap((point) =>
      point
        ? [{ name: point.name, x: point.x, y: point.y, z: Number.isFinite(point.z) ? point.z : null, result: null }]
        : [],
    ),
    ...found.map(([name, result]) => ({ name, x: result.x, y: result.y, z: result.z ?? null, result })),
  ];
  const number = (of: (point: (typeof points)[number]) => number | null | undefined) =>
    numberColumn(points.map((point) => of(point) ?? null));
  return {
    name: 'survey-adjustment',
    length: points.length,
    fields: [
      { name: 'name', title: 'Control point', type: 'text', distinct: true },
      { name: 'role', title: 'Held fixed or found', type: 'text', choices: ['fixed', 'found'] },
      { name: 'z_elevation', title: 'Elevation', type: 'number', unit: 'm' },
      { name: 'sigma_x', title: 'Standard deviation of x', type: 'number', unit: 'm' },
      { name: 'sigma_y', title: 'Standard deviation of y', type: 'number', unit: 'm' },
      { name: 'sigma_z', title: 'Standard deviation of the elevation', type: 'number', unit: 'm' },
      { name: 'semi_major_95_m', title: 'Longer half axis of the 95 % ellipse', type: 'number', unit: 'm' },
      { name: 'semi_minor_95_m', title: 'Shorter half axis of the 95 % ellipse', type: 'number', unit: 'm' },
      { name: 'azimuth_deg', title: 'Azimuth of the longer axis from site_north', type: 'number', unit: 'deg' },
      { name: 'readings', title: 'Readings that touch it', type: 'integer' },
      { name: 'weak', title: 'To be measured again', type: 'boolean' },
    ],
    columns: new Map<string, Column>([
      ['name', textColumn(points.map((point) => point.name))],
      ['role', codeColumn(points.map((point) => (point.result ? 'found' : 'fixed')))],
      ['z_elevation', number((point) => point.z)],
      ['sigma_x', number((point) => point.result?.sx)],
      ['sigma_y', number((point) => point.result?.sy)],
      ['sigma_z', number((point) => point.result?.sz)],
      ['semi_major_95_m', number((point) => point.result?.ellipse_95.semi_major_m)],
      ['semi_minor_95_m', number((point) => point.result?.ellipse_95.semi_minor_m)],
      ['azimuth_deg', number((point) => point.result?.ellipse.azimuth_deg)],
      [
        'readings',
        numberColumn(
          points.map((point) => point.result?.readings ?? null),
          'integer',
        ),
      ],
      ['weak', booleanColumn(points.map((point) => point.result?.weak ?? null))],
    ]),
    geometry: { type: 'point', coordinates: Float64Array.from(points.flatMap(({ x, y }) => [x, y])) },
    ids: Float64Array.from(points, (_, i) => i + 1),
  };
}
