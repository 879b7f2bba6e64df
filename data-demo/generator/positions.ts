import type { RandomStream } from '../../src/math/random.js';
import { isDugIn } from './areas.js';
import { boneKeepsM } from './clusters.js';
import { depositTop, thickness } from './deposit.js';
import { between, normal, rounded, shuffled, subject } from './deviates.js';
import { type GridId, inFirstGrid, inGrid, type Point, squareLabel, squareOf } from './grids.js';
import type { PlantedFind } from './planted.js';
import { datumShiftM, seasons } from './seasons.js';

/** What the slate says of a find's place; coordinates in the grid of its season. */
export interface RecordedPosition {
  readonly kind: 'point' | 'square' | 'half_square' | 'quarter_square' | 'area' | 'line' | 'spoil';
  readonly grid: GridId;
  readonly local?: Point;
  readonly end?: Point;
  readonly square: string | null;
  readonly part?: string;
  readonly z?: number;
  readonly zRange?: readonly [number, number];
  readonly sigmaXyM?: number;
  readonly heaped?: true;
  readonly outsideItsSquare?: true;
}

/** Shares of the single finds, per cent: neither children of concretions nor long objects. */
export const positionShares = { point: 71, square: 17, part: 6, area: 4, spoil: 2 } as const;
export const elevationShares = { value: 86, range: 9, none: 5 } as const;
export const outsideCount = 7;
/** Share of the first season's points whose offsets were read to the half metre, where that leaves them in their square. */
const heapedShare = 0.45;
const elevationSigmaM = 0.01;
const planSigmaM = { S1: 0.1, S2: 0.05, S3: 0.05, S4: 0.04 } as const;

type Kind = keyof typeof positionShares;
type Elevation = keyof typeof elevationShares;

/** The shares as a list, exact to one find, in random order. */
function dealt<T extends string>(random: RandomStream, shares: Readonly<Record<T, number>>, total: number): T[] {
  const list: T[] = [];
  for (const [kind, share] of Object.entries(shares) as [T, number][]) {
    const count = (share * total) / 100;
    if (!Number.isInteger(count)) throw new Error(`${share} % of ${total} is no whole number`);
    for (let i = 0; i < count; i++) list.push(kind);
  }
  return shuffled(random, list);
}

/** Records every find; a child of a concretion takes the position of the concretion's own entry. */
export function recordPositions(finds: readonly PlantedFind[]): Map<PlantedFind, RecordedPosition> {
  const random = subject('positions');
  const single = finds.filter((find) => !find.concretion?.child && !find.long);
  const kinds = dealt(random, positionShares, single.length);
  const elevations = dealt(random, elevationShares, single.length);
  // what was recorded in place has a point and an elevation, and what came out of the spoil has neither: others take theirs
  const swap = <T>(list: T[], i: number, wanted: T, free: (k: number) => boolean) => {
    if (list[i] === wanted) return;
    let k = random.below(list.length);
    while (list[k] !== wanted || !free(k)) k = random.below(list.length);
    [list[i], list[k]] = [list[k], list[i]];
  };
  const inPlace = (k: number) => single[k].className === 'spike' || single[k].className === 'soundingLead';
  single.forEach((_, i) => {
    if (inPlace(i)) swap(kinds, i, 'point', (k) => !inPlace(k));
  });
  // a square of the re-laid grid that sticks far out of the dug area would not be named: such finds got their coordinates
  single.forEach((find, i) => {
    if ((kinds[i] === 'square' || kinds[i] === 'part') && overhangs(find)) {
      swap(kinds, i, 'point', (k) => !inPlace(k) && !overhangs(single[k]));
    }
  });
  single.forEach((_, i) => {
    if (kinds[i] === 'spoil') swap(elevations, i, 'none', (k) => kinds[k] !== 'spoil');
  });
  single.forEach((_, i) => {
    if (inPlace(i)) swap(elevations, i, 'value', (k) => !inPlace(k) && kinds[k] !== 'spoil');
  });

  const scraps = single.filter((find) => find.className === 'sheathing');
  const outside = outsiders(random, single, kinds);
  const recorded = new Map<PlantedFind, RecordedPosition>();
  const ofConcretion = new Map<number, RecordedPosition>();
  single.forEach((find, i) => {
    const elevation = elevationOf(random, find, elevations[i]);
    const place = placeOf(random, { find, kind: kinds[i], scraps, outside: outside.has(find) });
    const position = { ...place, ...elevation };
    recorded.set(find, position);
    if (find.concretion) ofConcretion.set(find.concretion.key, position);
  });
  for (const find of finds) {
    if (find.concretion?.child) recorded.set(find, ofConcretion.get(find.concretion.key)!);
    else if (find.long) recorded.set(find, { ...lineOf(find), ...elevationOf(random, find, 'value') });
  }
  return recorded;
}

function overhangs(find: PlantedFind): boolean {
  const grid = seasons[find.season].grid;
  if (grid === 'g1') return false;
  const [column, row] = squareOf(...inGrid(grid, [find.x, find.y]));
  const [x, y] = inFirstGrid(grid, [column + 0.5, row + 0.5]);
  return !isDugIn(find.season, x, y);
}

function outsiders(random: RandomStream, single: readonly PlantedFind[], kinds: readonly Kind[]): Set<PlantedFind> {
  const points = single.filter((find, i) => kinds[i] === 'point' && find.className !== 'spike' && !find.concretion);
  return new Set(shuffled(random, points).slice(0, outsideCount));
}

function elevationOf(random: RandomStream, find: PlantedFind, how: Elevation): Pick<RecordedPosition, 'z' | 'zRange'> {
  // of a long object the middle was levelled
  const x = find.long ? (find.x + find.long.end[0]) / 2 : find.x;
  const y = find.long ? (find.y + find.long.end[1]) / 2 : find.y;
  const truth = depositTop(x, y) - find.relativeDepth * thickness(x, y) + datumShiftM[find.season];
  if (how === 'value') return { z: rounded(truth + elevationSigmaM * normal(random), 3) };
  if (how === 'none') return {};
  const spit = between(random, 0.05, 0.15);
  const low = truth - spit * random.next();
  return { zRange: [rounded(low, 3), rounded(low + spit, 3)] };
}

interface Placing {
  readonly find: PlantedFind;
  readonly kind: Kind;
  readonly scraps: readonly PlantedFind[];
  readonly outside: boolean;
}

function placeOf(random: RandomStream, { find, kind, scraps, outside }: Placing): RecordedPosition {
  const grid = seasons[find.season].grid;
  const [x, y] = inGrid(grid, [find.x, find.y]);
  const [column, row] = squareOf(rounded(x, 3), rounded(y, 3));
  const square = squareLabel(column, row);
  switch (kind) {
    case 'point': {
      const local = heapedOffsets(random, find, { scraps, outside });
      const heaped = local[0] !== find.x || local[1] !== find.y;
      return {
        kind: 'point',
        grid,
        local: heaped ? local : [rounded(x, 3), rounded(y, 3)],
        square: outside ? squareLabel(column + (column > 3 ? -1 : 1), row) : square,
        sigmaXyM: planSigmaM[find.season],
        ...(heaped ? { heaped } : {}),
        ...(outside ? { outsideItsSquare: true as const } : {}),
      };
    }
    case 'square':
      return { kind, grid, square };
    case 'part': {
      const north = y - row > 0.5 ? 'N' : 'S';
      const east = x - column > 0.5 ? 'E' : 'W';
      if (random.next() < 0.4) return { kind: 'quarter_square', grid, square, part: north + east };
      return { kind: 'half_square', grid, square, part: random.next() < 0.5 ? north : east };
    }
    case 'area':
      return { kind, grid, square, ...boxAround(random, find) };
    case 'spoil':
      return { kind, grid, square: null };
  }
}

/** Offsets of the first season: many were read to the half metre, upwards, so that the find stays in its square. */
function heapedOffsets(
  random: RandomStream,
  find: PlantedFind,
  { scraps, outside }: Pick<Placing, 'scraps' | 'outside'>,
): Point {
  const asItLay: Point = [find.x, find.y];
  if (find.season !== 'S1' || find.className === 'spike' || outside || random.next() >= heapedShare) return asItLay;
  const half = (v: number) => {
    const offset = v - Math.floor(v);
    if (offset < 0.25) return v;
    return Math.floor(v) + (offset < 0.75 ? 0.5 : 1);
  };
  const x = half(find.x);
  const y = half(find.y);
  const tooNear =
    find.className === 'bone' &&
    scraps.some((s) => (s.x - x) * (s.x - x) + (s.y - y) * (s.y - y) < boneKeepsM * boneKeepsM);
  return tooNear ? asItLay : [x, y];
}

/** A drawn box around the find, as two opposite corners, inside what its season dug. */
function boxAround(random: RandomStream, find: PlantedFind): { local: Point; end: Point } {
  const grid = seasons[find.season].grid;
  const [x, y] = inGrid(grid, [find.x, find.y]);
  for (let size = 1.4; ; size *= 0.93) {
    const width = size * between(random, 0.5, 1);
    const height = size * between(random, 0.5, 1);
    const west = x - width * random.next();
    const south = y - height * random.next();
    const local: Point = [rounded(west, 3), rounded(south, 3)];
    const end: Point = [rounded(west + width, 3), rounded(south + height, 3)];
    if (boxIsDug(find, grid, local, end)) return { local, end };
  }
}

function boxIsDug(find: PlantedFind, grid: GridId, local: Point, end: Point): boolean {
  for (let i = 0; i <= 8; i++) {
    for (let k = 0; k <= 8; k++) {
      const at: Point = [local[0] + ((end[0] - local[0]) * i) / 8, local[1] + ((end[1] - local[1]) * k) / 8];
      if (!isDugIn(find.season, ...inFirstGrid(grid, at))) return false;
    }
  }
  return true;
}

function lineOf(find: PlantedFind): RecordedPosition {
  const grid = seasons[find.season].grid;
  const toMillimetres = ([x, y]: Point): Point => [rounded(x, 3), rounded(y, 3)];
  const local = toMillimetres(inGrid(grid, [find.x, find.y]));
  const end = toMillimetres(inGrid(grid, find.long!.end));
  const [column, row] = squareOf((local[0] + end[0]) / 2, (local[1] + end[1]) / 2);
  return { kind: 'line', grid, local, end, square: squareLabel(column, row), sigmaXyM: planSigmaM[find.season] };
}
