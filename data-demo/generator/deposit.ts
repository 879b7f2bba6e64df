import { exponential } from '../../src/math/elementary.js';
import { gridSize } from './grids.js';
import { keelsonLengthM, shipCoordinates } from './ship.js';

/**
 * The ground: node values of the lower and the upper surface of the wreck deposit, and bilinear between nodes, so that
 * what the levels can tell is the whole truth and volumes come out exactly. Elevations in the site datum, up-positive.
 */
export const plane = { dipDeg: 3, downslopeDeg: 138, elevationAtOrigin: -0.054 } as const;
export const mound = { height: 0.62, ridge: 0.44, port: 0.88, starboard: 1.15, centreOff: 0.25, cover: 0.088 } as const;
/** The older pit dug by others: centre, radius and the share of the deposit taken at its middle. */
export const olderPit = { centre: [11.4, 5.0], radiusM: 1.3, taken: 0.75 } as const;
/** The detached stern section, which gathered a small body of its own. */
export const detachedStern = { centre: [5.0, 13.0], azimuthDeg: 31, lengthM: 3.2, breadthM: 1.9 } as const;

const gradient = Math.tan((plane.dipDeg * Math.PI) / 180);
const direction = (plane.downslopeDeg * Math.PI) / 180;

function bell(distance: number, spread: number): number {
  return exponential(-0.5 * (distance / spread) * (distance / spread));
}

function formedThickness(x: number, y: number): number {
  const { along, off } = shipCoordinates(x, y);
  const beyond = Math.max(0, 1 - along, along - (keelsonLengthM - 1));
  const d = off - mound.centreOff;
  const body =
    bell(beyond, 1.5) * (mound.height * bell(d, d < 0 ? mound.port : mound.starboard) + mound.ridge * bell(d, 0.3));
  const stern = 0.3 * bell(Math.sqrt((x - 5) * (x - 5) + (y - 13) * (y - 13)), 1.1);
  // a thin spread that runs out to nothing away from the hull
  const spread = Math.max(0, mound.cover - 0.004 * Math.abs(off) - 0.01 * beyond);
  const pit = Math.sqrt(
    (x - olderPit.centre[0]) * (x - olderPit.centre[0]) + (y - olderPit.centre[1]) * (y - olderPit.centre[1]),
  );
  const taken = pit < olderPit.radiusM ? olderPit.taken * (1 - (pit / olderPit.radiusM) * (pit / olderPit.radiusM)) : 0;
  return (body + stern + spread) * (1 - taken);
}

const nodeColumns = gridSize.columns + 1;
const nodeRows = gridSize.rows + 1;
const thicknessNodes = new Float64Array(nodeColumns * nodeRows);
for (let r = 0; r < nodeRows; r++) {
  for (let c = 0; c < nodeColumns; c++) thicknessNodes[r * nodeColumns + c] = formedThickness(c, r);
}

/** Vertical thickness of the deposit at a node, metres; column and row from 0. */
export function nodeThickness(column: number, row: number): number {
  return thicknessNodes[row * nodeColumns + column];
}

/** Vertical thickness of the deposit, metres. */
export function thickness(x: number, y: number): number {
  const c = Math.max(0, Math.min(gridSize.columns - 1, Math.floor(x)));
  const r = Math.max(0, Math.min(gridSize.rows - 1, Math.floor(y)));
  const fx = Math.max(0, Math.min(1, x - c));
  const fy = Math.max(0, Math.min(1, y - r));
  const south = nodeThickness(c, r) * (1 - fx) + nodeThickness(c + 1, r) * fx;
  const north = nodeThickness(c, r + 1) * (1 - fx) + nodeThickness(c + 1, r + 1) * fx;
  return south * (1 - fy) + north * fy;
}

/** Elevation of the bottom of the deposit, metres: an even slope. */
export function depositBottom(x: number, y: number): number {
  return plane.elevationAtOrigin - gradient * (Math.sin(direction) * x + Math.cos(direction) * y);
}

/** Elevation of the top of the deposit, metres. */
export function depositTop(x: number, y: number): number {
  return depositBottom(x, y) + thickness(x, y);
}

/** Elevation of the seabed before work: mobile sand over the deposit, 0.05 to 0.11 m. */
export function seabedBefore(x: number, y: number): number {
  return depositTop(x, y) + 0.08 + 0.03 * Math.sin(0.7 * x) * Math.cos(0.55 * y);
}
