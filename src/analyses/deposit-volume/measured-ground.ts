import { type ConvexPolygon, convexPieces } from '../../math/convex-polygons.js';
import {
  type CellLattice,
  type CellPart,
  cellCorners,
  cellLattices,
  cellParts,
  cellPlace,
  wholeCells,
} from '../../math/level-cells.js';
import { type LevelColumns, type SurfaceNodes, surfaceNodes } from '../../math/level-nodes.js';
import { difference, intersection, union } from '../../math/overlay.js';
import { type Region, regionArea } from '../../math/rings.js';
import { addedVolumes, randomVolumeError, thicknessVolume, type VolumeSums } from '../../math/thickness-volume.js';
import { Problem } from '../../problems.js';

/** The readings of top and bottom, and the ground whose volume is asked. */
export interface GroundQuestion {
  readonly levels: LevelColumns;
  /** node spacing of the site grid; null = read from the levels */
  readonly spacingM: number | null;
  /** all seasons, oldest first */
  readonly seasons: readonly string[];
  readonly nodeValue: 'newest' | 'mean';
  /** no rings = all ground between nodes */
  readonly window: Region;
  readonly dug: readonly { readonly season: string; readonly region: Region }[];
}

/** One grid of nodes with the ground it answers for. */
export interface GroundLayer {
  readonly lattice: CellLattice;
  readonly seasons: readonly string[];
  /** null = all cells of the lattice */
  readonly region: Region | null;
  /** its ground, cell by cell */
  readonly parts: readonly CellPart[];
}

/** A volume with its random error. */
export interface Measured extends Omit<VolumeSums, 'shares'> {
  readonly sigmaRandomM3: number;
  /** ground asked for without four nodes about it, m² */
  readonly unmeasuredM2: number;
}

/** Thickness at nodes, and the ways to sum it. */
export interface MeasuredGround {
  /** z is the thickness, sigma its random error */
  readonly nodes: SurfaceNodes;
  readonly layers: readonly GroundLayer[];
  /** nodes that lie on no grid: not used */
  readonly beside: number;
  /** thickness with a season's own levels first; null = as `nodes` */
  seasonNodes(season: string | null): NodeThickness;
  /** the volume over some ground inside the window; null = all of it */
  measure(region: Region | null): Measured;
  /** the volume over a season's ground from that season's grid and levels */
  measureSeason(season: string, region: Region): Measured;
}

interface NodeThickness {
  /** [n] metres, NaN = not known */
  readonly thickness: Float64Array;
  readonly sigma: Float64Array;
}

/**
 * Thickness at the nodes and the ground each grid of nodes answers for. Where grids of several seasons overlap, the
 * ground a season dug is measured on that season's grid, the newest first.
 *
 * @throws Problem cannot-answer when the levels of top and bottom share no grid of nodes
 */
export function measuredGround(question: GroundQuestion): MeasuredGround {
  const nodes = surfaceNodes(question.levels, {
    surface: 'thickness',
    nodeValue: question.nodeValue,
    seasons: question.seasons,
  });
  const { lattices, beside } = cellLattices(nodes, question.spacingM);
  if (lattices.length === 0) {
    throw new Problem(
      'cannot-answer',
      `the ${nodes.x.length} places that have both levels lie on no grid of nodes: a volume needs top and bottom at the four corners of squares`,
    );
  }
  const layers = layersOf(lattices, nodes, question);
  const bySeason = new Map<string, NodeThickness>();
  const seasonNodes = (season: string | null): NodeThickness => {
    if (season === null) return { thickness: nodes.z, sigma: nodes.sigma };
    let own = bySeason.get(season);
    if (!own) {
      own = withOwnSeason(question, nodes, season);
      bySeason.set(season, own);
    }
    return own;
  };
  const all = seasonNodes(null);
  return {
    nodes,
    layers,
    beside,
    seasonNodes,
    measure: (region) =>
      added(
        layers.map((layer) =>
          region === null ? sumsOf(layer, all) : over(layer.lattice, groundOf(layer, region), all),
        ),
      ),
    measureSeason(season, region) {
      const layer = layers.find((l) => l.seasons.includes(season)) ?? layers[0];
      return added([over(layer.lattice, region, seasonNodes(season))]);
    },
  };
}

function groundOf(layer: GroundLayer, region: Region): Region {
  return layer.region === null ? region : intersection(region, layer.region);
}

interface OneGround {
  readonly sums: VolumeSums;
  readonly sigma: Float64Array;
  readonly askedM2: number;
}

function sumsOf({ lattice, parts, region }: GroundLayer, { thickness, sigma }: NodeThickness): OneGround {
  const sums = thicknessVolume({ lattice, thickness }, parts);
  return { sums, sigma, askedM2: region === null ? sums.areaM2 : regionArea(region) };
}

function over(lattice: CellLattice, region: Region, { thickness, sigma }: NodeThickness): OneGround {
  const sums = thicknessVolume({ lattice, thickness }, cellParts(lattice, convexPieces(region)));
  return { sums, sigma, askedM2: regionArea(region) };
}

function added(grounds: readonly OneGround[]): Measured {
  const sums = addedVolumes(grounds.map((g) => g.sums));
  const variance = grounds.reduce((sum, g) => sum + randomVolumeError(g.sums.shares, g.sigma) ** 2, 0);
  const asked = grounds.reduce((sum, g) => sum + g.askedM2, 0);
  return { ...sums, sigmaRandomM3: Math.sqrt(variance), unmeasuredM2: Math.max(0, asked - sums.measuredM2) };
}

/** Cells with at least three nodes: cells beyond the outline of what was levelled are not ground that lacks a node. */
function cellsWithThree(lattice: CellLattice): CellPart[] {
  return wholeCells(lattice).filter(
    ({ column, row }) => cellCorners(lattice, column, row).filter((k) => k >= 0).length >= 3,
  );
}

/** Which ground each lattice answers for. */
function layersOf(lattices: readonly CellLattice[], nodes: SurfaceNodes, question: GroundQuestion): GroundLayer[] {
  const seasonsOf = seasonsByLattice(lattices, nodes);
  return lattices.map((lattice, k) => {
    const region = groundsOf(lattices.length, seasonsOf, question)[k];
    const parts = region === null ? cellsWithThree(lattice) : cellParts(lattice, convexPieces(region));
    return { lattice, seasons: seasonsOf[k], region, parts };
  });
}

function groundsOf(count: number, seasonsOf: readonly (readonly string[])[], question: GroundQuestion) {
  const { window } = question;
  const grounds: (Region | null)[] = new Array(count).fill(window.rings.length === 0 ? null : window);
  if (count < 2 || window.rings.length === 0) return grounds;
  const newest = (k: number) => Math.max(-1, ...seasonsOf[k].map((season) => question.seasons.indexOf(season)));
  let rest = window;
  for (const k of Array.from(grounds.keys()).sort((a, b) => newest(b) - newest(a))) {
    const dug = union(question.dug.filter((d) => seasonsOf[k].includes(d.season)).map((d) => d.region));
    const own = intersection(dug, rest);
    grounds[k] = own;
    rest = difference(rest, own);
  }
  // ground of seasons without levels of their own: the first grid
  if (regionArea(rest) > 1e-9) grounds[0] = union([grounds[0] as Region, rest]);
  return grounds;
}

/** Each season belongs to the grid that holds most of its nodes. */
function seasonsByLattice(lattices: readonly CellLattice[], nodes: SurfaceNodes): string[][] {
  const { seasonNames, seasonShare } = nodes;
  const out = lattices.map((): string[] => []);
  seasonNames.forEach((season, s) => {
    const weight = lattices.map((lattice) =>
      lattice.node.reduce((sum, k) => (k < 0 ? sum : sum + seasonShare[k * seasonNames.length + s]), 0),
    );
    out[weight.indexOf(Math.max(...weight))].push(season);
  });
  return out;
}

const placeKey = (x: number, y: number) => `${Math.round(x * 1e4)} ${Math.round(y * 1e4)}`;

/** Thickness at all nodes, from the season's own levels where it has both. */
function withOwnSeason(question: GroundQuestion, nodes: SurfaceNodes, season: string): NodeThickness {
  const { levels } = question;
  const rows = Array.from(levels.x.keys()).filter((i) => levels.season[i] === season);
  const has = (surface: string) => rows.some((i) => levels.surface[i] === surface && levels.state[i] !== 'set_aside');
  if (!has('deposit_top') || !has('deposit_bottom')) return { thickness: nodes.z, sigma: nodes.sigma };
  const numbers = (values: Float64Array) => Float64Array.from(rows, (i) => values[i]);
  const words = <T>(values: readonly T[]) => rows.map((i) => values[i]);
  const own = ownNodes(
    {
      x: numbers(levels.x),
      y: numbers(levels.y),
      elevation: numbers(levels.elevation),
      sigma: numbers(levels.sigma),
      surface: words(levels.surface),
      season: words(levels.season),
      node: words(levels.node),
      state: words(levels.state),
    },
    question,
  );
  const thickness = nodes.z.slice();
  const sigma = nodes.sigma.slice();
  nodes.x.forEach((x, k) => {
    const at = own.get(placeKey(x, nodes.y[k]));
    if (at) [thickness[k], sigma[k]] = at;
  });
  return { thickness, sigma };
}

function ownNodes(levels: LevelColumns, { nodeValue, seasons }: GroundQuestion): Map<string, [number, number]> {
  const both = new Set<string>();
  for (let i = 0; i < levels.x.length; i++) {
    if (levels.surface[i] === 'deposit_top') both.add(placeKey(levels.x[i], levels.y[i]));
  }
  const meets = levels.surface.some(
    (surface, i) => surface === 'deposit_bottom' && both.has(placeKey(levels.x[i], levels.y[i])),
  );
  if (!meets) return new Map();
  const nodes = surfaceNodes(levels, { surface: 'thickness', nodeValue, seasons });
  return new Map(Array.from(nodes.x, (x, k) => [placeKey(x, nodes.y[k]), [nodes.z[k], nodes.sigma[k]]]));
}

/** A grid square, or the part of one inside the window, and the deposit in it. */
export interface SquareVolume {
  readonly column: number;
  readonly row: number;
  /** its ground as convex parts, metres */
  readonly pieces: readonly ConvexPolygon[];
  readonly areaM2: number;
  readonly measuredM2: number;
  readonly volumeM3: number;
  /** random error of the volume, m³ */
  readonly sigmaRandomM3: number;
  /** nodes about it that have both levels, and the cells that lack one */
  readonly nodes: number;
  readonly cellsWithout: number;
}

/**
 * The ground square by square.
 * @param squares  the lattice that cuts the ground; null = each grid's own cells
 */
export function squareVolumes(ground: MeasuredGround, squares: CellLattice | null): SquareVolume[] {
  const { thickness, sigma } = ground.seasonNodes(null);
  const scratch = new Float64Array(thickness.length);
  const found = new Map<string, SquareVolume>();
  for (const { lattice, region, parts: own } of ground.layers) {
    const unit = squares ?? lattice;
    const unitParts = squares === null || region === null ? own : cellParts(squares, convexPieces(region));
    for (const part of unitParts) {
      const pieces = piecesOf(unit, part);
      const parts = unit === lattice ? [part] : cellParts(lattice, pieces);
      const sums = thicknessVolume({ lattice, thickness }, parts, scratch);
      const corners = new Set(parts.flatMap((p) => cellCorners(lattice, p.column, p.row)));
      let variance = 0;
      let nodes = 0;
      for (const k of corners) {
        if (k < 0) continue;
        nodes++;
        if (scratch[k] !== 0) variance += (scratch[k] * sigma[k]) ** 2;
        scratch[k] = 0;
      }
      const key = `${part.column},${part.row}${squares ? '' : `,${ground.layers.findIndex((l) => l.lattice === lattice)}`}`;
      const before = found.get(key);
      found.set(key, {
        column: part.column,
        row: part.row,
        pieces: [...(before?.pieces ?? []), ...pieces],
        areaM2: (before?.areaM2 ?? 0) + areaOf(unit, part),
        measuredM2: (before?.measuredM2 ?? 0) + sums.measuredM2,
        volumeM3: (before?.volumeM3 ?? 0) + sums.volumeM3,
        sigmaRandomM3: Math.sqrt((before?.sigmaRandomM3 ?? 0) ** 2 + variance),
        nodes: (before?.nodes ?? 0) + nodes,
        cellsWithout: (before?.cellsWithout ?? 0) + sums.cellsWithout,
      });
    }
  }
  return [...found.values()].sort((a, b) => a.row - b.row || a.column - b.column);
}

function piecesOf(lattice: CellLattice, { column, row, polygons }: CellPart): ConvexPolygon[] {
  return (polygons ?? [[0, 0, 1, 0, 1, 1, 0, 1]]).map((polygon) => {
    const out: number[] = [];
    for (let i = 0; i < polygon.length; i += 2) {
      out.push(...cellPlace(lattice, column + polygon[i], row + polygon[i + 1]));
    }
    return out;
  });
}

function areaOf({ columnStep: c, rowStep: r }: CellLattice, { share }: CellPart): number {
  return share * (c[0] * r[1] - c[1] * r[0]);
}
