import { crossings, type Locus, type Sphere, sphereCrossings } from './intersections.js';
import { comeToRest, type RestingPlace } from './network-adjustment.js';
import { type NetworkReading, pointsOf, type SurveyNetwork, touches, valueAt } from './network-reading.js';

/** Partly built networks carried on side by side; each branching doubles them. Groping needs more. */
const beamWidth = { crossed: 12, groped: 48 };
/** Of a network with many points, whose later readings tell the sides apart. */
const largeBeam = { points: 30, width: 10 };
/** Places of one point that a draft branches into. */
const mostBranches = { crossed: 4, groped: 48 };
/** Loci of one point that are crossed with each other. */
const mostLoci = 7;

interface Draft {
  readonly coordinates: Float64Array;
  /** the smaller the better the readings between placed points agree; a gross error counts little more than a bad one */
  readonly strain: number;
}

/**
 * Places for all unknown points to start an adjustment from, best first: point after point where tapes, offsets and
 * heights to points already placed cross. Every crossing has two sides, so several drafts are carried on.
 *
 * @param placed       [n] 1 = has coordinates already: fixed points, and points with a start value
 * @param coordinates  [n·dimension] of those placed, metres; others are not read
 * @returns            drafts of [n·dimension] metres
 */
export function startPositions(network: SurveyNetwork, placed: Uint8Array, coordinates: Float64Array): Float64Array[] {
  const done = placed.slice();
  const touching = readingsByPoint(network);
  let drafts: Draft[] = [{ coordinates: coordinates.slice(), strain: 0 }];
  while (done.includes(0)) {
    const next = nextPoint(network, touching, done);
    const usable = touching[next].filter((reading) => othersPlaced(reading, next, done));
    const crossed = drafts.flatMap((draft) => {
      const places = crossedPlaces(network.dimension, draft.coordinates, { point: next, usable });
      return grow(network, draft, { point: next, usable, places, most: mostBranches.crossed });
    });
    const how = crossed.length > 0 ? 'crossed' : 'groped';
    const grown =
      crossed.length > 0
        ? crossed
        : drafts.flatMap((draft) => {
            const places = gropedPlaces(network, draft.coordinates, { point: next, usable });
            return grow(network, draft, { point: next, usable, places, most: mostBranches.groped });
          });
    const width = network.fixed.length > largeBeam.points && how === 'crossed' ? largeBeam.width : beamWidth[how];
    drafts = grown.sort((a, b) => a.strain - b.strain).slice(0, width);
    done[next] = 1;
  }
  return drafts.map((draft) => draft.coordinates);
}

/**
 * Other places of one point, all other points staying where they are, the best first.
 * @param of.worseBy  how much vᵀPv of its own readings may be above that of the present place; negative = it must be below
 * @returns           whole sets of coordinates, [n·dimension]
 */
export function otherPlaces(
  network: SurveyNetwork,
  coordinates: Float64Array,
  of: { readonly point: number; readonly worseBy: number },
): Float64Array[] {
  const { dimension } = network;
  const { point } = of;
  const usable = network.readings.filter((reading) => touches(reading, point));
  const alone: SurveyNetwork = {
    dimension,
    fixed: Uint8Array.from(network.fixed, (_, p) => (p === point ? 0 : 1)),
    readings: usable,
  };
  const here = comeToRest(alone, coordinates, 20);
  const base = point * dimension;
  const out: RestingPlace[] = [];
  const places = crossedPlaces(dimension, coordinates, { point, usable });
  for (const { place } of distinctPlaces(dimension, coordinates, { point, usable, places, most: 4 })) {
    const from = coordinates.slice();
    from.set(place, base);
    const there = comeToRest(alone, from, 20);
    const isApart = (other: RestingPlace) =>
      place.some((_, k) => Math.abs(there.coordinates[base + k] - other.coordinates[base + k]) > 0.01);
    if (there.vtpv <= here.vtpv + of.worseBy && isApart(here) && out.every(isApart)) out.push(there);
  }
  return out.sort((a, b) => a.vtpv - b.vtpv).map((rest) => rest.coordinates);
}

function readingsByPoint(network: SurveyNetwork): NetworkReading[][] {
  const out: NetworkReading[][] = Array.from(network.fixed, () => []);
  for (const reading of network.readings) {
    for (const p of pointsOf(reading)) out[p].push(reading);
  }
  return out;
}

const othersPlaced = (reading: NetworkReading, point: number, done: Uint8Array): boolean =>
  isPlaced(reading.from, point, done) && isPlaced(reading.second, point, done) && isPlaced(reading.point, point, done);

const isPlaced = (p: number, point: number, done: Uint8Array): boolean => p < 0 || p === point || done[p] === 1;

/** The point with most readings to points already placed. */
function nextPoint(network: SurveyNetwork, touching: readonly NetworkReading[][], done: Uint8Array): number {
  let best = -1;
  let most = -1;
  for (let p = 0; p < network.fixed.length; p++) {
    if (done[p] === 1) continue;
    const count = touching[p].reduce((sum, reading) => sum + (othersPlaced(reading, p, done) ? 1 : 0), 0);
    if (count > most) [best, most] = [p, count];
  }
  return best;
}

/** The drafts that follow from one when a point is put at each of its likely places. */
function grow(
  network: SurveyNetwork,
  draft: Draft,
  at: {
    readonly point: number;
    readonly usable: readonly NetworkReading[];
    readonly places: readonly number[][];
    readonly most: number;
  },
): Draft[] {
  const { dimension } = network;
  const base = at.point * dimension;
  return distinctPlaces(dimension, draft.coordinates, at).map(({ place, strain }) => {
    const coordinates = draft.coordinates.slice();
    coordinates.set(place, base);
    return { coordinates, strain: draft.strain + strain };
  });
}

/** The places of a point that its readings like best, at most so many, none twice. */
function distinctPlaces(
  dimension: 2 | 3,
  coordinates: Float64Array,
  at: {
    readonly point: number;
    readonly usable: readonly NetworkReading[];
    readonly places: readonly number[][];
    readonly most: number;
  },
): { place: number[]; strain: number }[] {
  const { point, usable, places, most } = at;
  const trial = coordinates.slice();
  const rated = places.map((place) => {
    trial.set(place, point * dimension);
    return { place, strain: strainOf(usable, trial, dimension) };
  });
  rated.sort((a, b) => a.strain - b.strain);
  const near = 0.02 * Math.max(...usable.map((reading) => Math.abs(reading.value)), 0);
  const chosen: typeof rated = [];
  for (const one of rated) {
    const isTwin = chosen.some(({ place }) => Math.hypot(...place.map((v, k) => v - one.place[k])) < near);
    if (!isTwin) chosen.push(one);
    if (chosen.length === most) break;
  }
  return chosen;
}

function strainOf(readings: readonly NetworkReading[], coordinates: Float64Array, dimension: 2 | 3): number {
  let strain = 0;
  for (const reading of readings) {
    const q = (valueAt(reading, coordinates, dimension) - reading.value) / (4 * reading.sigma);
    strain += Math.log1p(q * q);
  }
  return strain;
}

/** Places where the readings of a point cross. */
function crossedPlaces(
  dimension: 2 | 3,
  coordinates: Float64Array,
  at: { readonly point: number; readonly usable: readonly NetworkReading[] },
): number[][] {
  const height = dimension === 3 ? knownHeight(coordinates, at) : 0;
  const spheres = dimension === 3 ? spheresOf(coordinates, at) : [];
  const loci = spread(lociOf(dimension, coordinates, { ...at, height }), mostLoci);
  const places: number[][] = [];
  for (let i = 0; i < loci.length; i++) {
    for (let j = 0; j < i; j++) {
      for (const [x, y] of crossings(loci[i], loci[j])) {
        if (height !== null) places.push(dimension === 3 ? [x, y, height] : [x, y]);
        else for (const s of spheres) places.push(...aboveAndBelow(s, x, y));
      }
    }
  }
  const some = spread(spheres, 6);
  for (let i = 0; i < some.length; i++) {
    for (let j = 0; j < i; j++) {
      for (let k = 0; k < j; k++) places.push(...sphereCrossings(some[i], some[j], some[k]));
    }
  }
  return places;
}

function aboveAndBelow(sphere: Sphere, x: number, y: number): number[][] {
  const dz = Math.sqrt(Math.max(0, sphere.radius ** 2 - (x - sphere.x) ** 2 - (y - sphere.y) ** 2));
  return [
    [x, y, sphere.z + dz],
    [x, y, sphere.z - dz],
  ];
}

/** At most so many of a list, evenly over it. */
function spread<T>(list: readonly T[], most: number): T[] {
  if (list.length <= most) return [...list];
  return Array.from({ length: most }, (_, i) => list[Math.floor((i * list.length) / most)]);
}

/** Elevation of a point by its heights, the surest first; null when none. */
function knownHeight(
  coordinates: Float64Array,
  at: { readonly point: number; readonly usable: readonly NetworkReading[] },
): number | null {
  const heights = at.usable
    .filter((reading) => reading.kind === 'height' || reading.kind === 'height_difference')
    .sort((a, b) => a.sigma - b.sigma);
  if (heights.length === 0) return null;
  const [best] = heights;
  if (best.kind === 'height') return best.value;
  return best.point === at.point
    ? coordinates[3 * best.from + 2] + best.value
    : coordinates[3 * best.point + 2] - best.value;
}

const otherEnd = (reading: NetworkReading, point: number) => (reading.point === point ? reading.from : reading.point);

function spheresOf(
  coordinates: Float64Array,
  at: { readonly point: number; readonly usable: readonly NetworkReading[] },
): Sphere[] {
  return at.usable
    .filter((reading) => reading.kind === 'distance')
    .map((reading) => {
      const o = 3 * otherEnd(reading, at.point);
      return { x: coordinates[o], y: coordinates[o + 1], z: coordinates[o + 2], radius: reading.value };
    });
}

function lociOf(
  dimension: 2 | 3,
  coordinates: Float64Array,
  at: { readonly point: number; readonly usable: readonly NetworkReading[]; readonly height: number | null },
): Locus[] {
  const loci: Locus[] = [];
  for (const reading of at.usable) {
    if (reading.kind === 'distance' && at.height !== null) {
      const o = otherEnd(reading, at.point) * dimension;
      const dz = dimension === 3 ? at.height - coordinates[o + 2] : 0;
      const radius = Math.sqrt(Math.max(reading.value * reading.value - dz * dz, 0));
      loci.push({ kind: 'circle', x: coordinates[o], y: coordinates[o + 1], radius });
    } else if ((reading.kind === 'along' || reading.kind === 'out') && reading.point === at.point) {
      const a = reading.from * dimension;
      const b = reading.second * dimension;
      const bx = coordinates[b] - coordinates[a];
      const by = coordinates[b + 1] - coordinates[a + 1];
      const length = Math.hypot(bx, by);
      if (!(length > 0)) continue;
      const [ux, uy] = [bx / length, by / length];
      const { value } = reading;
      loci.push(
        reading.kind === 'along'
          ? { kind: 'line', x: coordinates[a] + value * ux, y: coordinates[a + 1] + value * uy, ux: -uy, uy: ux }
          : { kind: 'line', x: coordinates[a] - value * uy, y: coordinates[a + 1] + value * ux, ux, uy },
      );
    }
  }
  return loci;
}

/** Too few readings to cross: places all round a neighbour, each let slide to where its own readings agree best. */
function gropedPlaces(
  network: SurveyNetwork,
  coordinates: Float64Array,
  at: { readonly point: number; readonly usable: readonly NetworkReading[] },
): number[][] {
  const { dimension } = network;
  const { point, usable } = at;
  const tape = usable.find((reading) => reading.kind === 'distance');
  const anchor = tape
    ? otherEnd(tape, point)
    : usable.map((r) => (r.from >= 0 && r.from !== point ? r.from : -1)).find((p) => p >= 0);
  const centre =
    anchor === undefined ? [0, 0, 0] : [...coordinates.subarray(anchor * dimension, (anchor + 1) * dimension)];
  const radius = tape?.value ?? 1;
  const alone: SurveyNetwork = {
    dimension,
    fixed: Uint8Array.from(network.fixed, (_, p) => (p === point ? 0 : 1)),
    readings: usable,
  };
  const places: number[][] = [];
  const tilts = dimension === 3 ? [-0.7, 0, 0.7] : [0];
  for (const tilt of tilts) {
    for (let turn = 0; turn < 16; turn++) {
      const angle = (turn * Math.PI) / 8;
      const from = coordinates.slice();
      const flat = radius * Math.cos(tilt);
      from.set(
        [
          centre[0] + flat * Math.cos(angle),
          centre[1] + flat * Math.sin(angle),
          (centre[2] ?? 0) + radius * Math.sin(tilt),
        ].slice(0, dimension),
        point * dimension,
      );
      const rest = usable.length === 0 ? from : comeToRest(alone, from, 12).coordinates;
      places.push([...rest.subarray(point * dimension, (point + 1) * dimension)]);
    }
  }
  return places;
}
