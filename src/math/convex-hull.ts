/** a corner that leaves the straight line by less than this share of the extent is none */
const straightShare = 1e-13;

/**
 * Convex hull of some positions, corners anticlockwise from the lowest, then leftmost; corners on a straight side are
 * dropped. Fewer than three corners when all positions lie in one line.
 *
 * A hull is no window: it says nothing of where one searched.
 *
 * @param xy  [2n] metres; left untouched
 * @returns   [2m] ring, not closed
 * @see Andrew 1979, doi:10.1016/0020-0190(79)90072-3
 */
export function convexHull(xy: Float64Array): Float64Array {
  const order = Array.from({ length: xy.length / 2 }, (_, i) => i).sort(
    (a, b) => xy[2 * a + 1] - xy[2 * b + 1] || xy[2 * a] - xy[2 * b],
  );
  const places = order.filter(
    (i, k) => k === 0 || xy[2 * i] !== xy[2 * order[k - 1]] || xy[2 * i + 1] !== xy[2 * order[k - 1] + 1],
  );
  if (places.length < 3) return Float64Array.from(places.flatMap((i) => [xy[2 * i], xy[2 * i + 1]]));
  const low = chain(xy, places);
  const high = chain(xy, places.reverse());
  return Float64Array.from([...low.slice(0, -1), ...high.slice(0, -1)].flatMap((i) => [xy[2 * i], xy[2 * i + 1]]));
}

function chain(xy: Float64Array, order: readonly number[]): number[] {
  const out: number[] = [];
  for (const i of order) {
    while (out.length > 1 && !turnsLeft(xy, [out[out.length - 2], out[out.length - 1], i])) out.pop();
    out.push(i);
  }
  return out;
}

function turnsLeft(xy: Float64Array, [a, b, c]: readonly [number, number, number]): boolean {
  const ux = xy[2 * b] - xy[2 * a];
  const uy = xy[2 * b + 1] - xy[2 * a + 1];
  const vx = xy[2 * c] - xy[2 * a];
  const vy = xy[2 * c + 1] - xy[2 * a + 1];
  const size = Math.abs(ux * vy) + Math.abs(uy * vx);
  return ux * vy - uy * vx > straightShare * size;
}
