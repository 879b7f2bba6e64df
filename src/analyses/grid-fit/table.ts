import { type Column, codeColumn, type FeatureTable, numberColumn, textColumn } from '../../domain/feature-table.js';
import type { ControlPoint } from '../../domain/sample.js';
import type { AnswerTable } from '../contract.js';
import type { GridFit } from './fit-grid.js';

/** A point with how far it is off: against the map, or against an earlier season. */
export interface ComparedPoint {
  readonly name: string;
  readonly against: string;
  /** where it stands, metres of the grid */
  readonly at: readonly [number, number];
  /** along the grid's axes, metres */
  readonly offset: readonly [number, number];
}

/** Residuals turned back to the grid's axes, and displacements of control observed again. */
export function comparedPoints(grid: GridFit, control: readonly ControlPoint[]): ComparedPoint[] {
  const { common, fit, summary } = grid;
  const toMap = common.map(({ name, localX, localY }, i): ComparedPoint => {
    if (!fit) return { name, against: 'map', at: [localX, localY], offset: [0, 0] };
    const [e, n] = [fit.residuals[2 * i], fit.residuals[2 * i + 1]];
    const [cos, sin] = [fit.a / fit.scale, fit.b / fit.scale];
    return {
      name,
      against: 'map',
      at: [localX, localY],
      offset: [(cos * e + sin * n) / fit.scale, (cos * n - sin * e) / fit.scale],
    };
  });
  const again = summary.season_shifts.flatMap((shift) =>
    shift.points.flatMap((name): ComparedPoint[] => {
      const seen = (season: string) =>
        control.find((point) => point.season === season && (point.name === name || point.name === `${name}-${season}`));
      const [later, earlier] = [seen(shift.from_season), seen(shift.to_season)];
      if (!later || !earlier) return [];
      return [
        {
          name: `${name}, ${shift.from_season}`,
          against: shift.to_season,
          at: [earlier.x, earlier.y],
          offset: [later.x - earlier.x, later.y - earlier.y],
        },
      ];
    }),
  );
  return [...toMap, ...again];
}

/** One row for each common point and for each control point observed again. */
export function tableOf(points: readonly ComparedPoint[]): AnswerTable {
  return {
    columns: [
      { name: 'point', title: 'Point' },
      { name: 'against', title: 'Compared with' },
      { name: 'local_x', title: 'x', unit: 'm' },
      { name: 'local_y', title: 'y', unit: 'm' },
      { name: 'offset_x', title: 'Offset along x', unit: 'm' },
      { name: 'offset_y', title: 'Offset along y', unit: 'm' },
      { name: 'offset', title: 'Offset', unit: 'm' },
    ],
    rows: points.map(({ name, against, at, offset }) => [name, against, ...at, ...offset, Math.hypot(...offset)]),
  };
}

/** The points compared, with their offsets. */
export function pointsLayer(points: readonly ComparedPoint[]): FeatureTable {
  return {
    name: 'grid-fit',
    length: points.length,
    fields: [
      { name: 'name', title: 'Point', type: 'text', distinct: true },
      { name: 'against', title: 'Compared with the map or a season', type: 'text' },
      { name: 'offset_x', title: 'Offset along x', type: 'number', unit: 'm' },
      { name: 'offset_y', title: 'Offset along y', type: 'number', unit: 'm' },
      { name: 'offset_m', title: 'Offset', type: 'number', unit: 'm' },
    ],
    columns: new Map<string, Column>([
      ['name', textColumn(points.map(({ name }) => name))],
      ['against', codeColumn(points.map(({ against }) => against))],
      ['offset_x', numberColumn(points.map(({ offset }) => offset[0]))],
      ['offset_y', numberColumn(points.map(({ offset }) => offset[1]))],
      ['offset_m', numberColumn(points.map(({ offset }) => Math.hypot(...offset)))],
    ]),
    geometry: { type: 'point', coordinates: Float64Array.from(points.flatMap(({ at }) => at)) },
    ids: Float64Array.from(points, (_, i) => i + 1),
  };
}
