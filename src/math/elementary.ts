/**
 * Exponential and logarithm from + − × ÷ alone. The language leaves `Math.exp` and `Math.log` to each engine, and
 * their last digits have changed between versions; a p value or a draw must not depend on who runs it.
 */
const ln2High = 0.6931471803691238; // the upper 33 bits, so that k · ln2High is exact
const ln2Low = 1.9082149292705877e-10;
const bits = new DataView(new ArrayBuffer(8));

// 2^−1022 … 2^1023, exact
const powersOfTwo = new Float64Array(2046);
powersOfTwo[1022] = 1;
for (let k = 1023; k < 2046; k++) powersOfTwo[k] = powersOfTwo[k - 1] * 2;
for (let k = 1021; k >= 0; k--) powersOfTwo[k] = powersOfTwo[k + 1] / 2;

// 1/2!, 1/3!, … 1/14!: enough for |r| ≤ ln 2 / 2; and 2/3, 2/5, … 2/21 for the logarithm near 1
const shares = Float64Array.from({ length: 13 }, (_, i) => {
  let product = 1;
  for (let k = 2; k <= i + 2; k++) product *= k;
  return 1 / product;
});
const [e2, e3, e4, e5, e6, e7, e8, e9, e10, e11, e12, e13, e14] = shares;
const [l1, l2, l3, l4, l5, l6, l7, l8, l9, l10] = Float64Array.from({ length: 10 }, (_, i) => 2 / (2 * i + 3));

/** e to the power x, within one unit of the last place, equal on every machine. */
export function exponential(x: number): number {
  if (Number.isNaN(x)) return x;
  if (x > 709.782712893384) return Infinity;
  if (x < -745.1332191019412) return 0;
  const k = Math.floor(x * Math.LOG2E + 0.5);
  const high = x - k * ln2High;
  const low = k * ln2Low;
  const r = high - low;
  // in pairs, so that the processor need not wait for each product
  const r2 = r * r;
  const r4 = r2 * r2;
  const low4 = e2 + r * e3 + r2 * (e4 + r * e5);
  const middle4 = e6 + r * e7 + r2 * (e8 + r * e9);
  const high5 = e10 + r * e11 + r2 * (e12 + r * e13 + r2 * e14);
  const series = low4 + r4 * (middle4 + r4 * high5);
  const value = 1 + (r + (high - r - low + r2 * series));
  if (k > 1023) return value * 2 * powersOfTwo[k + 1021];
  if (k < -1022) return value * powersOfTwo[k + 1222] * powersOfTwo[822];
  return value * powersOfTwo[k + 1022];
}

/** Natural logarithm, within one unit of the last place, equal on every machine; −Infinity at 0, NaN below. */
export function naturalLog(x: number): number {
  if (!(x > 0)) return x === 0 ? -Infinity : Number.NaN;
  if (x === Infinity) return Infinity;
  const tiny = x < 2.2250738585072014e-308;
  bits.setFloat64(0, tiny ? x * 18014398509481984 : x);
  const high = bits.getUint32(0);
  let k = (high >>> 20) - 1023 - (tiny ? 54 : 0);
  bits.setUint32(0, (high & 0xfffff) | 0x3ff00000);
  let mantissa = bits.getFloat64(0);
  if (mantissa > Math.SQRT2) {
    mantissa /= 2;
    k++;
  }
  const f = mantissa - 1;
  const s = f / (2 + f);
  const s2 = s * s;
  const s4 = s2 * s2;
  const even = l2 + s4 * (l4 + s4 * (l6 + s4 * (l8 + s4 * l10)));
  const odd = l1 + s4 * (l3 + s4 * (l5 + s4 * (l7 + s4 * l9)));
  const series = s2 * (odd + s2 * even);
  // f first and last, so that nothing is lost near 1
  const half = 0.5 * f * f;
  return k * ln2High - (half - (s * (half + series) + k * ln2Low) - f);
}
