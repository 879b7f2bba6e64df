import {
  dugAreas,
  halfDug,
  labels,
  nodesOf,
  reopened,
  type SeasonId,
  type Square,
  seasonIds,
  seasonsOf,
} from './areas.js';
import { clusters } from './clusters.js';
import { depositBottom, depositTop, nodeThickness, seabedBefore, thickness } from './deposit.js';
import { between, normal, rounded, shuffled, subject } from './deviates.js';
import { inFirstGrid, type Point, squareLabel } from './grids.js';
import { datumShiftM, dayOf, daysOf, seasons } from './seasons.js';
import { type Cell, fixed } from './tables.js';

/** Level readings at the grid nodes and the tide they were taken in, with the slips that every season has. */
export const levelSigmaM = 0.02;
export const missingShare = 0.06;
/** The series whose tide was never taken off: read at low-water stand, so all its elevations are too high. */
export const forgottenTide = { series: 7, shiftM: 0.38, columns: [18, 20], rows: [4, 6] } as const;
export const tideRangeM = 0.9;
/** Depth of CP1, the site zero, below mean sea level, metres. */
export const zeroBelowSeaM = 14.2;
/** Finds-bearing corner squares whose bottom was never levelled. */
export const bottomless: readonly { season: SeasonId; square: Square }[] = [
  { season: 'S2', square: [13, 4] },
  { season: 'S3', square: [5, 1] },
  { season: 'S4', square: [27, 15] },
];
const readingsInSeries = 80;

type Surface = 'seabed_before' | 'deposit_top' | 'deposit_bottom' | 'excavation_limit' | 'hard_substrate';

/** One reading before it is written down; node column and row from 0, in the grid of its season. */
export interface Level {
  readonly season: SeasonId;
  readonly column: number;
  readonly row: number;
  readonly surface: Surface;
  /** without errors, site datum, up-positive */
  readonly truth: number;
  readonly beyondEdge: boolean;
  series: number;
  elevation: number;
}

const key = (column: number, row: number) => `${column},${row}`;

/** Nodes to which a season carried its levels: those of its squares, and one further, which the surfaces need at the edges. */
function marginOf(season: SeasonId): Square[] {
  const own = new Set(nodesOf(season).map(([c, r]) => key(c, r)));
  const found = new Map<string, Square>();
  for (const [c, r] of nodesOf(season)) {
    for (const [dc, dr] of [
      [1, 0],
      [-1, 0],
      [0, 1],
      [0, -1],
      [1, 1],
      [-1, -1],
      [1, -1],
      [-1, 1],
    ]) {
      if (!own.has(key(c + dc, r + dr))) found.set(key(c + dc, r + dr), [c + dc, r + dr]);
    }
  }
  return [...found.values()].sort((a, b) => a[1] - b[1] || a[0] - b[0]);
}

/** Nodes without any reading of top or bottom: six in a hundred of those that were due. */
export function missingNodes(): Square[] {
  const random = subject('levels');
  const due = new Map<string, Square>();
  for (const season of seasonIds) for (const node of nodesOf(season)) due.set(key(...node), node);
  const kept = new Set<string>();
  for (const { square } of bottomless) for (const [c, r] of cornersOf(square)) kept.add(key(c, r));
  for (const { season: _, column, row } of invertedNodes()) kept.add(key(column, row));
  for (const node of due.values()) if (inBlock(...node) || inTrench(node) || amongFinds(node)) kept.add(String(node));
  const free = [...due.values()].filter((node) => !kept.has(key(...node)));
  const count = Math.round(missingShare * due.size);
  const wideNodes = nodesOf('S2').length + nodesOf('S3').length + nodesOf('S4').length;
  const missing: Square[] = [];
  // scattered: no two beside each other, each season its share, two thirds along the edges of what was dug
  let inner = Math.round(count / 3);
  const quota = new Map(seasonIds.map((season) => [season, Math.ceil((count * nodesOf(season).length) / wideNodes)]));
  for (const node of shuffled(random, free)) {
    const beside = missing.some(([c, r]) => Math.abs(c - node[0]) <= 1 && Math.abs(r - node[1]) <= 1);
    const season = seasonIds.find((id) => nodesOf(id).some((own) => String(own) === String(node)))!;
    const inside = !onEdge(node);
    if (beside || missing.length === count || quota.get(season) === 0 || (inside && inner === 0)) continue;
    if (inside) inner--;
    quota.set(season, quota.get(season)! - 1);
    missing.push(node);
  }
  return missing.sort((a, b) => a[1] - b[1] || a[0] - b[0]);
}

/** Whether a node has undug ground on some side. */
function onEdge([c, r]: Square): boolean {
  const around: Square[] = [
    [c, r],
    [c - 1, r],
    [c, r - 1],
    [c - 1, r - 1],
  ];
  return around.some((square) => seasonsOf(square).length === 0);
}

/** Nodes of the trial trench: one square wide, it had none to spare. */
function inTrench(node: Square): boolean {
  return nodesOf('S1').some((corner) => String(corner) === String(node));
}

/** Nodes in the thick of the clusters, where nobody left one out. */
function amongFinds([x, y]: Square): boolean {
  return Object.values(clusters).some(({ centre }) => {
    const dx = x - centre[0];
    const dy = y - centre[1];
    return dx * dx + dy * dy < 1.6 * 1.6;
  });
}

function inBlock(column: number, row: number): boolean {
  const { columns, rows } = forgottenTide;
  return column >= columns[0] && column <= columns[1] && row >= rows[0] && row <= rows[1];
}

/** Two nodes whose top and bottom were written into each other's column. */
export function invertedNodes(): { season: SeasonId; column: number; row: number }[] {
  const worth = (season: SeasonId) => {
    const shared = new Set(seasonIds.filter((other) => other !== season).flatMap((s) => nodesOf(s).map(String)));
    const node = nodesOf(season).find(
      (n) => nodeThickness(...n) > 0.28 && nodeThickness(...n) < 0.45 && !shared.has(String(n)) && !inBlock(...n),
    )!;
    return { season, column: node[0], row: node[1] };
  };
  return [worth('S2'), worth('S4')];
}

function cornersOf([c, r]: Square): Square[] {
  return [
    [c, r],
    [c + 1, r],
    [c, r + 1],
    [c + 1, r + 1],
  ];
}

/** Every reading of a season, in the order it was taken: seabed and top first, then what digging showed. */
function seasonLevels(season: SeasonId, missing: ReadonlySet<string>): Level[] {
  const grid = seasons[season].grid;
  const withoutBottom = new Set(bottomless.flatMap(({ square }) => cornersOf(square)).map(String));
  const own = nodesOf(season);
  const margin = marginOf(season);
  const levels: Level[] = [];
  const add = (node: Square, surface: Surface, beyondEdge: boolean) => {
    const at: Point = inFirstGrid(grid, node);
    const truth = elevationOf(surface, at);
    levels.push({ season, column: node[0], row: node[1], surface, truth, beyondEdge, series: 0, elevation: 0 });
  };
  for (const node of own) add(node, 'seabed_before', false);
  for (const node of own) if (!missing.has(String(node))) add(node, 'deposit_top', false);
  for (const node of margin) if (!missing.has(String(node))) add(node, 'deposit_top', true);
  const bottomDue = (node: Square) => !missing.has(String(node)) && !withoutBottom.has(String(node));
  for (const node of own) if (bottomDue(node)) add(node, 'deposit_bottom', false);
  // the re-laid grid does not meet the squares dug: beyond their edge the bottom was probed
  if (grid === 'g2') for (const node of margin) if (bottomDue(node)) add(node, 'deposit_bottom', true);
  const limits = season === 'S1' ? reopened : season === 'S4' ? halfDug : [];
  const limitNodes = new Map(limits.flatMap(cornersOf).map((node) => [String(node), node]));
  for (const node of limitNodes.values()) if (!missing.has(String(node))) add(node, 'excavation_limit', false);
  const hard = dugAreas.filter((area) => area.season === season && area.progress === 'to_hard_substrate');
  const hardNodes = new Map(
    hard.flatMap((area) => area.squares.flatMap(cornersOf)).map((node) => [String(node), node]),
  );
  for (const node of hardNodes.values()) if (!missing.has(String(node))) add(node, 'hard_substrate', false);
  return levels;
}

function elevationOf(surface: Surface, [x, y]: Point): number {
  switch (surface) {
    case 'seabed_before':
      return seabedBefore(x, y);
    case 'deposit_top':
      return depositTop(x, y);
    case 'deposit_bottom':
      return depositBottom(x, y);
    case 'excavation_limit':
      return depositBottom(x, y) + 0.3 * thickness(x, y);
    case 'hard_substrate':
      return depositBottom(x, y) - 0.12;
  }
}

/** All readings with their errors, series by series. */
export function allLevels(): Level[] {
  const random = subject('levels');
  const missing = new Set(missingNodes().map(String));
  const inverted = invertedNodes();
  let series = 0;
  const done: Level[] = [];
  for (const season of seasonIds) {
    const levels = seasonLevels(season, missing);
    const apart = season === 'S2' ? levels.filter(inForgottenBlock) : [];
    const rest = levels.filter((level) => !apart.includes(level));
    for (let i = 0; i < rest.length; i += readingsInSeries) {
      series += series + 1 === forgottenTide.series ? 2 : 1;
      for (const level of rest.slice(i, i + readingsInSeries)) level.series = series;
    }
    for (const level of apart) level.series = forgottenTide.series;
    done.push(...levels);
  }
  for (const level of done) {
    const slip = level.series === forgottenTide.series ? forgottenTide.shiftM : 0;
    level.elevation = rounded(level.truth + datumShiftM[level.season] + levelSigmaM * normal(random) + slip, 2);
  }
  for (const { season, column, row } of inverted) {
    const at = (surface: Surface) =>
      done.find((l) => l.season === season && l.column === column && l.row === row && l.surface === surface)!;
    const top = at('deposit_top');
    const bottom = at('deposit_bottom');
    [top.elevation, bottom.elevation] = [bottom.elevation, top.elevation];
  }
  return done.sort((a, b) => a.series - b.series);
}

function inForgottenBlock(level: Level): boolean {
  return inBlock(level.column, level.row) && (level.surface === 'deposit_top' || level.surface === 'deposit_bottom');
}

const clock = (minutes: number) =>
  `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(Math.floor(minutes) % 60).padStart(2, '0')}`;
const seriesStart = 8 * 60 + 20;
const minutesEach = 3;

function dateOfSeries(levels: readonly Level[], series: number): string {
  const season = levels.find((level) => level.series === series)!.season;
  const all = [...new Set(levels.filter((level) => level.season === season).map((level) => level.series))];
  return dayOf(season, Math.floor((all.indexOf(series) * daysOf(season)) / all.length));
}

/** Series written as depths below the site datum; the others are elevations. */
function isDepthSeries(series: number): boolean {
  return series % 3 === 2;
}

/** Rows of levels.csv: reduced to the site datum, but for the forgotten series. */
export function levelRows(levels: readonly Level[]): Record<string, Cell>[] {
  const taken = new Map<number, number>();
  return levels.map((level) => {
    const order = taken.get(level.series) ?? 0;
    taken.set(level.series, order + 1);
    const depth = isDepthSeries(level.series);
    return {
      grid: seasons[level.season].grid,
      node: squareLabel(level.column, level.row),
      season: level.season,
      surface: level.surface,
      value: fixed(depth ? -level.elevation : level.elevation, 2),
      kind: depth ? 'depth' : 'elevation',
      sigma: fixed(levelSigmaM, 2),
      unit: 'm',
      method: methodOf(level),
      reading_series: level.series,
      date: dateOfSeries(levels, level.series),
      time: clock(seriesStart + minutesEach * order),
      state: stateOf(level.surface),
      note: level.beyondEdge ? 'beyond the edge of the squares dug' : null,
    };
  });
}

function methodOf(level: Level): string {
  const probed = level.beyondEdge || level.season === 'S1';
  if (level.surface === 'deposit_bottom' && probed) return 'probe';
  return isDepthSeries(level.series) || level.series === forgottenTide.series ? 'depth gauge' : 'bubble tube';
}

function stateOf(surface: Surface): string {
  if (surface === 'seabed_before') return 'undisturbed';
  return surface === 'deposit_top' ? 'after_overburden' : 'after_dig';
}

/** Rows of tide.csv: the depth of CP1 at the start and the end of each series; 0.9 m from high to low water. */
export function tideRows(levels: readonly Level[]): Record<string, Cell>[] {
  const random = subject('positions');
  const numbers = [...new Set(levels.map((level) => level.series))].sort((a, b) => a - b);
  return numbers.map((series) => {
    const count = levels.filter((level) => level.series === series).length;
    const hours = (minutesEach * count) / 60;
    const phase = between(random, 0, 2 * Math.PI);
    const tide = (t: number) => (tideRangeM / 2) * Math.cos(phase + (2 * Math.PI * t) / 12.42);
    // low-water stand: the tide did not move while the forgotten series was read
    const still = series === forgottenTide.series;
    const date = dateOfSeries(levels, series);
    return {
      reading_series: series,
      start_time: `${date}T${clock(seriesStart)}:00Z`,
      start_depth: fixed(zeroBelowSeaM + (still ? -forgottenTide.shiftM : tide(0)), 2),
      end_time: `${date}T${clock(seriesStart + minutesEach * count)}:00Z`,
      end_depth: fixed(zeroBelowSeaM + (still ? -forgottenTide.shiftM : tide(hours)), 2),
      reference_depth: fixed(zeroBelowSeaM, 2),
    };
  });
}

/** The squares without a bottom, by label, for truth.json. */
export function bottomlessLabels(): { season: SeasonId; square: string }[] {
  return bottomless.map(({ season, square }) => ({ season, square: labels([square])[0] }));
}
