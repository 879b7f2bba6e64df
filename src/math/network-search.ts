import { comeToRest } from './network-adjustment.js';
import { mirrorImages } from './network-mirror.js';
import { pointsOf, readingAt, type SurveyNetwork } from './network-reading.js';
import { otherPlaces, startPositions } from './network-start.js';

/** Where a network came to rest. */
export interface Rest {
  readonly coordinates: Float64Array;
  readonly vtpv: number;
  readonly iterations: number;
}

/** Up to so many unknown points every draft is followed to its end; larger networks are stiff, one good draft will do. */
const fewPoints = 15;
/** A fit whose middle misfit is below this many standard deviations has its points on the right sides. */
const goodMisfit = 4;

const unknownPoints = (network: SurveyNetwork) => network.fixed.reduce((sum, fixed) => sum + 1 - fixed, 0);

/**
 * Solutions that follow from what is placed, least vᵀPv first.
 * @param placed       [n] 1 = fixed, or with a start value
 * @param coordinates  [n·dimension] of those placed
 */
export function solutionsFrom(network: SurveyNetwork, placed: Uint8Array, coordinates: Float64Array): Rest[] {
  const found: Rest[] = [];
  const few = unknownPoints(network) <= fewPoints;
  for (const draft of startPositions(network, placed, coordinates).slice(0, few ? 12 : 4)) {
    const rest = few ? comeToRest(network, draft) : repaired(network, comeToRest(network, draft));
    addDifferent(found, rest);
    if (!few && middleMisfit(network, rest.coordinates) < goodMisfit) break;
  }
  return byFit(found);
}

/** The same with the solutions that turning the best over leads to: as a whole, and point by point. */
export function withMirrored(network: SurveyNetwork, found: readonly Rest[]): Rest[] {
  const [best] = found;
  const all = [...found];
  const few = unknownPoints(network) <= fewPoints;
  for (const { image, flatness } of mirrorImages(network, best.coordinates)) {
    if (few || flatness < 0.02) addDifferent(all, comeToRest(network, image));
  }
  if (!few) for (const flipped of flippedPoints(network, best)) addDifferent(all, flipped);
  return byFit(all);
}

const byFit = (rests: Rest[]) => rests.sort((a, b) => a.vtpv - b.vtpv);

/** Largest difference of any coordinate, metres. */
export function apart(one: Rest, other: Rest): number {
  return one.coordinates.reduce((most, v, i) => Math.max(most, Math.abs(v - other.coordinates[i])), 0);
}

function addDifferent(found: Rest[], rest: Rest): void {
  if (!found.some((other) => apart(other, rest) <= 1e-4)) found.push(rest);
}

function middleMisfit(network: SurveyNetwork, coordinates: Float64Array): number {
  const partials = new Float64Array(9);
  const sizes = network.readings.map(
    (reading) => Math.abs(readingAt(reading, coordinates, network.dimension, partials) - reading.value) / reading.sigma,
  );
  return sizes.sort((a, b) => a - b)[sizes.length >> 1];
}

/** Puts points whose readings disagree where they agree better, one by one, as long as that helps the whole. */
function repaired(network: SurveyNetwork, rest: Rest): Rest {
  let best = rest;
  for (let sweep = 0; sweep < 3; sweep++) {
    const coordinates = best.coordinates.slice();
    let moved = 0;
    for (const point of strainedPoints(network, best.coordinates)) {
      const [place] = otherPlaces(network, coordinates, { point, worseBy: -1 });
      if (!place) continue;
      coordinates.set(place);
      moved++;
    }
    if (moved === 0) return best;
    const again = comeToRest(network, coordinates);
    if (!(again.vtpv < best.vtpv)) return best;
    best = again;
  }
  return best;
}

/** Unknown points with a reading that is off by more than five standard deviations, the worst first. */
function strainedPoints(network: SurveyNetwork, coordinates: Float64Array): number[] {
  const partials = new Float64Array(9);
  const most = new Float64Array(network.fixed.length);
  for (const reading of network.readings) {
    const off = Math.abs(readingAt(reading, coordinates, network.dimension, partials) - reading.value) / reading.sigma;
    for (const p of pointsOf(reading)) most[p] = Math.max(most[p], off);
  }
  return [...most.keys()].filter((p) => network.fixed[p] === 0 && most[p] > 5).sort((a, b) => most[b] - most[a]);
}

/** Points with few readings that could as well lie on the other side of their neighbours. */
function flippedPoints(network: SurveyNetwork, best: Rest): Rest[] {
  const counts = new Int32Array(network.fixed.length);
  for (const reading of network.readings) for (const p of pointsOf(reading)) counts[p]++;
  const out: Rest[] = [];
  for (let p = 0; p < counts.length; p++) {
    if (network.fixed[p] === 1 || counts[p] > network.dimension + 1) continue;
    for (const place of otherPlaces(network, best.coordinates, { point: p, worseBy: 9 })) {
      const rest = comeToRest(network, place);
      if (rest.vtpv <= best.vtpv + 9) out.push(rest);
    }
  }
  return out;
}
