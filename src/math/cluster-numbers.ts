/**
 * Numbers clusters so that nothing hangs on the order of the file: the largest is 1; of equally large ones the one
 * that reaches furthest west, then furthest south, comes first.
 *
 * @param label  [n] any number of 0 or more for each cluster, −1 = in none; left untouched
 * @param xy     [2n] metres; left untouched
 * @returns      cluster [n], from 1, 0 = in none; and how many finds each holds
 */
export function numberClusters(label: Int32Array, xy: Float64Array): { cluster: Int32Array; sizes: number[] } {
  const found = new Map<number, { size: number; first: number }>();
  label.forEach((key, i) => {
    if (key < 0) return;
    const own = found.get(key);
    if (!own) found.set(key, { size: 1, first: i });
    else {
      own.size++;
      if (isBefore(xy, i, own.first)) own.first = i;
    }
  });
  const order = [...found.entries()].sort(
    ([, a], [, b]) => b.size - a.size || (isBefore(xy, a.first, b.first) ? -1 : 1),
  );
  const number = new Map(order.map(([key], k) => [key, k + 1]));
  return { cluster: label.map((key) => number.get(key) ?? 0), sizes: order.map(([, { size }]) => size) };
}

/** Whether place i lies west of place j, or south of it on one line. */
export function isBefore(xy: Float64Array, i: number, j: number): boolean {
  return xy[2 * i] < xy[2 * j] || (xy[2 * i] === xy[2 * j] && xy[2 * i + 1] < xy[2 * j + 1]);
}

/** Row numbers from west to east, on one line from south to north: what is drawn by lot then hangs on no file order. */
export function placeOrder(xy: Float64Array): Uint32Array {
  return Uint32Array.from({ length: xy.length / 2 }, (_, i) => i).sort(
    (a, b) => xy[2 * a] - xy[2 * b] || xy[2 * a + 1] - xy[2 * b + 1] || a - b,
  );
}
