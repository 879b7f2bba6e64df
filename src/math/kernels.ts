import { edgeMass } from './kernel-edge.js';
import { type Region, regionBox, shiftRegion } from './rings.js';

/**
 * What is done about the part of a kernel that falls outside the dug area: nothing (densities sink towards the
 * trench edge), divide at the place asked (`uniform`), or divide at each find (`jones-diggle`, whose surface holds
 * exactly as many finds as were counted).
 */
export type EdgeCorrection = 'none' | 'uniform' | 'jones-diggle';

/** Finds, the area they were looked for in, and how far each one is smoothed. */
export interface KernelInput {
  /** [2n] x0, y0, …, metres; left untouched */
  readonly xy: Float64Array;
  /** [n] what each position counts for */
  readonly weight: Float64Array;
  readonly window: Region;
  /** standard deviation of the Gaussian kernel, metres */
  readonly sigmaM: number;
  readonly edge: EdgeCorrection;
}

/**
 * Finds per m² at given places, by the full Gaussian sum without any cut. n × m exponentials.
 *
 * Outside the window a number comes out too, but it means nothing there.
 *
 * @param at  [2m] places asked, in the coordinates of the finds, metres
 * @returns   [m] per m²
 * @see Diggle 1985, doi:10.2307/2347366 (uniform); Jones 1993, doi:10.1007/BF00147776 (jones-diggle)
 */
export function kernelIntensity(input: KernelInput, at: Float64Array): Float64Array {
  const { shares, mass, originX, originY, xy } = localShares(input);
  const perTwo = 1 / (2 * input.sigmaM * input.sigmaM);
  const n = xy.length / 2;
  const out = new Float64Array(at.length / 2);
  for (let k = 0; k < out.length; k++) {
    const x = at[2 * k] - originX;
    const y = at[2 * k + 1] - originY;
    let sum = 0;
    for (let i = 0; i < n; i++) {
      const dx = x - xy[2 * i];
      const dy = y - xy[2 * i + 1];
      sum += shares[i] * Math.exp(-(dx * dx + dy * dy) * perTwo);
    }
    const density = (sum * perTwo) / Math.PI;
    out[k] = input.edge === 'uniform' ? density / mass(x, y) : density;
  }
  return out;
}

/**
 * Finds per m² at each find with that find itself left out: how dense its company is. The edge correction at the
 * place (uniform) or at the others (jones-diggle) stays as it is.
 *
 * @returns [n] per m²; 0 for a single find
 */
export function leaveOneOutIntensity(input: KernelInput): Float64Array {
  const { shares, mass, xy } = localShares(input);
  const perTwo = 1 / (2 * input.sigmaM * input.sigmaM);
  const n = xy.length / 2;
  const out = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < i; j++) {
      const dx = xy[2 * i] - xy[2 * j];
      const dy = xy[2 * i + 1] - xy[2 * j + 1];
      const kernel = Math.exp(-(dx * dx + dy * dy) * perTwo);
      out[i] += shares[j] * kernel;
      out[j] += shares[i] * kernel;
    }
  }
  for (let i = 0; i < n; i++) {
    out[i] *= perTwo / Math.PI;
    if (input.edge === 'uniform') out[i] /= mass(xy[2 * i], xy[2 * i + 1]);
  }
  return out;
}

/** Finds moved to the window's lower-left corner, and what each carries into the sum after edge correction. */
function localShares({ xy, weight, window, sigmaM, edge }: KernelInput) {
  const [west, south] = regionBox(window);
  const local = new Float64Array(xy.length);
  for (let i = 0; i < xy.length; i += 2) {
    local[i] = xy[i] - west;
    local[i + 1] = xy[i + 1] - south;
  }
  const mass = edgeMass(shiftRegion(window, west, south), sigmaM);
  const shares = edge === 'jones-diggle' ? weight.map((w, i) => w / mass(local[2 * i], local[2 * i + 1])) : weight;
  return { xy: local, shares, mass, originX: west, originY: south };
}
