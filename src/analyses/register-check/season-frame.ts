import { parseLabel, squareLabel } from '../../domain/grid.js';
import type { LevelReadings, Sample } from '../../domain/sample.js';
import { findLattices } from '../../math/lattice.js';
import { fitSimilarity, type Similarity, transformed } from '../../math/similarity.js';

/** The grid as it lay in one season, counted in steps: node column and row from 0. */
export interface SeasonFrame {
  readonly stepM: number;
  toSteps(x: number, y: number): [number, number];
  toSite(column: number, row: number): [number, number];
  nodeName(column: number, row: number): string;
  squareName(column: number, row: number): string;
  /** column and row of the square a label names; null = no square of this grid */
  squareOf(label: string): [number, number] | null;
}

const noShift: Similarity = { scale: 1, rotationDeg: 0, tx: 0, ty: 0, a: 1, b: 0 };
/** labelled nodes further from one turned grid than this were not laid on it, metres */
const mostResidualM = 0.02;

/**
 * The grid of a season. Levels stand in metres of the first grid, so a re-laid grid shows in where its labelled nodes
 * lie: the frame is fitted to them. Without labels the nodes' own lattice serves; null when there is none.
 *
 * @param rows  readings of the season, by their number
 */
export function seasonFrame(sample: Sample, rows: readonly number[]): SeasonFrame | null {
  return sample.grid === null ? latticeFrame(sample.levels, rows) : gridSeasonFrame(sample, rows);
}

function gridSeasonFrame({ grid, levels }: Sample, rows: readonly number[]): SeasonFrame | null {
  if (grid === null) return null;
  const stepM = grid.node_spacing;
  const east = grid.corner.endsWith('east') ? 1 : 0;
  const north = grid.corner.startsWith('north') ? 1 : 0;
  const source: number[] = [];
  const target: number[] = [];
  const seen = new Set<string>();
  for (const i of rows) {
    const label = levels?.node[i] ?? null;
    const place = label === null || seen.has(label) ? null : parseLabel(grid, label);
    if (levels === null || label === null || place === null || !Number.isFinite(levels.x[i] + levels.y[i])) continue;
    seen.add(label);
    source.push(place.column * stepM, place.row * stepM);
    target.push(levels.x[i], levels.y[i]);
  }
  let similarity = noShift;
  if (source.length >= 6) {
    const fitted = fitSimilarity(Float64Array.from(source), Float64Array.from(target));
    const largest = fitted.residuals.reduce((most, v) => Math.max(most, Math.abs(v)), 0);
    if (largest <= mostResidualM) similarity = fitted;
  }
  return {
    ...frameOf(similarity, stepM),
    nodeName: (column, row) => squareLabel(grid, column, row),
    squareName: (column, row) => squareLabel(grid, column + east, row + north),
    squareOf: (label) => {
      const found = parseLabel(grid, label);
      return found ? [found.column - east, found.row - north] : null;
    },
  };
}

function latticeFrame(levels: LevelReadings | null, rows: readonly number[]): SeasonFrame | null {
  if (levels === null) return null;
  const places = new Map<string, number>();
  for (const i of rows) {
    if (Number.isFinite(levels.x[i] + levels.y[i])) places.set(`${levels.x[i]} ${levels.y[i]}`, i);
  }
  const [lattice] = findLattices(levels, [...places.values()]).lattices;
  if (lattice === undefined) return null;
  const { origin, along, stepM } = lattice;
  const frame = frameOf({ ...noShift, a: along[0] / stepM, b: along[1] / stepM, tx: origin[0], ty: origin[1] }, stepM);
  const name = (column: number, row: number) => {
    const [x, y] = frame.toSite(column, row);
    return `(${x.toFixed(2)}, ${y.toFixed(2)})`;
  };
  return { ...frame, nodeName: name, squareName: name, squareOf: () => null };
}

function frameOf(similarity: Similarity, stepM: number): Pick<SeasonFrame, 'stepM' | 'toSteps' | 'toSite'> {
  const { a, b, tx, ty } = similarity;
  const size = (a * a + b * b) * stepM;
  return {
    stepM,
    toSteps: (x, y) => [(a * (x - tx) + b * (y - ty)) / size, (a * (y - ty) - b * (x - tx)) / size],
    toSite: (column, row) => transformed(similarity, column * stepM, row * stepM),
  };
}
