import type { Sample } from '../../domain/sample.js';
import { alongAxis } from '../../math/along-line.js';
import { bearingOf } from '../../math/circular.js';
import { straightPieces } from '../../math/hull-distance.js';
import { surfaceNodes } from '../../math/level-nodes.js';
import { dipErrors, fitPlane } from '../../math/plane-dip.js';
import { regionBox } from '../../math/rings.js';
import { stepsFromLines } from '../../math/steps-from-lines.js';
import { robustTrend } from '../../math/trend.js';
import type { CrowdSteps } from './offsets.js';
import type { Parameters, Summary } from './schemas.js';

/** What offsets and directions are held against, in metres from the window's lower-left corner. */
export interface Ground {
  readonly west: number;
  readonly south: number;
  readonly slope: Summary['slope'];
  /** bearing of the ship axis from its after end, degrees from site_north; null without an axis */
  readonly shipAxisDeg: number | null;
  /** what offsets are taken from, in words; null = nothing to take them from */
  readonly offsetFrom: string | null;
  /** the measures of some positions, [2n] from the local origin */
  measure(xy: Float64Array): CrowdSteps;
}

/** Gathers axis, hull and slope of a sample. */
export function groundOf(sample: Sample, own: Parameters): Ground {
  const [west, south] = sample.window.rings.length > 0 ? regionBox(sample.window) : [0, 0];
  const { shipAxis } = sample;
  const local = ([x, y]: readonly [number, number]): [number, number] => [x - west, y - south];
  const axis = shipAxis && { after: local(shipAxis.after), bow: local(shipAxis.bow) };
  const hull = sample.hull.filter((e) => e.state !== 'loose' && e.place !== 'displaced' && e.parts.length > 0);
  const isFromAxis = axis !== null && (own.offset_from === 'ship_axis' || hull.length === 0);
  const parts = (list: readonly Float64Array[]) =>
    list.map((part) => part.map((v, i) => v - (i % 2 === 0 ? west : south)));
  const pieces = isFromAxis
    ? straightPieces([{ type: 'line', parts: [Float64Array.of(...axis.after, ...axis.bow)] }])
    : hull.length > 0
      ? straightPieces(hull.map((e) => ({ type: e.type, parts: parts(e.parts) })))
      : null;
  const slope = bottomSlope(sample);
  const direction = slope?.downslope_deg ?? null;
  const downslope =
    direction === null
      ? null
      : ([Math.sin((direction * Math.PI) / 180), Math.cos((direction * Math.PI) / 180)] as const);
  return {
    west,
    south,
    slope,
    shipAxisDeg: axis && bearingOf(axis.bow[0] - axis.after[0], axis.bow[1] - axis.after[1]),
    offsetFrom: isFromAxis
      ? 'the ship axis'
      : pieces
        ? `the nearest of ${hull.length} articulated hull features in place`
        : null,
    measure: (xy) => ({
      xy,
      step: pieces && stepsFromLines(xy, pieces),
      offAxis: axis && Float64Array.from(alongAxis(xy, axis), ({ offM }) => offM),
      downslope,
    }),
  };
}

/** Dip of the deposit bottom by the least-squares plane; levels a robust plane gives no weight are left out. */
function bottomSlope({ levels, seasons }: Sample): Summary['slope'] {
  if (!levels?.surface.includes('deposit_bottom')) return null;
  const nodes = surfaceNodes(levels, { surface: 'deposit_bottom', nodeValue: 'newest', seasons });
  const robust = robustTrend(nodes, 1);
  const keep = (values: Float64Array) => values.filter((_, i) => robust === null || robust.weights[i] > 0);
  const places = { x: keep(nodes.x), y: keep(nodes.y), z: keep(nodes.z) };
  const plane = fitPlane(places);
  if (plane === null) return null;
  const errors = dipErrors(plane, plane.covariance);
  return {
    dip_deg: plane.dipDeg,
    downslope_deg: plane.directionDeg,
    error_deg: errors.seDirectionDeg,
    nodes: places.x.length,
  };
}
