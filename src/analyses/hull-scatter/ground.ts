import type { Sample } from '../../domain/sample.js';
import { type AxisEnds, alongAxis } from '../../math/along-line.js';
import { boundaryDistance, type Region, regionArea, regionBox, shiftRegion } from '../../math/rings.js';
import { Problem } from '../../problems.js';
import type { Measure } from './chance.js';
import type { HullQuestions } from './measures.js';
import type { FindDistances } from './tables.js';

/** Everything in metres from the window's lower-left corner. */
export interface Ground {
  readonly origin: readonly [number, number];
  readonly xy: Float64Array;
  readonly window: Region;
  readonly areaM2: number;
  readonly axis: (AxisEnds & { readonly isResolved: boolean }) | null;
}

/**
 * Positions, window and axis counted from the window's lower-left corner: map coordinates would cost digits.
 * @throws Problem no-window when the window has no area; bad-geometry when the ship axis has no length
 */
export function localGround(sample: Sample): Ground {
  const [west, south] = regionBox(sample.window);
  const window = shiftRegion(sample.window, west, south);
  const areaM2 = regionArea(window);
  if (!(areaM2 > 0)) throw new Problem('no-window', 'the window has no area; name seasons with excavated areas');
  const axis = sample.shipAxis;
  if (axis && axis.after[0] === axis.bow[0] && axis.after[1] === axis.bow[1]) {
    throw new Problem(
      'bad-geometry',
      `the ship axis has both ends at ${axis.after[0]}, ${axis.after[1]}; give two different points in site.json, ship_axis`,
    );
  }
  return {
    origin: [west, south],
    xy: sample.xy.map((v, i) => v - (i % 2 === 0 ? west : south)),
    window,
    areaM2,
    axis: axis && {
      after: [axis.after[0] - west, axis.after[1] - south],
      bow: [axis.bow[0] - west, axis.bow[1] - south],
      isResolved: axis.bowEnd === 'resolved',
    },
  };
}

/** Why port and starboard cannot be told; null when they can. */
export function whyNoSide(ground: Ground): string | null {
  if (!ground.axis) return 'there is no ship axis; give ship_axis (after_end, bow_end, certainty) in site.json';
  return ground.axis.isResolved ? null : 'it is not resolved which end of the ship axis is the bow';
}

/** Measures every find: to the hull as chosen, to its nearest feature and outline, along the keel, to the trench edge. */
export function findDistances(
  ground: Ground,
  measure: Measure,
  hull: {
    readonly questions: HullQuestions;
    readonly elements: readonly { readonly number: string; readonly element: string }[];
  },
): FindDistances {
  const { xy, window, axis } = ground;
  const each = <T>(of: (x: number, y: number) => T): T[] =>
    Array.from({ length: xy.length / 2 }, (_, i) => of(xy[2 * i], xy[2 * i + 1]));
  const { nearest, outline } = hull.questions;
  const distanceM = Float64Array.from(each(measure.distance));
  const edgeDistanceM = Float64Array.from(each((x, y) => boundaryDistance(window, x, y)));
  const features = each((x, y) => (nearest ? (hull.elements[nearest.shape(x, y)] ?? null) : null));
  const keel = axis && alongAxis(xy, axis);
  return {
    distanceM,
    signedDistanceM: outline && Float64Array.from(each(outline.signedDistance)),
    hullNumber: features.map((feature) => feature?.number ?? null),
    hullElement: features.map((feature) => feature?.element ?? null),
    alongKeelM: keel?.map((place) => place.alongM) ?? null,
    offKeelM: keel?.map((place) => place.offM) ?? null,
    side: Array.from(distanceM, (_, i) => (axis?.isResolved && keel ? sideOf(keel[i].offM) : null)),
    edgeDistanceM,
    isNearerToEdge: [...distanceM].map((d, i) => edgeDistanceM[i] < Math.abs(d)),
  };
}

function sideOf(offM: number): 'port' | 'starboard' | null {
  if (offM === 0) return null;
  return offM > 0 ? 'port' : 'starboard';
}

/** Distances of finds of other classes: those of the classes chosen are in the sample already. */
export function otherDistances(sample: Sample, ground: Ground, measure: Measure): Float64Array {
  const chosen = new Set(sample.classCode);
  const { xy, classCode } = sample.others;
  const out: number[] = [];
  classCode.forEach((code, i) => {
    if (!chosen.has(code)) out.push(measure.distance(xy[2 * i] - ground.origin[0], xy[2 * i + 1] - ground.origin[1]));
  });
  return Float64Array.from(out);
}
