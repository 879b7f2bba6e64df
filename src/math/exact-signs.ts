/**
 * Signs of the two determinants a triangulation stands on, exact for whole-number coordinates: the plain product is
 * used where its rounding cannot matter, whole numbers of any size otherwise.
 */

/** > 0 when c lies left of the way from a to b, 0 on it. Whole numbers below 2^31. */
export function turnSign(ax: number, ay: number, bx: number, by: number, cx: number, cy: number): number {
  const left = (bx - ax) * (cy - ay);
  const right = (by - ay) * (cx - ax);
  const plain = left - right;
  if (Math.abs(plain) > 1e-15 * (Math.abs(left) + Math.abs(right))) return Math.sign(plain);
  return signOf(BigInt(bx - ax) * BigInt(cy - ay) - BigInt(by - ay) * BigInt(cx - ax));
}

/** Four places [x, y] of whole numbers: a, b, c anticlockwise, and d, which is asked about. */
export interface CircleQuestion {
  readonly a: readonly [number, number];
  readonly b: readonly [number, number];
  readonly c: readonly [number, number];
  readonly d: readonly [number, number];
}

/**
 * > 0 when d lies inside the circle through a, b, c. On the circle itself the tie is broken as if every place were
 * raised by a hair −xy, then −x²: squares of a grid are then always cut from south-west to north-east, and any set of
 * places has one triangulation only. Never 0 for four different places.
 */
export function circleSign({ a, b, c, d }: CircleQuestion): number {
  const rows = [a, b, c].map(([x, y]) => [x - d[0], y - d[1]] as const);
  const plain = determinant(rows, (x, y) => x * x + y * y);
  const size = permanent(rows, (x, y) => x * x + y * y);
  if (Math.abs(plain) > 1e-14 * size) return Math.sign(plain);
  const whole = rows.map(([x, y]) => [BigInt(x), BigInt(y)] as const);
  return (
    signOf(wholeDeterminant(whole, (x, y) => x * x + y * y)) ||
    // the hairs count from absolute places, but what they differ from these by is linear and falls out
    signOf(wholeDeterminant(whole, (x, y) => -x * y)) ||
    signOf(wholeDeterminant(whole, (x) => -x * x))
  );
}

type Row = readonly [number, number];
type WholeRow = readonly [bigint, bigint];

function determinant([p, q, r]: readonly Row[], lift: (x: number, y: number) => number): number {
  return (
    lift(p[0], p[1]) * (q[0] * r[1] - q[1] * r[0]) +
    lift(q[0], q[1]) * (r[0] * p[1] - r[1] * p[0]) +
    lift(r[0], r[1]) * (p[0] * q[1] - p[1] * q[0])
  );
}

function permanent([p, q, r]: readonly Row[], lift: (x: number, y: number) => number): number {
  const part = (one: Row, two: Row, three: Row) =>
    Math.abs(lift(one[0], one[1])) * (Math.abs(two[0] * three[1]) + Math.abs(two[1] * three[0]));
  return part(p, q, r) + part(q, r, p) + part(r, p, q);
}

function wholeDeterminant([p, q, r]: readonly WholeRow[], lift: (x: bigint, y: bigint) => bigint): bigint {
  return (
    lift(p[0], p[1]) * (q[0] * r[1] - q[1] * r[0]) +
    lift(q[0], q[1]) * (r[0] * p[1] - r[1] * p[0]) +
    lift(r[0], r[1]) * (p[0] * q[1] - p[1] * q[0])
  );
}

function signOf(value: bigint): number {
  return value > 0n ? 1 : value < 0n ? -1 : 0;
}
