import type { DistanceLaw } from '../../math/distance-law.js';
import { Problem } from '../../problems.js';

/** Finds and dug ground between two distances from the hull. null = no limit on that side. */
export interface DistanceBand {
  readonly fromM: number | null;
  readonly toM: number | null;
  /** dug ground in the band, m² */
  readonly areaM2: number;
  readonly n: number;
  readonly perM2: number | null;
  /** finds per m² in the band over those in the rest of the window; null when the rest holds none */
  readonly rateRatio: number | null;
}

/**
 * Finds per square metre of dug ground in bands of distance: the count alone would favour wide, well-dug bands.
 *
 * @param distances  [n] metres; left untouched
 * @param law        how far the window's ground lies
 * @param split      rising limits in metres, and the window's area; ground beyond the first or last limit gets a band
 *                   of its own
 * @throws Problem bad-parameter when the limits do not rise
 */
export function distanceBands(
  distances: Float64Array,
  law: DistanceLaw,
  split: { readonly limits: readonly number[]; readonly windowAreaM2: number },
): DistanceBand[] {
  const { limits, windowAreaM2 } = split;
  for (let i = 1; i < limits.length; i++) {
    if (!(limits[i] > limits[i - 1])) {
      throw new Problem(
        'bad-parameter',
        `bands: ${limits[i]} m comes after ${limits[i - 1]} m; band limits must rise, for example 0, 0.5, 1, 2`,
        { parameter: 'bands' },
      );
    }
  }
  const farthest = distances.reduce((most, d) => Math.max(most, d), law.greatest);
  const nearest = distances.reduce((low, d) => Math.min(low, d), law.least);
  const edges: (number | null)[] = [...limits];
  if (limits.length === 0 || nearest < limits[0]) edges.unshift(null);
  if (limits.length === 0 || farthest >= limits[limits.length - 1]) edges.push(null);

  const inner = Float64Array.from(limits);
  const shares = law.shares(inner);
  // ground at distance 0 belongs to the band that starts there
  const shareBelow = (k: number) => (limits[k] === 0 && law.least === 0 ? shares[k] - law.atZero : shares[k]);
  const offset = edges[0] === null ? 1 : 0;
  return edges.slice(1).map((toM, i) => {
    const fromM = edges[i];
    const below = fromM === null ? 0 : shareBelow(i - offset);
    const within = toM === null ? 1 : shareBelow(i + 1 - offset);
    const share = Math.max(0, within - below);
    let n = 0;
    for (const d of distances) if ((fromM === null || d >= fromM) && (toM === null || d < toM)) n++;
    const areaM2 = share * windowAreaM2;
    const restArea = windowAreaM2 - areaM2;
    const rest = distances.length - n;
    const isNothing = areaM2 <= 1e-9 * windowAreaM2;
    return {
      fromM,
      toM,
      areaM2: isNothing ? 0 : areaM2,
      n,
      perM2: isNothing ? null : n / areaM2,
      rateRatio: isNothing || rest === 0 || restArea <= 0 ? null : n / areaM2 / (rest / restArea),
    };
  });
}
