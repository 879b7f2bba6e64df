import type { FeatureTable, Geometry } from '../domain/feature-table.js';

type ShapeGeometry = Extract<Geometry, { type: 'line' | 'area' }>;
type Box = readonly [number, number, number, number];

/** Well outside the root square, so that no cut edge is ever drawn. */
const frame: Box = [-0.4, -0.4, 1.4, 1.4];

/**
 * Shapes that reach far beyond the root square of a tile matrix set, cut to its surroundings: the cutter of tiles takes
 * a shape twice as wide as its world for one around the globe.
 * @param unit  [2k] corners in the unit square, parallel to the geometry's coordinates; left untouched
 * @returns     the same table and corners when nothing reaches that far
 */
export function clipShapes(
  table: FeatureTable,
  unit: Float64Array,
): { readonly table: FeatureTable; readonly unit: Float64Array } {
  const { geometry } = table;
  if (geometry === null || geometry.type === 'point' || unit.every((v) => !(v < frame[0] || v > frame[2]))) {
    return { table, unit };
  }
  const corners: number[] = [];
  const partStart: number[] = [0];
  const hole: number[] = [];
  const featureStart: number[] = [0];
  for (let row = 0; row < table.length; row++) {
    for (let part = geometry.featureStart[row]; part < geometry.featureStart[row + 1]; part++) {
      for (const piece of clippedPart(geometry, unit, part)) {
        corners.push(...piece);
        partStart.push(corners.length / 2);
        hole.push(geometry.hole[part]);
      }
    }
    featureStart.push(hole.length);
  }
  const coordinates = Float64Array.from(corners);
  return {
    unit: coordinates,
    table: {
      ...table,
      geometry: {
        type: geometry.type,
        coordinates,
        partStart: Uint32Array.from(partStart),
        featureStart: Uint32Array.from(featureStart),
        hole: Uint8Array.from(hole),
      },
    },
  };
}

function clippedPart(geometry: ShapeGeometry, unit: Float64Array, part: number): number[][] {
  const corners = unit.subarray(2 * geometry.partStart[part], 2 * geometry.partStart[part + 1]);
  // an unknown place among them: the cutter leaves such a shape out
  if (corners.every((v) => !(v < frame[0] || v > frame[2])) || corners.some(Number.isNaN)) return [[...corners]];
  if (geometry.type === 'line') return clippedLine(corners);
  const ring = clippedRing(corners);
  return ring.length >= 6 ? [ring] : [];
}

/** Sutherland and Hodgman's cut of a ring against the four sides of the frame, one after the other. */
function clippedRing(corners: Float64Array): number[] {
  let ring = [...corners];
  for (const { axis, limit, sign } of [
    { axis: 0, limit: frame[0], sign: 1 },
    { axis: 0, limit: frame[2], sign: -1 },
    { axis: 1, limit: frame[1], sign: 1 },
    { axis: 1, limit: frame[3], sign: -1 },
  ]) {
    const kept: number[] = [];
    for (let k = 0; k < ring.length; k += 2) {
      const before = (k + ring.length - 2) % ring.length;
      const here = sign * (ring[k + axis] - limit);
      const there = sign * (ring[before + axis] - limit);
      if (here < 0 !== there < 0) {
        const share = there / (there - here);
        const cut = [0, 1].map((i) => ring[before + i] + share * (ring[k + i] - ring[before + i]));
        cut[axis] = limit;
        kept.push(...cut);
      }
      if (here >= 0) kept.push(ring[k], ring[k + 1]);
    }
    ring = kept;
  }
  return ring;
}

/** Liang and Barsky's cut of each stretch of a line; stretches that meet stay one line. */
function clippedLine(corners: Float64Array): number[][] {
  const pieces: number[][] = [];
  let piece: number[] = [];
  for (let k = 0; k + 3 < corners.length; k += 2) {
    const [ax, ay, bx, by] = corners.subarray(k, k + 4);
    let enters = 0;
    let leaves = 1;
    for (const [from, change, low, high] of [
      [ax, bx - ax, frame[0], frame[2]],
      [ay, by - ay, frame[1], frame[3]],
    ]) {
      if (change === 0) {
        if (from < low || from > high) leaves = -1;
        continue;
      }
      const [one, other] = [(low - from) / change, (high - from) / change];
      enters = Math.max(enters, Math.min(one, other));
      leaves = Math.min(leaves, Math.max(one, other));
    }
    if (enters > leaves) continue;
    if (enters > 0 || piece.length === 0) {
      piece = [ax + enters * (bx - ax), ay + enters * (by - ay)];
      pieces.push(piece);
    }
    piece.push(ax + leaves * (bx - ax), ay + leaves * (by - ay));
  }
  return pieces;
}
