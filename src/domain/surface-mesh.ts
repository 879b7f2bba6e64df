import { noCorner } from '../math/cell-mesh.js';

/** A surface as triangles and four-cornered cells between places with a value. */
export interface SurfaceMesh {
  readonly title: string;
  /** what z is, with its unit and what it counts from: 'elevation, m, up-positive, in …' */
  readonly valueName: string;
  /** [v] site-grid metres */
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** [v] known everywhere */
  readonly z: Float64Array;
  /** [v] random standard deviation, metres; NaN = not known */
  readonly sigma: Float64Array;
  /** [4 × cells] corners anticlockwise; the fourth is `noCorner` in a triangle */
  readonly corners: Uint32Array;
  /** [cells] 1 = beyond the ground that was levelled */
  readonly beyond: Uint8Array;
}

/** Four-cornered cells cut in two from their first corner to their third, on a grid from south-west to north-east. */
export function trianglesOf(corners: Uint32Array): Uint32Array {
  const out: number[] = [];
  for (let k = 0; k < corners.length; k += 4) {
    const [a, b, c, d] = corners.subarray(k, k + 4);
    out.push(a, b, c, noCorner);
    if (d !== noCorner) out.push(a, c, d, noCorner);
  }
  return Uint32Array.from(out);
}
