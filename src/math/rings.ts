/**
 * Polygons in the plane, as the statistics use them: a region is a set of rings, each ring one interleaved
 * array x0, y0, x1, y1, … in metres, not closed; outer rings run anticlockwise, holes clockwise, so that
 * areas and line integrals simply add up.
 */
export interface Region {
  readonly rings: readonly Float64Array[];
}

/** Box around something: west, south, east, north. */
export type Box = readonly [number, number, number, number];

/** Area inside a ring. ring [2m], metres, anticlockwise, not closed → m²; negative when clockwise. */
export function ringArea(ring: Float64Array): number {
  // from the first corner, not from 0,0: on map coordinates the plain sum loses square centimetres
  const x0 = ring[0];
  const y0 = ring[1];
  let twice = 0;
  for (let i = 2; i + 3 < ring.length; i += 2) {
    twice += (ring[i] - x0) * (ring[i + 3] - y0) - (ring[i + 2] - x0) * (ring[i + 1] - y0);
  }
  return twice / 2;
}

/** Length of a closed ring. ring [2m], metres → metres. */
export function ringLength(ring: Float64Array): number {
  let sum = 0;
  const m = ring.length;
  for (let i = 0; i < m; i += 2) {
    const j = i + 2 === m ? 0 : i + 2;
    sum += Math.hypot(ring[j] - ring[i], ring[j + 1] - ring[i + 1]);
  }
  return sum;
}

/** Area of a region, holes taken off → m². */
export function regionArea(region: Region): number {
  let sum = 0;
  for (const ring of region.rings) sum += ringArea(ring);
  return sum;
}

/** Length of all edges of a region, those of its holes included → metres. */
export function regionPerimeter(region: Region): number {
  let sum = 0;
  for (const ring of region.rings) sum += ringLength(ring);
  return sum;
}

/** Box around a region → [west, south, east, north]; [Infinity, Infinity, -Infinity, -Infinity] when it has no ring. */
export function regionBox(region: Region): Box {
  let west = Infinity;
  let south = Infinity;
  let east = -Infinity;
  let north = -Infinity;
  for (const ring of region.rings) {
    for (let i = 0; i < ring.length; i += 2) {
      west = Math.min(west, ring[i]);
      east = Math.max(east, ring[i]);
      south = Math.min(south, ring[i + 1]);
      north = Math.max(north, ring[i + 1]);
    }
  }
  return [west, south, east, north];
}

/** Squared distance from a point to the segment a–b. */
export function segmentDistanceSquared(px: number, py: number, ax: number, ay: number, bx: number, by: number): number {
  const ux = bx - ax;
  const uy = by - ay;
  const length2 = ux * ux + uy * uy;
  let t = length2 > 0 ? ((px - ax) * ux + (py - ay) * uy) / length2 : 0;
  if (t < 0) t = 0;
  else if (t > 1) t = 1;
  const dx = px - ax - t * ux;
  const dy = py - ay - t * uy;
  return dx * dx + dy * dy;
}

/** Distance from a point to the nearest edge of a region, inside or outside → metres; Infinity without rings. */
export function boundaryDistance(region: Region, x: number, y: number): number {
  let best = Infinity;
  for (const ring of region.rings) {
    const m = ring.length;
    let ax = ring[m - 2];
    let ay = ring[m - 1];
    for (let i = 0; i < m; i += 2) {
      const d = segmentDistanceSquared(x, y, ax, ay, ring[i], ring[i + 1]);
      if (d < best) best = d;
      ax = ring[i];
      ay = ring[i + 1];
    }
  }
  return Math.sqrt(best);
}

/** Whether a point is inside, by the even-odd rule; on an edge either answer may come (see contains). */
export function insideEvenOdd(region: Region, x: number, y: number): boolean {
  let inside = false;
  for (const ring of region.rings) {
    const m = ring.length;
    let ax = ring[m - 2];
    let ay = ring[m - 1];
    for (let i = 0; i < m; i += 2) {
      const bx = ring[i];
      const by = ring[i + 1];
      if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) inside = !inside;
      ax = bx;
      ay = by;
    }
  }
  return inside;
}

/** Slack with which a point on an outer or hole edge still counts as inside: 1e-9 of the region's extent, metres. */
export function edgeSlack(region: Region): number {
  const [west, south, east, north] = regionBox(region);
  return 1e-9 * Math.max(east - west, north - south);
}

/** Whether a point belongs to a region; points on an outer or hole edge (within `slack` metres) belong to it. */
export function contains(region: Region, x: number, y: number, slack: number): boolean {
  return insideEvenOdd(region, x, y) || boundaryDistance(region, x, y) <= slack;
}

/** Turns rings so that outer rings run anticlockwise and holes clockwise, whatever order they came in; drops a repeated last corner. */
export function orientRings(polygons: readonly (readonly Float64Array[])[]): Region {
  const rings: Float64Array[] = [];
  for (const polygon of polygons) {
    polygon.forEach((given, k) => {
      const m = given.length;
      const closed = m >= 8 && given[0] === given[m - 2] && given[1] === given[m - 1];
      const ring = closed ? given.slice(0, m - 2) : given.slice();
      const outer = k === 0;
      rings.push(ringArea(ring) > 0 === outer ? ring : reverseRing(ring));
    });
  }
  return { rings };
}

function reverseRing(ring: Float64Array): Float64Array {
  const out = new Float64Array(ring.length);
  for (let i = 0, j = ring.length - 2; i < ring.length; i += 2, j -= 2) {
    out[i] = ring[j];
    out[i + 1] = ring[j + 1];
  }
  return out;
}

/** The same region moved by (−x, −y): the local origin that every sum should start from. */
export function shiftRegion(region: Region, x: number, y: number): Region {
  return {
    rings: region.rings.map((ring) => {
      const out = new Float64Array(ring.length);
      for (let i = 0; i < ring.length; i += 2) {
        out[i] = ring[i] - x;
        out[i + 1] = ring[i + 1] - y;
      }
      return out;
    }),
  };
}

/** Whether a region is a single rectangle with sides along the axes. */
export function isRectangle(region: Region): boolean {
  if (region.rings.length !== 1 || region.rings[0].length !== 8) return false;
  const r = region.rings[0];
  const [west, south, east, north] = regionBox(region);
  for (let i = 0; i < 8; i += 2) {
    if ((r[i] !== west && r[i] !== east) || (r[i + 1] !== south && r[i + 1] !== north)) return false;
  }
  return ringArea(r) === (east - west) * (north - south);
}
