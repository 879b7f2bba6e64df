import { insideEvenOdd, ringArea } from '../math/rings.js';

/** Rings of one polygon as they came: closed, the outer one first. */
export type PolygonRings = readonly Float64Array[];

interface Segment {
  readonly polygon: number;
  readonly ring: number;
  /** 1-based corner it begins at */
  readonly corner: number;
  readonly ax: number;
  readonly ay: number;
  readonly bx: number;
  readonly by: number;
}

const largestRing = 20_000;
const place = (x: number, y: number): string => `${round(x)}, ${round(y)}`;
const round = (v: number): string => String(Number(v.toFixed(3)));

const ringName = (polygon: number, ring: number, polygons: number): string =>
  `${polygons > 1 ? `part ${polygon + 1}, ` : ''}${ring === 0 ? 'outer ring' : `hole ${ring}`}`;

/**
 * What is wrong with a polygon or several, in words: an unclosed ring, a repeated corner, a spike, a crossing, no area,
 * a hole that is not inside, parts that overlap. Nothing is repaired: which corner was meant is the surveyor's to say.
 * @param polygons  rings with their first corner repeated at the end, planar coordinates
 * @returns the first fault with its place, null when there is none
 */
export function polygonFault(polygons: readonly PolygonRings[]): string | null {
  for (const [p, rings] of polygons.entries()) {
    for (const [r, ring] of rings.entries()) {
      const fault = ringFault(ring);
      if (fault) return `${ringName(p, r, polygons.length)}: ${fault}`;
    }
  }
  return crossingFault(polygons) ?? nestingFault(polygons);
}

/** What is wrong with a line, in words: too few corners or a repeated one. */
export function lineFault(line: Float64Array): string | null {
  if (line.length < 4) return 'a line needs at least two corners';
  return repeatedCorner(line);
}

function repeatedCorner(line: Float64Array): string | null {
  for (let i = 2; i < line.length; i += 2) {
    if (line[i] === line[i - 2] && line[i + 1] === line[i - 1])
      return `corner ${i / 2 + 1} repeats the one before it (${place(line[i], line[i + 1])})`;
  }
  return null;
}

function ringFault(ring: Float64Array): string | null {
  const m = ring.length;
  if (m < 8) return `has ${m / 2} corners; a closed ring needs at least four, the first and the last being the same`;
  if (m / 2 > largestRing) return `has ${m / 2} corners; at most ${largestRing} are taken`;
  if (ring[0] !== ring[m - 2] || ring[1] !== ring[m - 1])
    return `is not closed: it begins at ${place(ring[0], ring[1])} and ends at ${place(ring[m - 2], ring[m - 1])}`;
  const repeated = repeatedCorner(ring);
  if (repeated) return repeated;
  for (let i = 2; i < m; i += 2) {
    const next = i + 2 < m ? i + 2 : 2;
    const turn = orientation(ring[i - 2], ring[i - 1], ring[i], ring[i + 1], ring[next], ring[next + 1]);
    const forward =
      (ring[i] - ring[i - 2]) * (ring[next] - ring[i]) + (ring[i + 1] - ring[i - 1]) * (ring[next + 1] - ring[i + 1]);
    if (turn === 0 && forward < 0) return `has a spike at corner ${i / 2 + 1} (${place(ring[i], ring[i + 1])})`;
  }
  return ringArea(ring.subarray(0, m - 2)) === 0 && m === 8 ? 'has no area' : null;
}

/** Twice the signed area of a triangle, from its first corner. */
function orientation(ax: number, ay: number, bx: number, by: number, cx: number, cy: number): number {
  return (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
}

type Meeting = { readonly kind: 'cross' | 'overlap' | 'touch'; readonly x: number; readonly y: number };

const within = (a: number, b: number, v: number): boolean => (a <= b ? a <= v && v <= b : b <= v && v <= a);

/** How two segments meet; null when they do not. */
function meeting(s: Segment, t: Segment): Meeting | null {
  const o1 = orientation(s.ax, s.ay, s.bx, s.by, t.ax, t.ay);
  const o2 = orientation(s.ax, s.ay, s.bx, s.by, t.bx, t.by);
  const o3 = orientation(t.ax, t.ay, t.bx, t.by, s.ax, s.ay);
  const o4 = orientation(t.ax, t.ay, t.bx, t.by, s.bx, s.by);
  if (o1 === 0 && o2 === 0) return collinearMeeting(s, t);
  if (o1 * o2 < 0 && o3 * o4 < 0) {
    const share = o1 / (o1 - o2);
    return { kind: 'cross', x: t.ax + share * (t.bx - t.ax), y: t.ay + share * (t.by - t.ay) };
  }
  const onS = (x: number, y: number) => within(s.ax, s.bx, x) && within(s.ay, s.by, y);
  const onT = (x: number, y: number) => within(t.ax, t.bx, x) && within(t.ay, t.by, y);
  if (o1 === 0 && onS(t.ax, t.ay)) return { kind: 'touch', x: t.ax, y: t.ay };
  if (o2 === 0 && onS(t.bx, t.by)) return { kind: 'touch', x: t.bx, y: t.by };
  if (o3 === 0 && onT(s.ax, s.ay)) return { kind: 'touch', x: s.ax, y: s.ay };
  if (o4 === 0 && onT(s.bx, s.by)) return { kind: 'touch', x: s.bx, y: s.by };
  return null;
}

function collinearMeeting(s: Segment, t: Segment): Meeting | null {
  // along the longer axis of the first segment
  const alongX = Math.abs(s.bx - s.ax) >= Math.abs(s.by - s.ay);
  const range = (u: Segment) => (alongX ? [u.ax, u.bx] : [u.ay, u.by]).sort((a, b) => a - b);
  const [s0, s1] = range(s);
  const [t0, t1] = range(t);
  const low = Math.max(s0, t0);
  const high = Math.min(s1, t1);
  if (low > high) return null;
  const share = alongX ? (low - s.ax) / (s.bx - s.ax) : (low - s.ay) / (s.by - s.ay);
  const at = { x: s.ax + share * (s.bx - s.ax), y: s.ay + share * (s.by - s.ay) };
  return { kind: low < high ? 'overlap' : 'touch', ...at };
}

function segmentsOf(polygons: readonly PolygonRings[]): Segment[] {
  const out: Segment[] = [];
  for (const [polygon, rings] of polygons.entries()) {
    for (const [ring, line] of rings.entries()) {
      for (let i = 0; i + 3 < line.length; i += 2)
        out.push({
          polygon,
          ring,
          corner: i / 2 + 1,
          ax: line[i],
          ay: line[i + 1],
          bx: line[i + 2],
          by: line[i + 3],
        });
    }
  }
  return out;
}

/** Looks at every two segments whose boxes meet, swept from west to east. */
function crossingFault(polygons: readonly PolygonRings[]): string | null {
  const segments = segmentsOf(polygons).sort((s, t) => Math.min(s.ax, s.bx) - Math.min(t.ax, t.bx));
  const touches = new Map<string, Set<string>>();
  let active: Segment[] = [];
  for (const s of segments) {
    const west = Math.min(s.ax, s.bx);
    active = active.filter((t) => Math.max(t.ax, t.bx) >= west);
    for (const t of active) {
      if (Math.max(s.ay, s.by) < Math.min(t.ay, t.by) || Math.min(s.ay, s.by) > Math.max(t.ay, t.by)) continue;
      const fault = pairFault(s, t, { polygons, touches });
      if (fault) return fault;
    }
    active.push(s);
  }
  return null;
}

function pairFault(
  s: Segment,
  t: Segment,
  given: { polygons: readonly PolygonRings[]; touches: Map<string, Set<string>> },
): string | null {
  const { polygons } = given;
  const sameRing = s.polygon === t.polygon && s.ring === t.ring;
  if (sameRing) {
    const last = polygons[s.polygon][s.ring].length / 2 - 1;
    const apart = Math.abs(s.corner - t.corner);
    // neighbours share a corner; their folding back was looked at as a spike
    if (apart === 1 || apart === last - 1) return null;
  }
  const met = meeting(s, t);
  if (!met) return null;
  const at = place(met.x, met.y);
  const name = ringName(s.polygon, s.ring, polygons.length);
  if (sameRing) {
    const how = met.kind === 'touch' ? 'touches' : 'crosses';
    return `${name}: ${how} itself at ${at} (edges from corners ${Math.min(s.corner, t.corner)} and ${Math.max(s.corner, t.corner)})`;
  }
  const other = ringName(t.polygon, t.ring, polygons.length);
  if (met.kind !== 'touch') return `${name}: ${met.kind === 'cross' ? 'crosses' : 'runs along'} ${other} at ${at}`;
  if (s.polygon !== t.polygon) return null;
  const key = [s.ring, t.ring].sort((a, b) => a - b).join(' ');
  const places = given.touches.get(key) ?? new Set();
  given.touches.set(key, places.add(at));
  return places.size > 1 ? `${name}: touches ${other} in more than one place (${[...places].join('; ')})` : null;
}

/** A corner of a ring that does not lie on another ring tells which side the ring is on. */
function sideOf(ring: Float64Array, of: readonly Float64Array[]): 'inside' | 'outside' {
  for (let i = 0; i + 1 < ring.length; i += 2) {
    const onEdge = of.some((other) => liesOn(other, ring[i], ring[i + 1]));
    if (!onEdge) return insideEvenOdd({ rings: of }, ring[i], ring[i + 1]) ? 'inside' : 'outside';
  }
  return 'inside';
}

function liesOn(ring: Float64Array, x: number, y: number): boolean {
  for (let i = 0; i + 3 < ring.length; i += 2) {
    const [ax, ay, bx, by] = [ring[i], ring[i + 1], ring[i + 2], ring[i + 3]];
    if (within(ax, bx, x) && within(ay, by, y) && orientation(ax, ay, bx, by, x, y) === 0) return true;
  }
  return false;
}

function nestingFault(polygons: readonly PolygonRings[]): string | null {
  for (const [p, [outer, ...holes]] of polygons.entries()) {
    for (const [h, hole] of holes.entries()) {
      const name = ringName(p, h + 1, polygons.length);
      if (sideOf(hole, [outer]) === 'outside') return `${name}: lies outside its outer ring`;
      for (const [k, other] of holes.entries())
        if (k !== h && sideOf(hole, [other]) === 'inside') return `${name}: lies inside hole ${k + 1}`;
    }
    for (const [q, rings] of polygons.entries())
      if (q !== p && sideOf(outer, rings) === 'inside')
        return `${ringName(p, 0, polygons.length)}: lies inside part ${q + 1}`;
  }
  return null;
}
