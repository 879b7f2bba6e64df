/**
 * Inverse cosine from + − × ÷ √ alone, like elementary.ts: edge weights are sums of arcs, and the rank of a curve
 * must not depend on the engine that draws it.
 */
const nodesPerUnit = 64;
const terms = 11;
const halfNodes = nodesPerUnit / 2 + 1;
/** [halfNodes × terms] Taylor coefficients of the inverse sine about 0, 1/64 … 1/2 */
const table = taylorTable();

function taylorTable(): Float64Array {
  const out = new Float64Array((halfNodes + 1) * terms);
  const step = 1 / nodesPerUnit;
  let value = 0;
  for (let node = 0; node <= halfNodes; node++) {
    const x = node * step;
    const row = out.subarray(node * terms, (node + 1) * terms);
    row[0] = value;
    row[1] = 1 / Math.sqrt((1 - x) * (1 + x));
    // (1 − x²) y⁽ᵏ⁺²⁾ = (2k + 1) x y⁽ᵏ⁺¹⁾ + k² y⁽ᵏ⁾, written for coefficients
    for (let k = 0; k + 2 < terms; k++) {
      const next = (2 * k + 1) * x * (k + 1) * row[k + 1] + (k === 0 ? 0 : k * k * row[k]);
      row[k + 2] = next / ((1 - x) * (1 + x) * (k + 1) * (k + 2));
    }
    value = series(row, 0, step);
  }
  return out;
}

/** Sum of one row of the table at a distance d from its node, in pairs so that no product waits for another. */
function series(from: Float64Array, at: number, d: number): number {
  const d2 = d * d;
  const d4 = d2 * d2;
  const low = from[at + 2] + d * from[at + 3] + d2 * (from[at + 4] + d * from[at + 5]);
  const high = from[at + 6] + d * from[at + 7] + d2 * (from[at + 8] + d * from[at + 9]) + d4 * from[at + 10];
  return from[at] + (d * from[at + 1] + d2 * (low + d4 * high));
}

/** Inverse sine of x from 0 to about ½. */
function smallArcSine(x: number): number {
  const node = Math.floor(x * nodesPerUnit + 0.5);
  return series(table, node * terms, x - node / nodesPerUnit);
}

/** Inverse cosine: radians from 0 (x ≥ 1) to π (x ≤ −1), within 4e-16, equal on every machine. */
export function arcCosine(x: number): number {
  if (x >= 1) return 0;
  if (x <= -1) return Math.PI;
  if (x > 0.5) return 2 * smallArcSine(Math.sqrt((1 - x) / 2));
  if (x < -0.5) return Math.PI - 2 * smallArcSine(Math.sqrt((1 + x) / 2));
  return Math.PI / 2 - (x < 0 ? -smallArcSine(-x) : smallArcSine(x));
}

/** Angle of a direction, anticlockwise from the x axis, −π to π. x and y of length 1 together. */
export function directionAngle(x: number, y: number): number {
  // from whichever part is the smaller: an inverse cosine near 1 loses half its digits
  if (Math.abs(y) > Math.abs(x)) return y > 0 ? arcCosine(x) : -arcCosine(x);
  const fromXAxis = Math.PI / 2 - arcCosine(y);
  if (x > 0) return fromXAxis;
  return y < 0 ? -Math.PI - fromXAxis : Math.PI - fromXAxis;
}
