import { bilinear } from '../../math/bilinear-cell.js';
import { type CellMesh, noCorner } from '../../math/cell-mesh.js';
import { cellCorners, cellPlace, cellSteps } from '../../math/level-cells.js';
import { contains, edgeSlack } from '../../math/rings.js';
import { areaAtLeast } from '../../math/thickness-volume.js';
import type { GroundLayer, MeasuredGround } from './measured-ground.js';

/** Ground at least so thick, m². */
export function groundAtLeast(ground: MeasuredGround, levelM: number): number {
  const { thickness } = ground.seasonNodes(null);
  return ground.layers.reduce((sum, { lattice, parts }) => sum + areaAtLeast({ lattice, thickness }, parts, levelM), 0);
}

/**
 * Reads the thickness at places inside the ground: bilinear between four nodes, nothing where one of them is missing.
 * @returns a reader of site-grid places, NaN = not known
 */
export function thicknessReader(ground: MeasuredGround): (x: number, y: number) => number {
  const { thickness } = ground.seasonNodes(null);
  const slack = ground.layers.map(({ region }) => (region ? edgeSlack(region) : 0));
  return (x, y) => {
    for (const [k, { lattice, region }] of ground.layers.entries()) {
      if (region && !contains(region, x, y, slack[k])) continue;
      const [u, v] = cellSteps(lattice, x, y);
      const column = Math.min(Math.floor(u), lattice.columns - 2);
      const row = Math.min(Math.floor(v), lattice.rows - 2);
      if (column < 0 || row < 0 || u > lattice.columns - 1 || v > lattice.rows - 1) continue;
      const at = cellCorners(lattice, column, row);
      if (at.some((n) => n < 0 || Number.isNaN(thickness[n]))) continue;
      const [sw, se, nw, ne] = at.map((n) => thickness[n]);
      return bilinear({ sw, se, nw, ne }, u - column, v - row);
    }
    return Number.NaN;
  };
}

/** The measured ground as cells with a thickness at each corner, for isopachs. */
export function thicknessMesh(ground: MeasuredGround): CellMesh {
  const { thickness } = ground.seasonNodes(null);
  const { nodes } = ground;
  const x = [...nodes.x];
  const y = [...nodes.y];
  const z = [...thickness];
  const corners: number[] = [];
  const add = (layer: GroundLayer) => {
    for (const { column, row, polygons } of layer.parts) {
      const [sw, se, nw, ne] = cellCorners(layer.lattice, column, row);
      if ([sw, se, nw, ne].some((k) => k < 0 || Number.isNaN(thickness[k]))) continue;
      if (polygons === null) {
        corners.push(sw, se, ne, nw);
        continue;
      }
      const values = { sw: thickness[sw], se: thickness[se], nw: thickness[nw], ne: thickness[ne] };
      for (const polygon of polygons) {
        const first = x.length;
        for (let i = 0; i < polygon.length; i += 2) {
          const [px, py] = cellPlace(layer.lattice, column + polygon[i], row + polygon[i + 1]);
          x.push(px);
          y.push(py);
          z.push(bilinear(values, polygon[i], polygon[i + 1]));
        }
        for (let i = 1; i + 1 < polygon.length / 2; i++) corners.push(first, first + i, first + i + 1, noCorner);
      }
    }
  };
  ground.layers.forEach(add);
  return {
    x: Float64Array.from(x),
    y: Float64Array.from(y),
    z: Float64Array.from(z),
    corners: Uint32Array.from(corners),
  };
}
