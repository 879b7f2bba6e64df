import type { HullElement, Sample } from '../../domain/sample.js';
import { distanceDistribution } from '../../math/distance-distribution.js';
import { type NearestShape, nearestShapes, straightPieces } from '../../math/hull-distance.js';
import { type Line, lineStrips, lineThrough, shiftLine, signedLineDistance } from '../../math/line-strips.js';
import { intersection, union } from '../../math/overlay.js';
import { type Region, regionArea, regionBox } from '../../math/rings.js';
import { Problem } from '../../problems.js';
import type { Measure } from './chance.js';
import { edgeMeasure } from './trench-edge.js';

/** Which hull features count. */
export interface HullChoice {
  readonly timbers: 'in_place' | 'all';
  readonly outline: 'surviving' | 'projected' | 'any';
  readonly elements: readonly string[] | null;
}

/** Hull features that count, moved to the window's local origin, and why the others do not. */
export interface ChosenHull {
  readonly elements: readonly HullElement[];
  readonly leftOut: number;
  /** counted as articulated and in place though the record does not say so */
  readonly unknownState: number;
  readonly projected: number;
}

/**
 * Chooses hull features. Loose and displaced timbers lie where they drifted: distances to them say nothing of the ship.
 * @throws Problem bad-parameter when an element name is not among the site's
 */
export function chooseHull(sample: Sample, choice: HullChoice, origin: readonly [number, number]): ChosenHull {
  const names = new Set(sample.hull.map((feature) => feature.element));
  const unknown = choice.elements?.filter((name) => !names.has(name)) ?? [];
  if (unknown.length > 0) {
    const known = names.size > 0 ? [...names].sort().join(', ') : 'none';
    throw new Problem('bad-parameter', `elements: no hull feature is a "${unknown[0]}"; elements here: ${known}`, {
      parameter: 'elements',
      unknown,
    });
  }
  const kept = sample.hull.filter(
    (feature) =>
      feature.parts.some((part) => part.length > 0) &&
      (choice.timbers === 'all' || (feature.state !== 'loose' && feature.place !== 'displaced')) &&
      (choice.outline === 'any' || (choice.outline === 'projected') === (feature.outline === 'projected')) &&
      (choice.elements === null || choice.elements.includes(feature.element)),
  );
  return {
    elements: kept.map((feature) => ({
      ...feature,
      parts: feature.parts.map((part) => part.map((v, i) => v - origin[i % 2])),
    })),
    leftOut: sample.hull.length - kept.length,
    unknownState: kept.filter((feature) => feature.state === 'unknown' || feature.place === 'unknown').length,
    projected: kept.filter((feature) => feature.outline === 'projected').length,
  };
}

/** What can be asked of the chosen hull; null members where it has no features, or no areas. */
export interface HullQuestions {
  readonly nearest: NearestShape | null;
  /** outline of all areas together: negative inside */
  readonly outline: NearestShape | null;
  readonly outlineRegion: Region | null;
  /** dug ground inside hull areas, m² */
  readonly insideAreaM2: number | null;
}

/** Straight pieces of hull one run can bear: about a minute of work. */
const mostPieces = 50_000;

/**
 * Prepares the questions every find is asked, whatever measure the tests use.
 * @throws Problem too-much-work when the hull has more than 50,000 straight pieces
 */
export function hullQuestions(hull: ChosenHull, window: Region): HullQuestions {
  const box = regionBox(window);
  const pieces = hull.elements.reduce(
    (sum, { parts }) => sum + parts.reduce((corners, p) => corners + p.length / 2, 0),
    0,
  );
  if (pieces > mostPieces) {
    throw new Problem(
      'too-much-work',
      `the hull chosen has ${pieces} corners, and one run can bear ${mostPieces}; choose elements, or simplify the outlines to a centimetre`,
      { pieces },
    );
  }
  const areas = hull.elements.filter((feature) => feature.type === 'area');
  const nearest = hull.elements.length > 0 ? nearestShapes(straightPieces(hull.elements), box) : null;
  if (areas.length === 0) return { nearest, outline: null, outlineRegion: null, insideAreaM2: null };
  const outlineRegion = union(areas.map((feature) => ({ rings: feature.parts })));
  return {
    nearest,
    outline: nearestShapes(outlinePieces(outlineRegion), box),
    outlineRegion,
    insideAreaM2: regionArea(intersection(window, outlineRegion)),
  };
}

const outlinePieces = (region: Region) => straightPieces([{ type: 'area', parts: region.rings }]);

/** What the distances are measured to, in the window's local origin. */
export interface MeasureChoice {
  readonly distance: 'nearest' | 'outline' | 'axis' | 'trench_edge';
  /** takes the place of the hull when given */
  readonly line: Line | null;
}

/**
 * The measure the tests use: to the nearest hull feature, to the outline of hull areas, to a straight line, or to the edge
 * of the dug area.
 * @throws Problem no-hull when there is nothing to measure to; cannot-answer without a ship axis; bad-parameter when
 *         the line has no direction
 */
export function chooseMeasure(
  choice: MeasureChoice,
  hull: { readonly chosen: ChosenHull; readonly questions: HullQuestions },
  ground: { readonly sample: Sample; readonly window: Region; readonly origin: readonly [number, number] },
): Measure {
  const { sample, window, origin } = ground;
  if (choice.line) {
    if (choice.line[0] === 0 && choice.line[1] === 0) {
      throw new Problem('bad-parameter', 'line: a and b are both 0; a line a x + b y + c = 0 needs one of them', {
        parameter: 'line',
      });
    }
    return lineMeasure(shiftLine(choice.line, origin[0], origin[1]), window);
  }
  if (choice.distance === 'trench_edge') return edgeMeasure(window);
  if (choice.distance === 'axis') {
    if (!sample.shipAxis) {
      throw new Problem(
        'cannot-answer',
        'distance=axis needs a ship axis, and the site has none; give ship_axis (after_end, bow_end, certainty) in site.json, or a line',
      );
    }
    const { after, bow } = sample.shipAxis;
    const local = (end: readonly [number, number]) => [end[0] - origin[0], end[1] - origin[1]] as const;
    return lineMeasure(lineThrough(local(after), local(bow)), window);
  }
  const { nearest, outline, outlineRegion } = hull.questions;
  if (!nearest) throw new Problem('no-hull', noHull(hull.chosen), { left_out: hull.chosen.leftOut });
  if (choice.distance === 'nearest') {
    const law = distanceDistribution(window, straightPieces(hull.chosen.elements), 'distance');
    return { distance: nearest.distance, law };
  }
  if (!outline || !outlineRegion) {
    throw new Problem(
      'no-hull',
      `distance=outline needs hull areas, and the ${hull.chosen.elements.length} hull features chosen are all lines; draw an outline in hull-features.geojson, or use distance=nearest`,
    );
  }
  return {
    distance: outline.signedDistance,
    law: distanceDistribution(window, outlinePieces(outlineRegion), 'signed'),
  };
}

function lineMeasure(line: Line, window: Region): Measure {
  return { distance: (x, y) => Math.abs(signedLineDistance(line, x, y)), law: lineStrips(window, line) };
}

function noHull(hull: ChosenHull): string {
  const needed =
    'hull-scatter needs at least one hull feature (hull-features.geojson or hull-features.csv), a ship axis with distance=axis, or a line; distance=trench_edge needs none';
  return hull.leftOut === 0
    ? `${needed}; there is none`
    : `${needed}; all ${hull.leftOut} hull features are left out by timbers, outline or elements (loose and displaced ones count only with timbers=all)`;
}
