import type { RandomStream } from '../../src/math/random.js';
import { depositTop, seabedBefore, thickness } from './deposit.js';
import { between, normal, rounded, shuffled, subject } from './deviates.js';
import { type Point, toProjected, toRelaid } from './grids.js';
import { zeroBelowSeaM } from './levels.js';
import { fromShip, halfBreadth } from './ship.js';
import { type Cell, fixed } from './tables.js';

/** Control points and the tapes that fix the detail points, with the slips that were made. */
export const tapes = { count: 110, sigmaM: 0.025, poorSigmaM: 0.08, poorPercent: 18, gross: 5 } as const;
export const controlCount = 8;
export const detailCount = 46;

/** A marked point as it really stands, first grid and site datum. */
export interface MarkedPoint {
  readonly name: string;
  readonly x: number;
  readonly y: number;
  readonly z: number;
}

/** A tape reading and what went wrong with it. */
export interface Tape {
  readonly from: MarkedPoint;
  /** as the slate names it */
  to: MarkedPoint;
  /** distance between the points named */
  trueM: number;
  valueM: number;
  poor: boolean;
  gross: 'one_metre' | 'tenth_of_a_metre' | 'swapped_names' | null;
}

export interface DemoSurvey {
  readonly control: readonly MarkedPoint[];
  readonly detail: readonly MarkedPoint[];
  readonly tapes: readonly Tape[];
  /** sketched places of the detail points, good to about half a metre */
  readonly sketched: readonly Point[];
}

const controlPlaces: readonly Point[] = [
  [1.2, 1.1],
  [16.9, 0.6],
  [32.7, 1.4],
  [33.4, 9.8],
  [32.9, 18.8],
  [17.2, 19.3],
  [1.4, 18.6],
  [0.7, 9.9],
];
/** Control points read again when the grid was laid anew. */
const common = [0, 1, 3, 5, 7];

/** Tapes to each detail point: most have two, and no tape to spare. */
function tapeCounts(): number[] {
  // 4 × 4 + 5 + 7 × 3 + 34 × 2 = 110; the first five carry the gross errors
  return [...Array(4).fill(4), 5, ...Array(7).fill(3), ...Array(34).fill(2)];
}

function markedPoint(name: string, [x, y]: Point, elevation: (x: number, y: number) => number): MarkedPoint {
  const at = [rounded(x, 3), rounded(y, 3)] as const;
  return { name, x: at[0], y: at[1], z: rounded(elevation(...at), 3) };
}

/** Lays out the points and reads every tape. */
export function demoSurvey(): DemoSurvey {
  const random = subject('survey');
  const zero = seabedBefore(...controlPlaces[0]);
  // the head of CP1 is the site zero; the others stand as high above the seabed as it does
  const control = controlPlaces.map((place, i) =>
    markedPoint(`CP${i + 1}`, place, (x, y) => seabedBefore(x, y) - zero),
  );
  const detail = Array.from({ length: detailCount }, (_, i) => {
    const along = between(random, 0.4, 17);
    const off = between(random, -1.15, 1.15) * halfBreadth(along);
    return markedPoint(
      `D${String(i + 1).padStart(2, '0')}`,
      fromShip(along, off),
      (x, y) => depositTop(x, y) + 0.05 + 0.1 * thickness(x, y),
    );
  });
  const counts = tapeCounts();
  const list = detail.flatMap((point, i) =>
    wellCutting(random, { point, control, count: counts[i] }).map(
      (from): Tape => ({ from, to: point, trueM: apart(from, point), valueM: 0, poor: false, gross: null }),
    ),
  );
  const order = shuffled(
    random,
    list.map((_, i) => i),
  );
  // the slips fell on tapes that were otherwise good, so that each is one thing
  const grossAt = grossTapes(list);
  const poorCount = Math.round((tapes.poorPercent * tapes.count) / 100);
  const poor = new Set(order.filter((i) => !grossAt.includes(i)).slice(0, poorCount));
  list.forEach((tape, i) => {
    tape.poor = poor.has(i);
    tape.valueM = rounded(tape.trueM + (tape.poor ? tapes.poorSigmaM : tapes.sigmaM) * normal(random), 3);
  });
  slip(list, grossAt);
  const sketched = detail.map(
    (p): Point => [rounded(p.x + 0.4 * normal(random), 1), rounded(p.y + 0.4 * normal(random), 1)],
  );
  return { control, detail, tapes: list, sketched };
}

function apart(a: MarkedPoint, b: MarkedPoint): number {
  return Math.sqrt((a.x - b.x) * (a.x - b.x) + (a.y - b.y) * (a.y - b.y) + (a.z - b.z) * (a.z - b.z));
}

/** Control points whose tapes cross well at a point: every pair of neighbours in direction between 35° and 145° apart. */
function wellCutting(
  random: RandomStream,
  { point, control, count }: { point: MarkedPoint; control: readonly MarkedPoint[]; count: number },
): MarkedPoint[] {
  const towards = (from: MarkedPoint) => Math.atan2(from.x - point.x, from.y - point.y);
  for (;;) {
    const chosen = shuffled(random, control).slice(0, count);
    const cuts = chosen.slice(1).map((from) => Math.abs(Math.sin(towards(from) - towards(chosen[0]))));
    if (Math.max(...cuts) > 0.6 && chosen.every((from) => apart(from, point) < 24)) return chosen;
  }
}

/** Row of one tape to each of the first five detail points. */
function grossTapes(list: readonly Tape[]): number[] {
  return ['D01', 'D02', 'D03', 'D04', 'D05'].map((name) => list.findIndex((tape) => tape.to.name === name));
}

function slip(list: Tape[], [first, second, third, fourth, fifth]: readonly number[]): void {
  const shift = (i: number, metres: number, gross: Tape['gross']) => {
    list[i].valueM = rounded(list[i].valueM + metres, 3);
    list[i].gross = gross;
  };
  shift(first, 1, 'one_metre');
  shift(second, -1, 'one_metre');
  shift(fifth, 0.1, 'tenth_of_a_metre');
  // the names of two detail points were exchanged on the slate: each reading stands with the other
  const [c, d] = [list[third], list[fourth]];
  [c.to, d.to] = [d.to, c.to];
  for (const tape of [c, d]) {
    tape.trueM = apart(tape.from, tape.to);
    tape.gross = 'swapped_names';
  }
}

/** Rows of control-points.csv. A point read again in the re-laid grid has a name of its own, and its note says whose. */
export function controlPointRows(survey: DemoSurvey): Record<string, Cell>[] {
  const random = subject('survey');
  const error = (sigmaM: number) => sigmaM * normal(random);
  const row = (name: string, kind: string, [x, y]: Point) => ({ name, class: kind, x: fixed(x, 3), y: fixed(y, 3) });
  const primary = survey.control.map((p) => ({
    ...row(p.name, 'primary', [p.x, p.y]),
    z: fixed(p.z, 3),
    sigma: '0.01',
    season: 'S1',
    note: p.name === 'CP1' ? 'site zero; 14.20 m below mean sea level (sigma 0.15 m)' : null,
  }));
  const again = common.map((i) => {
    const p = survey.control[i];
    const [x, y] = toRelaid([p.x, p.y]);
    return {
      ...row(`${p.name}-S3`, 'primary', [x + error(0.005), y + error(0.005)]),
      z: fixed(p.z + error(0.005), 3),
      sigma: '0.01',
      season: 'S3',
      note: `${p.name} read in grid g2`,
    };
  });
  const details = survey.detail.map((p, i) => ({
    ...row(p.name, 'detail', survey.sketched[i]),
    z: fixed(p.z + error(0.03), 2),
    sigma: '0.5',
    season: 'S2',
    note: 'from the sketch; to be adjusted',
  }));
  return [...primary, ...again, ...details];
}

/** Rows of measurements.csv: the tapes as slope distances between the points, then a depth of each point. */
export function measurementRows(survey: DemoSurvey): Record<string, Cell>[] {
  const random = subject('survey');
  const shared = { unit: 'm', date: '2022-06-09' };
  const distances = survey.tapes.map((tape, i) => ({
    from: tape.from.name,
    to: tape.to.name,
    kind: 'distance',
    value: fixed(tape.valueM, 3),
    sigma: fixed(tapes.sigmaM, 3),
    instrument: 'fibreglass tape',
    reading_series: 'T1',
    time: `${String(9 + Math.floor(i / 30)).padStart(2, '0')}:${String((i % 30) * 2).padStart(2, '0')}`,
    ...shared,
  }));
  const depths = [...survey.control, ...survey.detail].map((p) => ({
    from: p.name,
    kind: 'depth',
    value: fixed(-p.z + 0.03 * normal(random), 2),
    sigma: '0.03',
    instrument: 'depth gauge',
    reading_series: 'T2',
    note: 'below the site zero; tide taken off',
    ...shared,
  }));
  return [...distances, ...depths];
}

/** Numbers of the rows of measurements.csv (the first below the heading is 1) where something went wrong. */
export function tapeFaults(survey: DemoSurvey) {
  const rowsOf = (chosen: (tape: Tape) => boolean) =>
    survey.tapes.flatMap((tape, i) =>
      chosen(tape)
        ? [{ row: i + 1, from: tape.from.name, to: tape.to.name, value_m: tape.valueM, true_m: rounded(tape.trueM, 4) }]
        : [],
    );
  return {
    poor: rowsOf((tape) => tape.poor),
    one_metre: rowsOf((tape) => tape.gross === 'one_metre'),
    tenth_of_a_metre: rowsOf((tape) => tape.gross === 'tenth_of_a_metre'),
    swapped_names: rowsOf((tape) => tape.gross === 'swapped_names'),
  };
}

/** Where the control points lie on the map, for truth.json. */
export function controlOnMap(survey: DemoSurvey) {
  return survey.control.map((p) => {
    const [easting, northing] = toProjected([p.x, p.y]);
    return {
      name: p.name,
      easting: rounded(easting, 3),
      northing: rounded(northing, 3),
      elevation_to_mean_sea_level: rounded(p.z - zeroBelowSeaM, 3),
    };
  });
}
