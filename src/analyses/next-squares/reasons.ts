import type { HullContinuity } from './hull-continuity.js';
import type { Parameters, SquareRow } from './schemas.js';

const metres = (value: number) => `${value.toFixed(1)} m`;
const some = (value: number) => String(Number(value.toPrecision(2)));

/** Why a square stands where it does, in words. */
export function reasonsOf(
  row: Omit<SquareRow, 'reasons'>,
  { own, hull }: { readonly own: Parameters; readonly hull: HullContinuity },
): string {
  const parts: string[] = [];
  if (row.per_m2 === null) parts.push('no rate can be foretold');
  else {
    const range =
      row.per_m2_low !== null && row.per_m2_high !== null
        ? ` (${some(row.per_m2_low)} to ${some(row.per_m2_high)})`
        : '';
    parts.push(`trend ${some(row.per_m2)} per m²${range}`);
  }
  if (row.ground_left_m2 === null)
    parts.push('all of it was opened but not finished: how much is left is not recorded');
  if (row.neighbours_per_m2 !== null) {
    parts.push(
      `${row.neighbours} dug ${row.neighbours === 1 ? 'square' : 'squares'} within ${own.neighbour_m} m gave ${some(row.neighbours_per_m2)} per m²`,
    );
  }
  if (row.distance_to_dug_m !== null && row.distance_to_dug_m > 0) {
    parts.push(`${metres(row.distance_to_dug_m)} from the nearest dug square`);
  }
  if (row.extrapolated) parts.push('extrapolated: beyond what the dug squares can tell');
  if (hull.endsAtEdge.length > 0)
    parts.push(`${listed(hull.endsAtEdge)} ${hull.endsAtEdge.length === 1 ? 'stops' : 'stop'} at its edge`);
  if (hull.pointsAt.length > 0) {
    parts.push(
      `${listed(hull.pointsAt.map(({ name, afterM }) => `${name} after ${metres(afterM)}`))} would run into it`,
    );
  }
  if (hull.projected.length > 0) parts.push(`${listed(hull.projected)} drawn through it`);
  if (hull.seen.length > 0) parts.push(`${listed(hull.seen)} seen in it`);
  if (hull.axis) {
    parts.push(
      hull.axis.end === null
        ? 'the ship axis runs through it'
        : `the ship axis runs through it ${metres(hull.axis.beyondM)} beyond its ${hull.axis.end} end`,
    );
  }
  return parts.join('; ');
}

const listed = (names: readonly string[]) =>
  names.length <= 4 ? names.join(', ') : `${names.slice(0, 4).join(', ')} and ${names.length - 4} more`;
