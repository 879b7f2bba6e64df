import { contourAreas } from '../../math/contour-areas.js';
import { denominatorSide, numeratorSide, type RatioPlaces, type RatioTest } from '../../math/density-ratio.js';
import { polygonsRegion, regionPolygons } from '../../math/overlay.js';
import { contains, edgeSlack, type Region, regionArea, shiftRegion } from '../../math/rings.js';
import type { Sides } from './sides.js';

/** rank p on either side of a tolerance contour */
export const toleranceLevel = 0.025;
/** fewer dealings cannot reach that rank */
export const leastDealings = 39;

/** One connected area in which the ratio is higher, or lower, than random labelling makes it at a place. */
export interface ToleranceArea {
  readonly side: 'higher' | 'lower';
  /** site-grid metres */
  readonly region: Region;
  readonly areaM2: number;
  readonly findsNumerator: number;
  readonly findsDenominator: number;
  /** most extreme log ratio at its test places; null when it slips between them */
  readonly logRatio: number | null;
  /** smallest pointwise rank p at its test places */
  readonly p: number | null;
}

/**
 * Areas inside the tolerance contours: where at most 2.5 % of the dealings are as high (higher) or as low (lower) at
 * the place, contours linear between the ranks of the test places. About 5 % of any ground would be marked by chance.
 * Higher areas first, each side by size.
 */
export function toleranceAreas(sides: Sides, places: RatioPlaces, test: RatioTest): ToleranceArea[] {
  return [
    ...areasOf('higher', test.upper, { sides, places, test }),
    ...areasOf('lower', test.lower, { sides, places, test }),
  ];
}

interface Context {
  readonly sides: Sides;
  readonly places: RatioPlaces;
  readonly test: RatioTest;
}

function areasOf(side: ToleranceArea['side'], rank: Float64Array, context: Context): ToleranceArea[] {
  const { sides, places, test } = context;
  const { lattice, number } = places;
  const values = Float64Array.from(number, (k) => (k < 0 || test.masked[k] === 1 ? 0 : 1 - rank[k]));
  const field = {
    values,
    columns: lattice.columns,
    rows: lattice.rows,
    place: (column: number, row: number): [number, number] => [
      lattice.x + column * lattice.stepM,
      lattice.y + row * lattice.stepM,
    ],
  };
  // a hair below, so that a rank of exactly 2.5 % is inside
  const level = 1 - toleranceLevel - 1e-9;
  const [found] = contourAreas(field, sides.shared, { at: [level], highest: 1 });
  if (!found) return [];
  const slivers = (lattice.stepM / 8) ** 2;
  return regionPolygons(found.region)
    .map((polygon) => polygonsRegion([polygon]))
    .filter((region) => regionArea(region) > slivers)
    .map((region) => describe(side, region, context))
    .sort((a, b) => b.areaM2 - a.areaM2);
}

function describe(side: ToleranceArea['side'], region: Region, { sides, places, test }: Context): ToleranceArea {
  const slack = edgeSlack(region);
  const isIn = (xy: Float64Array, k: number) => contains(region, xy[2 * k], xy[2 * k + 1], slack);
  const finds = Array.from(sides.side.keys()).filter((i) => isIn(sides.xy, i));
  const here = Array.from(test.masked.keys()).filter((k) => test.masked[k] === 0 && isIn(places.xy, k));
  const ranks = side === 'higher' ? test.upper : test.lower;
  const sign = side === 'higher' ? 1 : -1;
  const count = (bit: number) => finds.filter((i) => (sides.side[i] & bit) !== 0).length;
  return {
    side,
    region: shiftRegion(region, -sides.origin[0], -sides.origin[1]),
    areaM2: regionArea(region),
    findsNumerator: count(numeratorSide),
    findsDenominator: count(denominatorSide),
    logRatio: here.length === 0 ? null : sign * Math.max(...here.map((k) => sign * test.logRatio[k])),
    p: here.length === 0 ? null : Math.min(...here.map((k) => ranks[k])),
  };
}
