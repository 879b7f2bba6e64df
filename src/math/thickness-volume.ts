import { type Corners, cornerWeights, splitAtZero, splitTriangles, wholeCell } from './bilinear-cell.js';
import { type CellLattice, type CellPart, cellAreaM2, cellCorners } from './level-cells.js';

/** A volume between two surfaces over some ground, and how much of the ground it stands for. */
export interface VolumeSums {
  /** ground asked for that lies between nodes, m² */
  readonly areaM2: number;
  /** of it, ground whose cell has all four nodes, m²: all other numbers speak of this ground only */
  readonly measuredM2: number;
  /** net: mean of the four corners × area, m³ */
  readonly volumeM3: number;
  /** where the upper surface lies above the lower one, m³ */
  readonly positiveM3: number;
  /** where it lies below, m³, not above 0 */
  readonly negativeM3: number;
  /** the same cells as two triangles each, by the corners the triangles share, m³ */
  readonly prismsSwNeM3: number;
  readonly prismsSeNwM3: number;
  readonly cells: number;
  /** cells left out because a node is missing */
  readonly cellsWithout: number;
  /** [n] m² of ground each node stands for: Σ share · thickness is the volume */
  readonly shares: Float64Array;
}

/** A field of thickness at the nodes of a lattice. */
export interface ThicknessField {
  readonly lattice: CellLattice;
  /** [n] top − bottom at the places the lattice numbers, metres; NaN = not known */
  readonly thickness: Float64Array;
}

/**
 * Volume between top and bottom of the cells of a lattice. Bilinear between nodes: over a whole cell that is the mean
 * of its four corners times its area, over a part of one the exact integral.
 *
 * A cell with a node missing adds nothing, so the volume is that of the measured ground, not of the whole ground.
 *
 * @param field   left untouched
 * @param shares  [n] what each node stands for is added here; none = a new one
 */
export function thicknessVolume(
  { lattice, thickness }: ThicknessField,
  parts: readonly CellPart[],
  shares: Float64Array = new Float64Array(thickness.length),
): VolumeSums {
  const cell = cellAreaM2(lattice);
  let [area, measured, net, positive, negative, swNe, seNw, cells, without] = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  for (const part of parts) {
    area += part.share * cell;
    const corners = cellCorners(lattice, part.column, part.row);
    if (corners.some((k) => k < 0 || Number.isNaN(thickness[k]))) {
      without++;
      continue;
    }
    cells++;
    measured += part.share * cell;
    const t = cornerValues(thickness, corners);
    const isOneSided = Math.min(t.sw, t.se, t.nw, t.ne) >= 0 || Math.max(t.sw, t.se, t.nw, t.ne) <= 0;
    for (const polygon of part.polygons ?? [wholeCell]) {
      const weights = part.polygons ? cornerWeights(polygon) : { sw: 0.25, se: 0.25, nw: 0.25, ne: 0.25 };
      const own = weights.sw * t.sw + weights.se * t.se + weights.nw * t.nw + weights.ne * t.ne;
      shares[corners[0]] += weights.sw * cell;
      shares[corners[1]] += weights.se * cell;
      shares[corners[2]] += weights.nw * cell;
      shares[corners[3]] += weights.ne * cell;
      net += own * cell;
      const split = isOneSided ? { positive: Math.max(own, 0), negative: Math.min(own, 0) } : splitAtZero(t, polygon);
      positive += split.positive * cell;
      negative += split.negative * cell;
      swNe += prismSum(t, polygon, 'sw-ne') * cell;
      seNw += prismSum(t, polygon, 'se-nw') * cell;
    }
  }
  return {
    areaM2: area,
    measuredM2: measured,
    volumeM3: net,
    positiveM3: positive,
    negativeM3: negative,
    prismsSwNeM3: swNe,
    prismsSeNwM3: seNw,
    cells,
    cellsWithout: without,
    shares,
  };
}

function cornerValues(values: Float64Array, [sw, se, nw, ne]: readonly number[]): Corners {
  return { sw: values[sw], se: values[se], nw: values[nw], ne: values[ne] };
}

function prismSum(t: Corners, polygon: readonly number[], diagonal: 'sw-ne' | 'se-nw'): number {
  const { positive, negative } = splitTriangles(t, polygon, diagonal);
  return positive + negative;
}

/** Ground at least so thick, m²: what an isopach encloses. */
export function areaAtLeast(
  { lattice, thickness }: ThicknessField,
  parts: readonly CellPart[],
  levelM: number,
): number {
  let sum = 0;
  for (const part of parts) {
    const corners = cellCorners(lattice, part.column, part.row);
    if (corners.some((k) => k < 0 || Number.isNaN(thickness[k]))) continue;
    const [sw, se, nw, ne] = corners.map((k) => thickness[k] - levelM);
    if (Math.min(sw, se, nw, ne) >= 0) {
      sum += part.share;
      continue;
    }
    for (const polygon of part.polygons ?? [wholeCell]) sum += splitAtZero({ sw, se, nw, ne }, polygon).positiveArea;
  }
  return sum * cellAreaM2(lattice);
}

/** Sums over ground that does not overlap, on one lattice or several. */
export function addedVolumes(all: readonly VolumeSums[]): Omit<VolumeSums, 'shares'> {
  const total = (of: (v: VolumeSums) => number) => all.reduce((sum, v) => sum + of(v), 0);
  return {
    areaM2: total((v) => v.areaM2),
    measuredM2: total((v) => v.measuredM2),
    volumeM3: total((v) => v.volumeM3),
    positiveM3: total((v) => v.positiveM3),
    negativeM3: total((v) => v.negativeM3),
    prismsSwNeM3: total((v) => v.prismsSwNeM3),
    prismsSeNwM3: total((v) => v.prismsSeNwM3),
    cells: total((v) => v.cells),
    cellsWithout: total((v) => v.cellsWithout),
  };
}

/**
 * Random error of a volume: errors of nodes that know nothing of each other, each weighed with the ground it stands for.
 * @param shares  [n] m² of ground a node stands for
 * @param sigma   [n] random standard deviation of the node's thickness, metres
 * @see Taylor 1997, An Introduction to Error Analysis, ch. 3
 */
export function randomVolumeError(shares: Float64Array, sigma: Float64Array): number {
  let variance = 0;
  for (let i = 0; i < shares.length; i++) if (shares[i] !== 0) variance += (shares[i] * sigma[i]) ** 2;
  return Math.sqrt(variance);
}
