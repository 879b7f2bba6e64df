import { countSample, tileCounts, unitsOf } from '../../domain/counted-sample.js';
import { evenSquares, gridSquares } from '../../domain/counting-squares.js';
import type { Sample } from '../../domain/sample.js';
import { distanceDistribution } from '../../math/distance-distribution.js';
import { nearestShapes, straightPieces } from '../../math/hull-distance.js';
import { rateRatio } from '../../math/rate-ratio.js';
import { type Region, regionBox } from '../../math/rings.js';
import type { Measure } from './chance.js';
import { distanceTrend, doublingM, timesPerMetre } from './edge-trend.js';
import type { Summary } from './schemas.js';

/** Distance to the edge of the dug area, inner edges (baulks, holes) included. */
export function edgeMeasure(window: Region): Measure {
  // lines, not areas: ground inside an area would be at distance 0 from it
  const pieces = straightPieces([
    { type: 'line', parts: window.rings.map((ring) => Float64Array.from([...ring, ring[0], ring[1]])) },
  ]);
  return {
    distance: nearestShapes(pieces, regionBox(window)).distance,
    law: distanceDistribution(window, pieces, 'distance'),
  };
}

/** Trend of richness towards the edge, and the squares that lie there. */
export function edgePart(sample: Sample, distances: Float64Array, measure: Measure): Summary['trench_edge'] {
  const trend = distanceTrend(distances, measure.law);
  return {
    times_per_m: trend && timesPerMetre(trend.perM),
    low: trend && timesPerMetre(trend.low),
    high: trend && timesPerMetre(trend.high),
    doubling_m: trend && doublingM(trend.perM),
    squares: edgeSquares(sample),
  };
}

/** Dug squares beside ground that was not dug, or dug only in part, richest first. */
function edgeSquares(sample: Sample): NonNullable<Summary['trench_edge']>['squares'] {
  const counted = countSample({ ...sample, areas: [] }, (local, box) =>
    local.grid === null
      ? evenSquares(box, Math.max(1, (box[2] - box[0]) / 100, (box[3] - box[1]) / 100))
      : gridSquares(local.grid, box, local.grid.node_spacing),
  );
  const { squares, ground } = counted;
  const { columns, rows } = squares.tiles;
  const whole = squares.widthM * squares.heightM;
  const units = unitsOf(counted, null);
  const counts = tileCounts({ ...units, weight: new Float64Array(units.tile.length).fill(1) }, ground.areaM2.length);
  const isWhole = (column: number, row: number) =>
    column >= 0 &&
    row >= 0 &&
    column < columns &&
    row < rows &&
    ground.areaM2[row * columns + column] >= whole * (1 - 1e-6);
  const n = counts.reduce((sum, v, tile) => sum + (ground.exposureM2[tile] > 0 ? v : 0), 0);
  const dugM2 = ground.exposureM2.reduce((sum, v) => sum + v, 0);
  return Array.from(counts, (count, tile) => ({ count, tile, column: tile % columns, row: Math.floor(tile / columns) }))
    .filter(
      ({ tile, column, row }) =>
        ground.exposureM2[tile] > 0 &&
        !(
          isWhole(column, row) &&
          isWhole(column - 1, row) &&
          isWhole(column + 1, row) &&
          isWhole(column, row - 1) &&
          isWhole(column, row + 1)
        ),
    )
    .map(({ count, tile }) => {
      const own = ground.exposureM2[tile];
      const ratio = rateRatio({ n1: count, area1: own, n2: n - count, area2: dugM2 - own });
      return {
        square: squares.label(tile),
        n: count,
        dug_m2: own,
        per_m2: count / own,
        rate_ratio: ratio?.ratio ?? null,
        low: ratio?.low ?? null,
        high: ratio?.high ?? null,
      };
    })
    .sort((a, b) => b.per_m2 - a.per_m2);
}
