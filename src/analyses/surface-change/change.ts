import { normalTwoSided } from '../../math/distributions.js';
import { findLattices, latticeOfGrid } from '../../math/lattice.js';
import { bilinearSurface } from '../../math/lattice-surface.js';
import { type CellLattice, type CellPart, cellCorners, cellLattices, wholeCells } from '../../math/level-cells.js';
import type { SurfaceNodes } from '../../math/level-nodes.js';
import { median } from '../../math/quantiles.js';
import { contains, edgeSlack, type Region } from '../../math/rings.js';
import { randomVolumeError, thicknessVolume } from '../../math/thickness-volume.js';

/** A surface at two times. */
export interface ChangeQuestion {
  readonly from: SurfaceNodes;
  readonly to: SurfaceNodes;
  readonly spacingM: number | null;
  /** share of chance differences that stay inside the level of detection */
  readonly confidence: number;
  /** standard deviation of a shift of all levels of one time against the other, metres */
  readonly sigmaSharedM: number;
  readonly dug: readonly Region[];
  /** remove: take the median shift of the stable nodes off first */
  readonly stableShift: 'report' | 'remove';
}

/** Both surfaces at one node of the earlier one. */
interface ChangedNode {
  /** number of the node in `from` */
  readonly index: number;
  readonly x: number;
  readonly y: number;
  readonly label: string | null;
  readonly fromM: number;
  readonly toM: number;
  /** the later surface was read between its nodes, not levelled here */
  readonly isBetween: boolean;
  readonly differenceM: number;
  readonly sigmaM: number;
  /** differences up to here can come from the errors alone */
  readonly detectionM: number;
  readonly isSignificant: boolean;
  /** lies outside all dug ground */
  readonly isStable: boolean;
  /** ground the node stands for in squares with four common nodes, m² */
  readonly groundM2: number;
}

/** What nodes outside the dug ground say about a shift between the two times. */
interface StableCheck {
  readonly nodes: number;
  readonly medianM: number;
  /** standard error of the median, from the scatter of the differences, at least from the errors stated */
  readonly sigmaM: number;
  /** further off zero than its error explains, at 95 % */
  readonly isShifted: boolean;
}

interface SideOfChange {
  readonly nodes: number;
  readonly areaM2: number;
  readonly volumeM3: number;
  readonly sigmaM3: number;
}

export interface SurfaceChange {
  readonly nodes: readonly ChangedNode[];
  /** null = no dug area known, or fewer than three nodes outside it */
  readonly stable: StableCheck | null;
  readonly removedShiftM: number;
  /** shared error left after a removed shift */
  readonly sigmaSharedM: number;
  readonly cells: number;
  readonly comparedM2: number;
  readonly raised: SideOfChange;
  readonly lowered: SideOfChange;
  /** all differences, those inside the level of detection too */
  readonly net: { readonly volumeM3: number; readonly sigmaRandomM3: number; readonly sigmaSharedM3: number };
  readonly lattices: readonly CellLattice[];
}

/** fewest nodes outside the dug ground that say anything of a shift */
const leastStable = 3;

const placeKey = (x: number, y: number) => `${Math.round(x * 1e4)} ${Math.round(y * 1e4)}`;

type TwoSurfaces = Pick<ChangeQuestion, 'from' | 'to' | 'spacingM'>;

/** Values and errors of the later surface at the nodes of the earlier: as levelled there, else between its nodes. */
function laterAt({ from, to, spacingM }: TwoSurfaces) {
  const own = new Map(Array.from(to.x, (x, k): [string, number] => [placeKey(x, to.y[k]), k]));
  const all = Array.from(to.x.keys());
  const grid = spacingM === null ? { lattice: null, beside: all } : latticeOfGrid(to, spacingM);
  const lattices = [...(grid.lattice ? [grid.lattice] : []), ...findLattices(to, grid.beside).lattices];
  const xy = Float64Array.from({ length: 2 * from.x.length }, (_, i) => (i % 2 === 0 ? from.x : from.y)[i >> 1]);
  const read = bilinearSurface(lattices, to, 'none')(xy);
  return Array.from(from.x, (x, i) => {
    const k = own.get(placeKey(x, from.y[i]));
    return k === undefined
      ? { z: read.value[i], sigma: read.sigma[i], isBetween: true }
      : { z: to.z[k], sigma: to.sigma[k], isBetween: false };
  });
}

/** How many nodes of the earlier surface have the later one too. */
export function commonCount(question: TwoSurfaces): number {
  return laterAt(question).filter((later) => !Number.isNaN(later.z)).length;
}

/**
 * The difference of a surface between two times, node by node, with a level of detection from the errors of both;
 * volumes of what lies beyond it.
 *
 * Each node is tested for itself: of a hundred unchanged nodes about five still stand out at 95 %.
 *
 * @see Lane, Westaway & Hicks 2003, doi:10.1002/esp.483; Wheaton et al. 2010, doi:10.1002/esp.1886
 */
export function surfaceChange(question: ChangeQuestion): SurfaceChange {
  const { from, confidence, dug } = question;
  const later = laterAt(question);
  const common = Array.from(from.x.keys()).filter((i) => !Number.isNaN(later[i].z));
  const raw = Float64Array.from(common, (i) => later[i].z - from.z[i]);
  const sigma = Float64Array.from(common, (i) => Math.hypot(from.sigma[i], later[i].sigma));
  const isStable = stableTest(dug);
  const stableNodes = common.map((i) => isStable(from.x[i], from.y[i]));
  const stable = stableCheck(
    raw.filter((_, k) => stableNodes[k]),
    sigma.filter((_, k) => stableNodes[k]),
  );
  const isRemoved = question.stableShift === 'remove' && stable !== null;
  const removedShiftM = isRemoved ? stable.medianM : 0;
  const sigmaSharedM = isRemoved ? stable.sigmaM : question.sigmaSharedM;
  const difference = raw.map((d) => d - removedShiftM);
  const deviate = normalDeviate(confidence);
  const places = { x: Float64Array.from(common, (i) => from.x[i]), y: Float64Array.from(common, (i) => from.y[i]) };
  const { lattices } = cellLattices(places, question.spacingM);
  const ground = groundOf(lattices, difference);
  const nodes = common.map((i, k): ChangedNode => {
    const detectionM = deviate * Math.hypot(sigma[k], sigmaSharedM);
    return {
      index: i,
      x: from.x[i],
      y: from.y[i],
      label: from.label[i],
      fromM: from.z[i],
      toM: later[i].z - removedShiftM,
      isBetween: later[i].isBetween,
      differenceM: difference[k],
      sigmaM: sigma[k],
      detectionM,
      isSignificant: Math.abs(difference[k]) > detectionM,
      isStable: stableNodes[k],
      groundM2: ground.shares[k],
    };
  });
  const side = (sign: 1 | -1): SideOfChange => {
    const own = nodes.filter((node) => node.isSignificant && sign * node.differenceM > 0);
    const areaM2 = own.reduce((sum, node) => sum + node.groundM2, 0);
    const random = Math.sqrt(own.reduce((sum, node) => sum + (node.groundM2 * node.sigmaM) ** 2, 0));
    return {
      nodes: own.length,
      areaM2,
      volumeM3: own.reduce((sum, node) => sum + node.groundM2 * node.differenceM, 0),
      sigmaM3: Math.hypot(random, areaM2 * sigmaSharedM),
    };
  };
  return {
    nodes,
    stable,
    removedShiftM,
    sigmaSharedM,
    cells: ground.cells,
    comparedM2: ground.areaM2,
    raised: side(1),
    lowered: side(-1),
    net: {
      volumeM3: ground.volumeM3,
      sigmaRandomM3: randomVolumeError(ground.shares, sigma),
      sigmaSharedM3: ground.areaM2 * sigmaSharedM,
    },
    lattices,
  };
}

/** Cells of a lattice whose four nodes were compared. */
export function comparedCells(lattice: CellLattice): CellPart[] {
  return wholeCells(lattice).filter(({ column, row }) => cellCorners(lattice, column, row).every((k) => k >= 0));
}

function groundOf(lattices: readonly CellLattice[], difference: Float64Array) {
  const shares = new Float64Array(difference.length);
  let [cells, areaM2, volumeM3] = [0, 0, 0];
  for (const lattice of lattices) {
    const sums = thicknessVolume({ lattice, thickness: difference }, comparedCells(lattice), shares);
    cells += sums.cells;
    areaM2 += sums.measuredM2;
    volumeM3 += sums.volumeM3;
  }
  return { shares, cells, areaM2, volumeM3 };
}

function stableTest(dug: readonly Region[]): (x: number, y: number) => boolean {
  const known = dug.filter((region) => region.rings.length > 0);
  if (known.length === 0) return () => false;
  const slack = known.map(edgeSlack);
  return (x, y) => !known.some((region, k) => contains(region, x, y, slack[k]));
}

/** turns the median absolute deviation of normal errors into their standard deviation */
const madToSigma = 1.482602218505602;
/** standard error of a median against that of a mean, for normal errors */
const medianToMean = Math.sqrt(Math.PI / 2);

function stableCheck(differences: Float64Array, sigma: Float64Array): StableCheck | null {
  const middle = median(differences);
  if (middle === null || differences.length < leastStable) return null;
  // of a few nodes the scatter is hardly known, and may come out far too small
  const spread = Math.max(madToSigma * (median(differences.map((d) => Math.abs(d - middle))) ?? 0), median(sigma) ?? 0);
  const sigmaM = (medianToMean * spread) / Math.sqrt(differences.length);
  return {
    nodes: differences.length,
    medianM: middle,
    sigmaM,
    isShifted: Math.abs(middle) > 1.959963984540054 * sigmaM && Math.abs(middle) > 1e-9,
  };
}

/** How many standard deviations hold a share of normal errors: 1.96 for 0.95. */
export function normalDeviate(confidence: number): number {
  let low = 0;
  let high = 40;
  for (let k = 0; k < 80; k++) {
    const middle = (low + high) / 2;
    if (normalTwoSided(middle) > 1 - confidence) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
