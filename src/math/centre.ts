import { Problem } from '../problems.js';

/** Where some positions lie on average and how far they spread about it. */
export interface Centre {
  readonly x: number;
  readonly y: number;
  /** √(Σ d² / n) about the mean centre, metres */
  readonly standardDistanceM: number;
}

/**
 * Mean centre and standard distance (divisor n; divisors n − 1 and n − 2 are also in print).
 *
 * One stray find far away pulls the mean centre and blows up the standard distance; see medianCentre.
 *
 * @param xy      [2n] metres; left untouched
 * @param weight  [n] pieces or grams, none below 0; none given = every position counts once
 * @throws Problem too-few-points when nothing has weight
 * @see Bachi 1963, Papers of the Regional Science Association 10, 83–132, doi:10.1007/BF01934680
 */
export function meanCentre(xy: Float64Array, weight?: ArrayLike<number>): Centre {
  const n = xy.length / 2;
  let total = 0;
  for (let i = 0; i < n; i++) total += weight ? weight[i] : 1;
  if (!(total > 0)) throw new Problem('too-few-points', `a mean centre needs positions with weight, got ${n}`, { n });
  // twice, the second time from the first mean: map coordinates lose no digits
  let x = xy[0];
  let y = xy[1];
  for (let round = 0; round < 2; round++) {
    let dx = 0;
    let dy = 0;
    for (let i = 0; i < n; i++) {
      const w = weight ? weight[i] : 1;
      dx += w * (xy[2 * i] - x);
      dy += w * (xy[2 * i + 1] - y);
    }
    x += dx / total;
    y += dy / total;
  }
  let squares = 0;
  for (let i = 0; i < n; i++) {
    const w = weight ? weight[i] : 1;
    squares += w * ((xy[2 * i] - x) ** 2 + (xy[2 * i + 1] - y) ** 2);
  }
  return { x, y, standardDistanceM: Math.sqrt(squares / total) };
}

/** An ellipse that stands for the spread of some positions. */
export interface DeviationalEllipse {
  /** of the longer axis, degrees clockwise from the y axis, 0 to 180; null when both axes are equally long */
  readonly bearingDeg: number | null;
  /** √ of the larger and of the smaller eigenvalue of the covariance with divisor n, metres */
  readonly semiMajorM: number;
  readonly semiMinorM: number;
}

/** axes that differ by less than this share are one length: their direction is chance rounding */
const roundShare = 1e-9;

/**
 * Standard deviational ellipse: the axes lie along the eigenvectors of the covariance, their lengths are the standard
 * deviations along them (divisor n). About 39 % of a bivariate normal scatter lies inside.
 *
 * Programs differ: some draw it √2 larger, some divide by n − 2; see ellipseVariants.
 *
 * @param xy      [2n] metres, n ≥ 1; left untouched
 * @param weight  [n] ≥ 0; none given = every position counts once
 * @see Lefever 1926, doi:10.1086/214027; Yuill 1971, doi:10.1080/04353684.1971.11879353; Ebdon 1985
 */
export function deviationalEllipse(xy: Float64Array, weight?: ArrayLike<number>): DeviationalEllipse {
  const { x, y } = meanCentre(xy, weight);
  let total = 0;
  let sxx = 0;
  let syy = 0;
  let sxy = 0;
  for (let i = 0; i < xy.length; i += 2) {
    const dx = xy[i] - x;
    const dy = xy[i + 1] - y;
    const w = weight ? weight[i >> 1] : 1;
    total += w;
    sxx += w * dx * dx;
    syy += w * dy * dy;
    sxy += w * dx * dy;
  }
  const half = (sxx + syy) / 2;
  const split = Math.hypot((sxx - syy) / 2, sxy);
  const isRound = split <= roundShare * half;
  const large = half + split;
  // from the determinant where that keeps more digits than the difference
  const determinant = sxx * syy - sxy * sxy;
  const small = large > 0 ? Math.max(0, determinant / large) : 0;
  const bearing = (Math.atan2(2 * sxy, syy - sxx) * 90) / Math.PI;
  return {
    bearingDeg: isRound ? null : (bearing + 180) % 180,
    semiMajorM: Math.sqrt(large / total),
    semiMinorM: Math.sqrt(small / total),
  };
}

/** Half axes of the same ellipse as other programs state them, by the name of the variant, metres; n − 2 needs n > 2. */
export function ellipseVariants(ellipse: DeviationalEllipse, n: number) {
  const scaled = (factor: number) => [ellipse.semiMajorM * factor, ellipse.semiMinorM * factor] as const;
  return {
    divisor_n: scaled(1),
    sqrt2_divisor_n: scaled(Math.SQRT2),
    sqrt2_divisor_n_minus_2: n > 2 ? scaled(Math.sqrt((2 * n) / (n - 2))) : null,
  };
}

/**
 * Corners of an ellipse as a ring, anticlockwise, for a map.
 * @param centre   metres
 * @param corners  how many; the ring lies inside the ellipse by less than 0.13 % of its axis with 64
 */
export function ellipseRing(centre: { x: number; y: number }, ellipse: DeviationalEllipse, corners = 64): Float64Array {
  const turn = ((ellipse.bearingDeg ?? 0) * Math.PI) / 180;
  const [ux, uy] = [Math.sin(turn), Math.cos(turn)];
  const ring = new Float64Array(2 * corners);
  for (let k = 0; k < corners; k++) {
    const angle = (2 * Math.PI * k) / corners;
    const a = ellipse.semiMajorM * Math.cos(angle);
    const b = ellipse.semiMinorM * Math.sin(angle);
    ring[2 * k] = centre.x + a * ux - b * uy;
    ring[2 * k + 1] = centre.y + a * uy + b * ux;
  }
  return ring;
}
