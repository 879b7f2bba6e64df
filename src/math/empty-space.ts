import { cellsInside } from './cell-frame.js';
import { kaplanMeierCurve } from './distance-estimators.js';
import { nearestBetween } from './nearest.js';
import type { Radii } from './radii.js';
import { boundaryDistance, type Region, regionBox } from './rings.js';

/** Places spread evenly over the dug area, from which the distance to the nearest find is measured. */
export interface TestPlaces {
  /** [2m] metres */
  readonly xy: Float64Array;
  /** [m] metres to the nearest edge of the window */
  readonly boundaries: Float64Array;
}

/** Division of the window's box whose cell centres are the test places. */
export const testDivision = 64;

/** Centres of a 64 × 64 division of the window's box that lie in the window. The empty-space function depends on them. */
export function testPlaces(window: Region): TestPlaces {
  const [west, south, east, north] = regionBox(window);
  const stepX = (east - west) / testDivision;
  const stepY = (north - south) / testDivision;
  const grid = {
    columns: testDivision,
    rows: testDivision,
    x: west + stepX / 2,
    y: south + stepY / 2,
    stepX,
    stepY,
  };
  const inside = cellsInside(window, grid);
  const xy: number[] = [];
  inside.forEach((isInside, cell) => {
    if (!isInside) return;
    const column = cell % testDivision;
    const row = (cell - column) / testDivision;
    xy.push(west + (column + 0.5) * stepX, south + (row + 0.5) * stepY);
  });
  const places = Float64Array.from(xy);
  const boundaries = Float64Array.from({ length: places.length / 2 }, (_, i) =>
    boundaryDistance(window, places[2 * i], places[2 * i + 1]),
  );
  return { xy: places, boundaries };
}

/**
 * Empty-space function F: share of the dug area whose nearest find lies within r, Kaplan–Meier form.
 * @param xy  [2n] finds, metres; without finds 0 everywhere
 * @see Baddeley & Gill 1997, doi:10.1214/aos/1034276629
 */
export function emptySpace(xy: Float64Array, places: TestPlaces, radii: Radii): Float64Array {
  return kaplanMeierCurve({ distances: nearestBetween(places.xy, xy), boundaries: places.boundaries }, radii);
}

/**
 * J = (1 − G) / (1 − F): 1 for a scatter without pattern, below 1 clustered, above 1 evenly spaced.
 *
 * Where F nears 1 both are nearly nothing: beyond F = 0.9 or so the quotient tells little.
 *
 * @returns NaN where F is 1 or either is undefined
 * @see van Lieshout & Baddeley 1996, doi:10.1111/j.1467-9574.1996.tb01501.x
 */
export function jFunction(g: Float64Array, f: Float64Array): Float64Array {
  return g.map((value, k) => (f[k] < 1 ? (1 - value) / (1 - f[k]) : Number.NaN));
}
