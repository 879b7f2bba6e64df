type Place = readonly [number, number];

/** Where a reading lets a point lie in plan: round a point at a distance, or on a straight line (unit direction). */
export type Locus =
  | { readonly kind: 'circle'; readonly x: number; readonly y: number; readonly radius: number }
  | { readonly kind: 'line'; readonly x: number; readonly y: number; readonly ux: number; readonly uy: number };

/** Share of the radius by which two places are kept apart when loci do not quite meet: both sides are then tried. */
const nudge = 0.03;

/** Half the chord, or a little where there is none. */
const halfChord = (radius: number, distance: number): number =>
  Math.max(Math.sqrt(Math.max(0, radius * radius - distance * distance)), nudge * radius);

/** Where two loci cross: up to two places. Loci that do not quite meet give the places between them. */
export function crossings(one: Locus, other: Locus): Place[] {
  if (one.kind === 'line') return other.kind === 'line' ? lineCrossing(one, other) : lineThroughCircle(one, other);
  return other.kind === 'line' ? lineThroughCircle(other, one) : circleCrossings(one, other);
}

type Circle = Extract<Locus, { kind: 'circle' }>;
type Line = Extract<Locus, { kind: 'line' }>;

function circleCrossings(one: Circle, other: Circle): Place[] {
  const dx = other.x - one.x;
  const dy = other.y - one.y;
  const apart = Math.sqrt(dx * dx + dy * dy);
  if (!(apart > 1e-9)) return [];
  const [ux, uy] = [dx / apart, dy / apart];
  const along = (one.radius * one.radius - other.radius * other.radius + apart * apart) / (2 * apart);
  const reach = Math.max(-one.radius, Math.min(one.radius, along));
  const h = halfChord(one.radius, along);
  const [fx, fy] = [one.x + reach * ux, one.y + reach * uy];
  return [
    [fx - h * uy, fy + h * ux],
    [fx + h * uy, fy - h * ux],
  ];
}

function lineThroughCircle(line: Line, circle: Circle): Place[] {
  const along = (circle.x - line.x) * line.ux + (circle.y - line.y) * line.uy;
  const [fx, fy] = [line.x + along * line.ux, line.y + along * line.uy];
  const h = halfChord(circle.radius, Math.hypot(circle.x - fx, circle.y - fy));
  return [
    [fx + h * line.ux, fy + h * line.uy],
    [fx - h * line.ux, fy - h * line.uy],
  ];
}

function lineCrossing(one: Line, other: Line): Place[] {
  const cross = one.ux * other.uy - one.uy * other.ux;
  if (Math.abs(cross) < 1e-6) return [];
  const t = ((other.x - one.x) * other.uy - (other.y - one.y) * other.ux) / cross;
  return [[one.x + t * one.ux, one.y + t * one.uy]];
}

/** A point in space and a distance from it. */
export interface Sphere {
  readonly x: number;
  readonly y: number;
  readonly z: number;
  readonly radius: number;
}

/** Where three spheres meet: two places, one on either side of their centres' plane; none when the centres lie in a line. */
export function sphereCrossings(a: Sphere, b: Sphere, c: Sphere): [number, number, number][] {
  const ab = [b.x - a.x, b.y - a.y, b.z - a.z];
  const ac = [c.x - a.x, c.y - a.y, c.z - a.z];
  const d = Math.hypot(...ab);
  if (!(d > 1e-9)) return [];
  const ex = ab.map((v) => v / d);
  const i = ex[0] * ac[0] + ex[1] * ac[1] + ex[2] * ac[2];
  const across = ac.map((v, k) => v - i * ex[k]);
  const j = Math.hypot(...across);
  if (!(j > 1e-6 * d)) return [];
  const ey = across.map((v) => v / j);
  const ez = [ex[1] * ey[2] - ex[2] * ey[1], ex[2] * ey[0] - ex[0] * ey[2], ex[0] * ey[1] - ex[1] * ey[0]];
  const x = (a.radius ** 2 - b.radius ** 2 + d * d) / (2 * d);
  const y = (a.radius ** 2 - c.radius ** 2 + i * i + j * j - 2 * i * x) / (2 * j);
  const z = halfChord(a.radius, Math.hypot(x, y));
  return [z, -z].map((side) => [
    a.x + x * ex[0] + y * ey[0] + side * ez[0],
    a.y + x * ex[1] + y * ey[1] + side * ez[1],
    a.z + x * ex[2] + y * ey[2] + side * ez[2],
  ]);
}
