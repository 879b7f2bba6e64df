import { findLattices, latticeOfGrid, type NodeLattice } from './lattice.js';
import { bilinearSurface, type SurfaceReader } from './lattice-surface.js';
import { type LevelColumns, surfaceNodes } from './level-nodes.js';
import { triangleMesh } from './triangle-mesh.js';
import { triangleSurface } from './triangle-surface.js';

/** Which readings make a surface and how it is read. */
export interface LevelledSurface {
  readonly surface: string;
  /** only readings of this season */
  readonly season: string;
  /** only readings for which this holds, by their number; none given = all that were not set aside */
  readonly counts?: (reading: number) => boolean;
  /** node spacing of the site grid with its origin at 0, 0; null when there is no grid */
  readonly stepM: number | null;
  /** standard deviation of a reading that states none, metres */
  readonly unstatedSigmaM: number;
}

/**
 * One surface as levelled in one season, bilinear between the four nodes of each square and, where one node is
 * missing, flat over the other three. Nodes of a re-laid grid, which do not fall on whole metres of the first, are
 * found as a lattice of their own; readings on no lattice are joined to triangles. No value beyond the nodes.
 *
 * @returns null when that surface was not levelled in that season
 */
export function levelledSurface(levels: LevelColumns, request: LevelledSurface): SurfaceReader | null {
  const rows = Array.from(levels.x.keys()).filter(
    (i) =>
      levels.surface[i] === request.surface &&
      levels.season[i] === request.season &&
      levels.state[i] !== 'set_aside' &&
      Number.isFinite(levels.x[i] + levels.y[i] + levels.elevation[i]) &&
      (request.counts?.(i) ?? true),
  );
  if (rows.length === 0) return null;
  const numbers = (of: Float64Array) => Float64Array.from(rows, (i) => of[i]);
  const words = <T>(of: readonly T[]) => rows.map((i) => of[i]);
  const own: LevelColumns = {
    x: numbers(levels.x),
    y: numbers(levels.y),
    elevation: numbers(levels.elevation),
    sigma: Float64Array.from(rows, (i) => (levels.sigma[i] >= 0 ? levels.sigma[i] : request.unstatedSigmaM)),
    surface: words(levels.surface),
    season: words(levels.season),
    node: words(levels.node),
    state: words(levels.state),
  };
  const nodes = surfaceNodes(own, { surface: request.surface, nodeValue: 'newest', seasons: [request.season] });
  const lattices: NodeLattice[] = [];
  let beside: readonly number[] = Array.from(nodes.x.keys());
  if (request.stepM !== null) {
    const grid = latticeOfGrid(nodes, request.stepM);
    if (grid.lattice) lattices.push(grid.lattice);
    beside = grid.beside;
  }
  const found = findLattices(nodes, beside);
  lattices.push(...found.lattices);
  const onLattice = bilinearSurface(lattices, nodes, 'triangle');
  const scattered = found.beside;
  if (scattered.length < 3) return onLattice;
  const at = (of: Float64Array) => Float64Array.from(scattered, (i) => of[i]);
  const places = { x: at(nodes.x), y: at(nodes.y), z: at(nodes.z), sigma: at(nodes.sigma) };
  const between = triangleSurface(triangleMesh(places.x, places.y), places);
  return (xy) => {
    const first = onLattice(xy);
    const second = between(xy);
    const isKnown = (i: number) => !Number.isNaN(first.value[i]);
    return {
      value: first.value.map((v, i) => (isKnown(i) ? v : second.value[i])),
      sigma: first.sigma.map((v, i) => (isKnown(i) ? v : second.sigma[i])),
    };
  };
}
