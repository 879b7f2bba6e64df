import { type Box, insideEvenOdd, type Region, regionBox, segmentDistanceSquared } from './rings.js';

/** One line or outline on the ground, as the hull is drawn: lines [2m] open, rings as in Region. */
export interface Shape {
  readonly type: 'line' | 'area';
  readonly parts: readonly Float64Array[];
}

/** Shapes taken apart into straight pieces. Shape numbers are positions in the list the pieces were made from. */
export interface Pieces {
  /** [4s] ax, ay, bx, by of each straight piece, metres */
  readonly ends: Float64Array;
  /** [s] number of the shape a piece belongs to */
  readonly owner: Uint32Array;
  /** areas, each with its box: ground inside one is at distance 0 from it */
  readonly areas: readonly { readonly region: Region; readonly box: Box; readonly owner: number }[];
}

/** Takes lines and areas apart into straight pieces; a line of one corner is a point. Left untouched. */
export function straightPieces(shapes: readonly Shape[]): Pieces {
  const ends: number[] = [];
  const owner: number[] = [];
  const areas: { region: Region; box: Box; owner: number }[] = [];
  shapes.forEach((shape, k) => {
    for (const part of shape.parts) {
      const corners = part.length / 2;
      const pieces = shape.type === 'area' ? corners : Math.max(corners - 1, Math.min(corners, 1));
      for (let i = 0; i < pieces; i++) {
        const j = shape.type === 'area' ? (i + 1) % corners : Math.min(i + 1, corners - 1);
        ends.push(part[2 * i], part[2 * i + 1], part[2 * j], part[2 * j + 1]);
        owner.push(k);
      }
    }
    if (shape.type === 'area') {
      const region = { rings: shape.parts };
      areas.push({ region, box: regionBox(region), owner: k });
    }
  });
  return { ends: Float64Array.from(ends), owner: Uint32Array.from(owner), areas };
}

/** Number of the first shape whose area holds the point; −1 = none. */
export function areaAround(pieces: Pieces, x: number, y: number): number {
  for (const { region, box, owner } of pieces.areas) {
    if (x >= box[0] && x <= box[2] && y >= box[1] && y <= box[3] && insideEvenOdd(region, x, y)) return owner;
  }
  return -1;
}

/** Squared distance from a point to piece s. */
export function pieceDistanceSquared(pieces: Pieces, s: number, x: number, y: number): number {
  const e = pieces.ends;
  return segmentDistanceSquared(x, y, e[4 * s], e[4 * s + 1], e[4 * s + 2], e[4 * s + 3]);
}

/** Answers "how far, and to which shape" at once, for points inside the box it was made for and beyond. */
export interface NearestShape {
  /** distance to the nearest line or area, 0 inside an area, metres; Infinity when there is no shape */
  distance(x: number, y: number): number;
  /** distance to the nearest piece, negative inside an area, metres */
  signedDistance(x: number, y: number): number;
  /** number of the nearest shape; the first drawn when several are equally near; −1 when there is none */
  shape(x: number, y: number): number;
}

/** Ground of one bucket against the areas: 0 wholly outside, 1 wholly inside one, 2 to be asked point by point. */
type Side = 0 | 1 | 2;

/**
 * A net of square buckets over the window. Each bucket keeps only the pieces that can be nearest to some point of
 * it: with d the distance from its centre and ρ its half diagonal, those within d_min + 2ρ. A question then costs
 * a handful of distances instead of one for each piece.
 *
 * @param pieces  the hull, metres from a local origin; left untouched
 * @param box     box around the window, same coordinates
 */
export function nearestShapes(pieces: Pieces, box: Box): NearestShape {
  const count = pieces.owner.length;
  const all = Uint32Array.from({ length: count }, (_, s) => s);
  const width = Math.max(box[2] - box[0], 1e-9);
  const height = Math.max(box[3] - box[1], 1e-9);
  const side = Math.sqrt((width * height) / Math.min(65_536, Math.max(1024, 4 * count)));
  const columns = Math.min(4096, Math.ceil(width / side));
  const rows = Math.min(4096, Math.ceil(height / side));
  const stepX = width / columns;
  const stepY = height / rows;
  const buckets: Uint32Array[] = new Array(columns * rows);
  const sides = new Uint8Array(columns * rows);

  const fill = (c0: number, c1: number, r0: number, r1: number, candidates: Uint32Array) => {
    const x = box[0] + ((c0 + c1) / 2) * stepX;
    const y = box[1] + ((r0 + r1) / 2) * stepY;
    const reach = Math.sqrt(((c1 - c0) * stepX) ** 2 + ((r1 - r0) * stepY) ** 2) / 2;
    const distances = Float64Array.from(candidates, (s) => Math.sqrt(pieceDistanceSquared(pieces, s, x, y)));
    let least = Infinity;
    for (const d of distances) if (d < least) least = d;
    const kept = candidates.filter((_, i) => distances[i] <= (least + 2 * reach) * (1 + 1e-9));
    if (c1 - c0 === 1 && r1 - r0 === 1) {
      const k = r0 * columns + c0;
      buckets[k] = kept;
      // no piece passes through the bucket: all of it is on one side
      sides[k] = (least > reach * (1 + 1e-9) ? (areaAround(pieces, x, y) >= 0 ? 1 : 0) : 2) satisfies Side;
    } else if (c1 - c0 >= r1 - r0) {
      const middle = (c0 + c1) >> 1;
      fill(c0, middle, r0, r1, kept);
      fill(middle, c1, r0, r1, kept);
    } else {
      const middle = (r0 + r1) >> 1;
      fill(c0, c1, r0, middle, kept);
      fill(c0, c1, middle, r1, kept);
    }
  };
  fill(0, columns, 0, rows, all);

  const bucketAt = (x: number, y: number): number => {
    if (!(x >= box[0] && x <= box[2] && y >= box[1] && y <= box[3])) return -1;
    const column = Math.min(columns - 1, Math.floor((x - box[0]) / stepX));
    const row = Math.min(rows - 1, Math.floor((y - box[1]) / stepY));
    return row * columns + column;
  };
  const isInside = (bucket: number, x: number, y: number): boolean => {
    const known = bucket < 0 ? 2 : sides[bucket];
    return known === 2 ? areaAround(pieces, x, y) >= 0 : known === 1;
  };
  const nearestPiece = (bucket: number, x: number, y: number): number => {
    const candidates = bucket < 0 ? all : buckets[bucket];
    let piece = -1;
    let least = Infinity;
    for (let i = 0; i < candidates.length; i++) {
      const d = pieceDistanceSquared(pieces, candidates[i], x, y);
      if (d < least) {
        least = d;
        piece = candidates[i];
      }
    }
    return piece;
  };
  const outlineDistance = (bucket: number, x: number, y: number): number => {
    const piece = nearestPiece(bucket, x, y);
    return piece < 0 ? Infinity : Math.sqrt(pieceDistanceSquared(pieces, piece, x, y));
  };
  return {
    distance: (x, y) => {
      const bucket = bucketAt(x, y);
      return isInside(bucket, x, y) ? 0 : outlineDistance(bucket, x, y);
    },
    signedDistance: (x, y) => {
      const bucket = bucketAt(x, y);
      const d = outlineDistance(bucket, x, y);
      return isInside(bucket, x, y) ? -d : d;
    },
    shape: (x, y) => {
      const bucket = bucketAt(x, y);
      if (isInside(bucket, x, y)) return areaAround(pieces, x, y);
      const piece = nearestPiece(bucket, x, y);
      return piece < 0 ? -1 : pieces.owner[piece];
    },
  };
}
