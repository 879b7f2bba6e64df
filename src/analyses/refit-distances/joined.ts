import type { Sample } from '../../domain/sample.js';
import { contains, edgeSlack, insideEvenOdd, regionBox, ringArea } from '../../math/rings.js';
import type { JoinedFinds } from './reallocation.js';
import type { Parameters } from './schemas.js';

/** The joins of a sample as the method wants them, and what was left aside. */
export interface GatheredJoins {
  readonly finds: JoinedFinds;
  /** [joins] class code of both ends; −1 = two classes */
  readonly classCode: Int32Array;
  readonly kind: readonly string[];
  readonly samePlace: number;
  readonly acrossAreas: number;
  /** joins left aside because the two weights are not known or equal, with bearings from heavy to light */
  readonly withoutWeights: number;
}

/** Gathers joins, units and circles: a unit is a pot vessel, or the finds that hang together by joins. */
export function gatherJoins(sample: Sample, own: Parameters): GatheredJoins {
  const [west, south] = sample.window.rings.length > 0 ? regionBox(sample.window) : [0, 0];
  const xy = sample.xy.map((v, i) => v - (i % 2 === 0 ? west : south));
  const wanted = sample.joins.filter((join) => own.kind === null || join.kind === own.kind);
  const joins = wanted.filter((join) => join.a !== join.b).map((join) => turned(sample, own, join));
  const { potVessel, weightG } = sample.detail;
  const groups = linked(xy.length / 2, joins);
  const names = new Map<string, number>();
  const unit = joins.map(({ a, b }) => {
    const pot = potVessel[a] !== null && potVessel[a] === potVessel[b] ? potVessel[a] : null;
    const name = pot === null ? `group ${groups[a]}` : `pot ${pot}`;
    let number = names.get(name);
    if (number === undefined) {
      number = names.size;
      names.set(name, number);
    }
    return number;
  });
  const { area: areas } = areaNumbers(sample);
  const hasBearing = ({ a, b }: Join) => own.bearing === 'axial' || weightG[a] > weightG[b];
  return {
    finds: {
      xy,
      a: Uint32Array.from(joins, (join) => join.a),
      b: Uint32Array.from(joins, (join) => join.b),
      unit: Uint32Array.from(unit),
      withBearing: Uint32Array.from(joins.flatMap((join, k) => (hasBearing(join) ? [k] : []))),
      circles: circlesOf(sample, own, new Set(joins.flatMap(({ a, b }) => [a, b]))),
    },
    classCode: Int32Array.from(joins, ({ a, b }) =>
      sample.classCode[a] === sample.classCode[b] ? sample.classCode[a] : -1,
    ),
    kind: joins.map((join) => join.kind),
    samePlace: wanted.length - joins.length,
    acrossAreas: joins.filter(({ a, b }) => areas[a] !== areas[b]).length,
    withoutWeights: joins.filter((join) => !hasBearing(join)).length,
  };
}

type Join = Sample['joins'][number];

/** The same join, the heavier find first when bearings run from heavy to light. */
function turned(sample: Sample, own: Parameters, join: Join): Join {
  const { weightG } = sample.detail;
  if (own.bearing === 'axial' || !(weightG[join.b] > weightG[join.a])) return join;
  return { a: join.b, b: join.a, kind: join.kind };
}

/** Finds that may trade places: of one class, or of one pot vessel; a find alone keeps its place. */
function circlesOf(sample: Sample, own: Parameters, joined: ReadonlySet<number>): Uint32Array[] {
  const circles = new Map<string, number[]>();
  for (let i = 0; i < sample.classCode.length; i++) {
    const pot = sample.detail.potVessel[i];
    if (own.reallocate === 'pot_vessel' && pot === null) continue;
    const key = own.reallocate === 'class' ? `class ${sample.classCode[i]}` : `pot ${pot}`;
    const circle = circles.get(key);
    if (circle) circle.push(i);
    else circles.set(key, [i]);
  }
  return [...circles.values()]
    .filter((circle) => circle.length > 1 && circle.some((i) => joined.has(i)))
    .map((circle) => Uint32Array.from(circle));
}

/** [n] a number for each find; finds that hang together by joins share it. */
function linked(n: number, joins: readonly Join[]): Uint32Array {
  const parent = Uint32Array.from({ length: n }, (_, i) => i);
  const root = (i: number): number => {
    let at = i;
    while (parent[at] !== at) {
      parent[at] = parent[parent[at]];
      at = parent[at];
    }
    return at;
  };
  for (const { a, b } of joins) parent[root(a)] = root(b);
  return parent.map((_, i) => root(i));
}

/** [n] number of the separate dug area each find lies in: one for each outer ring of the window. */
export function areaNumbers(sample: Sample): { readonly area: Int32Array; readonly parts: number } {
  const outers = sample.window.rings.filter((ring) => ringArea(ring) > 0).map((ring) => ({ rings: [ring] }));
  const area = Int32Array.from({ length: sample.xy.length / 2 }, (_, i) => {
    const [x, y] = [sample.xy[2 * i], sample.xy[2 * i + 1]];
    const inside = outers.findIndex((outer) => insideEvenOdd(outer, x, y));
    return inside >= 0 ? inside : outers.findIndex((outer) => contains(outer, x, y, edgeSlack(outer)));
  });
  return { area, parts: outers.length };
}
