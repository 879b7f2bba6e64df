import { Problem } from '../problems.js';
import { type ChosenBandwidth, tooFew } from './bandwidth.js';
import { circleFraction } from './circle-fraction.js';
import { boundaryDistance, type Region, regionArea, regionBox, shiftRegion } from './rings.js';

/** cap on what one pair can stand for when only a sliver of its circle was dug */
const mostWeight = 100;
const mostPairs = 4_000_000;

/** Pairs of finds by distance, each with what it stands for after edge correction, and K as a step function. */
interface WeightedPairs {
  /** [pairs] metres, rising */
  readonly distance: Float64Array;
  /** [pairs] m²: what the pair adds to K */
  readonly step: Float64Array;
  /** [pairs + 1] K up to and with each pair, m² */
  readonly upTo: Float64Array;
  /** finds per m² */
  readonly intensity: number;
  /** largest bandwidth the pairs suffice for, metres */
  readonly mostSigmaM: number;
}

/**
 * Mean square error of the density at a spot, as Berman & Diggle estimate it from Ripley's K for a scatter whose
 * density itself varies at random; up to a constant, and for a disc of radius 2σ in place of the Gaussian.
 *
 * @param xy  [2n] metres; n ≥ 2
 * @returns   the criterion at a bandwidth up to `mostSigmaM` (a sixteenth of the shorter side of the window's box),
 *            and the pairs it rests on
 * @throws Problem too-much-work beyond 4 million pairs
 * @see Berman & Diggle 1989, Journal of the Royal Statistical Society B 51, 81–92
 */
export function bermanDiggleCriterion(xy: Float64Array, window: Region) {
  const pairs = weightedPairs(xy, window);
  return { pairs, criterion: (sigmaM: number) => meanSquareError(pairs, sigmaM) };
}

function meanSquareError(pairs: WeightedPairs, sigmaM: number): number {
  const radius = 2 * sigmaM;
  const disc = Math.PI * radius * radius;
  return constantPart(pairs, radius) / disc + sharedPart(pairs, radius) / (disc * disc);
}

/** 1/λ − 2 K(radius). A pair at exactly the radius counts: the criterion falls there by a jump. */
function constantPart({ distance, upTo, intensity }: WeightedPairs, radius: number): number {
  let low = 0;
  let high = distance.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (distance[middle] <= radius) low = middle + 1;
    else high = middle;
  }
  return 1 / intensity - 2 * upTo[low];
}

/** ∫ of the area that two discs have in common, over the pairs: grows with the radius, without jumps. */
function sharedPart({ distance, step }: WeightedPairs, radius: number): number {
  let sum = 0;
  for (let k = 0; k < distance.length && distance[k] < 2 * radius; k++) {
    const t = distance[k];
    const overlap =
      2 * radius * radius * Math.acos(t / (2 * radius)) - (t / 2) * Math.sqrt(4 * radius * radius - t * t);
    sum += overlap * step[k];
  }
  return sum;
}

/**
 * Bandwidth of least mean square error. The criterion drops by a jump wherever twice the bandwidth equals the distance
 * of a pair, so every such distance is considered, not a table of bandwidths.
 *
 * @throws Problem too-few-points, cannot-answer when coincident finds draw it to zero, too-much-work
 */
export function bermanDiggleBandwidth(xy: Float64Array, window: Region): ChosenBandwidth {
  const n = xy.length / 2;
  if (n < 2) throw tooFew('berman-diggle', n);
  const { pairs } = bermanDiggleCriterion(xy, window);
  const { distance, upTo, intensity, mostSigmaM } = pairs;
  let coincident = 0;
  while (coincident < distance.length && distance[coincident] === 0) coincident++;
  if (upTo[coincident] >= 1 / intensity) {
    throw new Problem(
      'cannot-answer',
      `the rule berman-diggle finds no bandwidth: ${coincident} pairs of finds share one position and draw it to zero; give a bandwidth in metres, use scott, or count them as one spot`,
      { coincident },
    );
  }
  const candidates = [mostSigmaM];
  for (let k = coincident; k < distance.length && distance[k] <= 2 * mostSigmaM; k++) {
    if (distance[k] !== distance[k - 1]) candidates.push(distance[k] / 2);
  }
  return leastOf(pairs, candidates);
}

/** sums of the shared part, pairs × candidates, that are worked out one by one */
const mostTerms = 3_000_000;
const tableSteps = 600;
const workedOut = 60;

/**
 * The best candidate. With many pairs the shared part, smooth in the radius, is read from a table of 600 radii by
 * cubics (at most 1e-5 of it off), and the 60 candidates that then look best are worked out in full: among thousands of
 * near-equal candidates the answer may then be one that is worse by less than that.
 */
function leastOf(pairs: WeightedPairs, candidates: readonly number[]): ChosenBandwidth {
  let some = candidates;
  if (candidates.length * pairs.distance.length > mostTerms) {
    const shared = sharedPartTable(pairs);
    const ranked = candidates.map((sigmaM) => {
      const radius = 2 * sigmaM;
      const disc = Math.PI * radius * radius;
      return { sigmaM, about: (constantPart(pairs, radius) + shared(radius) / disc) / disc };
    });
    ranked.sort((a, b) => a.about - b.about || b.sigmaM - a.sigmaM);
    some = ranked.slice(0, workedOut).map((candidate) => candidate.sigmaM);
  }
  let best = { sigmaM: pairs.mostSigmaM, criterion: Infinity };
  for (const sigmaM of some) {
    const criterion = meanSquareError(pairs, sigmaM);
    if (criterion < best.criterion || (criterion === best.criterion && sigmaM > best.sigmaM)) {
      best = { sigmaM, criterion };
    }
  }
  return { ...best, atBoundary: best.sigmaM === pairs.mostSigmaM };
}

/** The shared part between the radii of a table, by the cubic through the four nearest. */
function sharedPartTable(pairs: WeightedPairs): (radius: number) => number {
  const step = (2 * pairs.mostSigmaM) / tableSteps;
  const table = Float64Array.from({ length: tableSteps + 1 }, (_, k) => sharedPart(pairs, k * step));
  return (radius) => {
    const foot = Math.max(0, Math.min(tableSteps - 3, Math.floor(radius / step) - 1));
    const f = radius / step - foot;
    return (
      (-table[foot] * (f - 1) * (f - 2) * (f - 3)) / 6 +
      (table[foot + 1] * f * (f - 2) * (f - 3)) / 2 -
      (table[foot + 2] * f * (f - 1) * (f - 3)) / 2 +
      (table[foot + 3] * f * (f - 1) * (f - 2)) / 6
    );
  };
}

function weightedPairs(given: Float64Array, window: Region): WeightedPairs {
  const [west, south, east, north] = regionBox(window);
  const region = shiftRegion(window, west, south);
  const xy = given.map((v, k) => v - (k % 2 === 0 ? west : south));
  const n = xy.length / 2;
  const reach = Math.min(east - west, north - south) / 4;
  const found: { d: number; i: number; j: number }[] = [];
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < i; j++) {
      const dx = xy[2 * i] - xy[2 * j];
      const dy = xy[2 * i + 1] - xy[2 * j + 1];
      if (dx * dx + dy * dy <= reach * reach) found.push({ d: Math.sqrt(dx * dx + dy * dy), i, j });
    }
    if (found.length > mostPairs) {
      throw new Problem(
        'too-much-work',
        `the rule berman-diggle weighs every pair of finds nearer than ${Number(reach.toPrecision(3))} m and is kept to ${mostPairs / 1e6} million pairs, got more; use scott or give a bandwidth in metres`,
        { n, mostPairs },
      );
    }
  }
  found.sort((a, b) => a.d - b.d);
  const area = regionArea(region);
  const toEdge = Float64Array.from({ length: n }, (_, i) => boundaryDistance(region, xy[2 * i], xy[2 * i + 1]));
  const fraction = circleFraction(region);
  const seen = (i: number, d: number) =>
    d <= toEdge[i] ? 1 : Math.min(mostWeight, 1 / fraction(xy[2 * i], xy[2 * i + 1], d));
  const scale = area / (n * (n - 1));
  const step = Float64Array.from(found, ({ d, i, j }) => scale * (seen(i, d) + seen(j, d)));
  const upTo = new Float64Array(found.length + 1);
  for (let k = 0; k < found.length; k++) upTo[k + 1] = upTo[k] + step[k];
  return { distance: Float64Array.from(found, (p) => p.d), step, upTo, intensity: n / area, mostSigmaM: reach / 4 };
}
