import { insideEvenOdd, isRectangle, type Region, regionBox } from './rings.js';

/**
 * Share of a circle's rim that lies inside the dug area: 1 for a circle wholly inside, about ½ round a place on a
 * straight edge. A pair of finds at that distance stands for 1 / share pairs, as the rest could not be seen.
 *
 * A rectangle has a closed form. In any other window the rim is cut where it crosses an edge and the middle of every
 * arc is looked up: crossing a corner twice or touching an edge then does no harm, as counting crossings would.
 *
 * @param window  outer rings anticlockwise, holes clockwise, metres; holes and several outer rings allowed
 * @returns       the share, 0 to 1, for a centre (x, y) inside the window and a radius in metres
 * @see Ripley 1977, doi:10.1111/j.2517-6161.1977.tb01615.x
 */
export function circleFraction(window: Region): (x: number, y: number, radiusM: number) => number {
  if (isRectangle(window)) {
    const [west, south, east, north] = regionBox(window);
    return (x, y, radiusM) => rectangleFraction([x - west, y - south, east - x, north - y], radiusM);
  }
  const edges = edgesOf(window);
  return (x, y, radiusM) => polygonFraction({ window, edges, x, y }, radiusM);
}

/** Arcs beyond the four sides, taken round; those beyond neighbouring sides overlap where the corner is nearer than the radius. */
function rectangleFraction(sides: readonly number[], radius: number): number {
  let outside = 0;
  for (let k = 0; k < 4; k++) {
    const side = sides[k];
    if (side >= radius) continue;
    outside += 2 * Math.acos(side / radius);
    const next = sides[(k + 1) % 4];
    if (side * side + next * next < radius * radius) {
      outside -= Math.acos(side / radius) + Math.acos(next / radius) - Math.PI / 2;
    }
  }
  return Math.max(0, 1 - outside / (2 * Math.PI));
}

function edgesOf(window: Region): Float64Array {
  const out: number[] = [];
  for (const ring of window.rings) {
    for (let i = 0; i < ring.length; i += 2) {
      const j = i + 2 === ring.length ? 0 : i + 2;
      out.push(ring[i], ring[i + 1], ring[j], ring[j + 1]);
    }
  }
  return Float64Array.from(out);
}

function polygonFraction(place: { window: Region; edges: Float64Array; x: number; y: number }, radius: number): number {
  const { window, edges, x, y } = place;
  const angles: number[] = [];
  for (let k = 0; k < edges.length; k += 4) {
    const ax = edges[k] - x;
    const ay = edges[k + 1] - y;
    const dx = edges[k + 2] - edges[k];
    const dy = edges[k + 3] - edges[k + 1];
    const length2 = dx * dx + dy * dy;
    const middle = -(ax * dx + ay * dy) / length2;
    const cross = ax * dy - ay * dx;
    const half2 = (radius * radius - (cross * cross) / length2) / length2;
    if (!(half2 >= 0)) continue;
    const half = Math.sqrt(half2);
    for (const t of [middle - half, middle + half]) {
      // a little beyond the ends: a corner met twice is harmless, a corner missed is not
      if (t >= -1e-9 && t <= 1 + 1e-9) angles.push(Math.atan2(ay + t * dy, ax + t * dx));
    }
  }
  if (angles.length === 0) return insideEvenOdd(window, x + radius, y) ? 1 : 0;
  angles.sort((a, b) => a - b);
  let inside = 0;
  for (let k = 0; k < angles.length; k++) {
    const from = angles[k];
    const to = k + 1 < angles.length ? angles[k + 1] : angles[0] + 2 * Math.PI;
    const middle = (from + to) / 2;
    if (to > from && insideEvenOdd(window, x + radius * Math.cos(middle), y + radius * Math.sin(middle))) {
      inside += to - from;
    }
  }
  return inside / (2 * Math.PI);
}
