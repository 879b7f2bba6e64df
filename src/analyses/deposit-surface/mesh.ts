import type { Sample } from '../../domain/sample.js';
import { type SurfaceMesh, trianglesOf } from '../../domain/surface-mesh.js';
import { meshOfLattices, noCorner } from '../../math/cell-mesh.js';
import { drawnCells, type GridRequest, type SurfaceGrid } from '../../math/surface-grid.js';
import type { Parameters } from './schemas.js';
import type { FittedSurface } from './surface-method.js';

/**
 * The surface in space, under the mask. A bilinear surface is given by the squares of its nodes: every corner is a
 * node with its value as levelled, and whoever draws the mesh chooses how a bent square looks inside.
 */
export function meshInSpace(
  surface: FittedSurface,
  grid: SurfaceGrid,
  { request, own, sample }: { readonly request: GridRequest; readonly own: Parameters; readonly sample: Sample },
): SurfaceMesh {
  const ofNodes: FittedSurface =
    own.method === 'bilinear'
      ? {
          ...surface,
          mesh: () =>
            meshOfLattices(request.ground.lattices, {
              read: (xy) => surface.read(xy),
              missingCorner: own.missing_corner,
              parts: 1,
            }),
        }
      : surface;
  const { levelled, beyond } = drawnCells(ofNodes, grid, request);
  const cut = (corners: Uint32Array) => (own.mesh === 'triangles' ? trianglesOf(corners) : corners);
  const [near, far] = [cut(levelled.corners), cut(beyond.corners)];
  const used = compact(levelled, [near, far]);
  const datum = sample.verticalDatum === undefined ? 'the datum of the levels' : sample.verticalDatum;
  return {
    title: `Surface ${own.surface}`,
    valueName: own.surface === 'thickness' ? 'thickness, m' : `elevation, m, up-positive, in ${datum}`,
    ...used,
    sigma: surface.read(interleaved(used.x, used.y)).sigma,
    beyond: Uint8Array.from({ length: used.corners.length / 4 }, (_, k) => (4 * k < near.length ? 0 : 1)),
  };
}

interface Vertices {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
}

/** Only the corners that some cell has, numbered anew in the order they are met. */
function compact({ x, y, z }: Vertices, parts: readonly Uint32Array[]): Vertices & { readonly corners: Uint32Array } {
  const numbers = new Map<number, number>();
  const corners: number[] = [];
  for (const part of parts) {
    for (const corner of part) {
      if (corner === noCorner) {
        corners.push(noCorner);
        continue;
      }
      let found = numbers.get(corner);
      if (found === undefined) {
        found = numbers.size;
        numbers.set(corner, found);
      }
      corners.push(found);
    }
  }
  const kept = [...numbers.keys()];
  const own = (values: Float64Array) => Float64Array.from(kept, (i) => values[i]);
  return { x: own(x), y: own(y), z: own(z), corners: Uint32Array.from(corners) };
}

function interleaved(x: Float64Array, y: Float64Array): Float64Array {
  return Float64Array.from({ length: 2 * x.length }, (_, i) => (i % 2 === 0 ? x : y)[i >> 1]);
}
