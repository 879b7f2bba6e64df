import { squareLabel } from './grids.js';

/** What was dug when, as lists of grid squares (column and row from 0). */
export type Square = readonly [number, number];
export type SeasonId = 'S1' | 'S2' | 'S3' | 'S4';
export const seasonIds: readonly SeasonId[] = ['S1', 'S2', 'S3', 'S4'];

/** One polygon of excavated-areas.geojson. */
export interface DugArea {
  readonly season: SeasonId;
  readonly progress: 'planned' | 'part_dug' | 'to_deposit_bottom' | 'to_hard_substrate';
  readonly dugFraction: number;
  readonly backfilled: boolean;
  readonly tool: string;
  readonly meshMm: number | null;
  readonly squares: readonly Square[];
}

/** Squares of a block, its last column and row not included. */
function block(columns: readonly [number, number], rows: readonly [number, number]): Square[] {
  const squares: Square[] = [];
  for (let c = columns[0]; c < columns[1]; c++) {
    for (let r = rows[0]; r < rows[1]; r++) squares.push([c, r]);
  }
  return squares;
}

const keyOf = ([c, r]: Square) => `${c},${r}`;

function without(squares: readonly Square[], removed: readonly Square[]): Square[] {
  const gone = new Set(removed.map(keyOf));
  return squares.filter((square) => !gone.has(keyOf(square)));
}

/** The standing section left in the second season. */
export const baulk = block([21, 22], [5, 9]);

const dug = { dugFraction: 1, backfilled: true } as const;
const first = { ...dug, season: 'S1', tool: 'hand-fan and airlift', meshMm: 6 } as const;
const fourth = { dugFraction: 1, season: 'S4', tool: 'water dredge', meshMm: 2, backfilled: true } as const;

/** Squares dug over half their surface only, in the fourth season: whole polygons with dug_fraction 0.5. */
export const halfDug: readonly Square[] = [...block([23, 25], [5, 9]), ...block([13, 16], [13, 14])];

export const dugAreas: readonly DugArea[] = [
  // the trial trench, one metre wide: its north end, the squares across the hull, its south end with the east leg
  { ...first, progress: 'to_deposit_bottom', squares: block([16, 17], [13, 17]) },
  { ...first, progress: 'part_dug', squares: block([16, 17], [4, 13]) },
  { ...first, progress: 'to_deposit_bottom', squares: [...block([16, 17], [1, 4]), ...block([17, 25], [1, 2])] },
  {
    ...dug,
    season: 'S2',
    progress: 'to_deposit_bottom',
    tool: 'water dredge',
    meshMm: 2,
    squares: without([...block([13, 23], [4, 13]), ...block([21, 23], [13, 14])], baulk),
  },
  {
    ...dug,
    season: 'S3',
    progress: 'to_deposit_bottom',
    tool: 'water dredge',
    meshMm: 2,
    squares: [...block([5, 13], [1, 10]), ...block([9, 11], [10, 11])],
  },
  { ...fourth, progress: 'to_deposit_bottom', squares: block([23, 28], [10, 16]) },
  { ...fourth, progress: 'to_hard_substrate', squares: block([3, 7], [11, 15]) },
  { ...fourth, progress: 'to_deposit_bottom', squares: block([11, 13], [10, 12]) },
  ...halfDug.map((square) => ({
    ...fourth,
    progress: 'part_dug' as const,
    dugFraction: 0.5,
    backfilled: false,
    squares: [square],
  })),
  ...block([28, 31], [12, 14]).map((square) => ({
    season: 'S4' as const,
    progress: 'planned' as const,
    dugFraction: 0,
    backfilled: false,
    tool: '',
    meshMm: null,
    squares: [square],
  })),
];

const counting = dugAreas.filter((area) => area.progress !== 'planned');

/** Squares dug in a season. */
export function dugIn(season: SeasonId): Square[] {
  return counting.filter((area) => area.season === season).flatMap((area) => area.squares);
}

const seasonsByKey = new Map<string, SeasonId[]>();
for (const season of seasonIds) {
  for (const square of dugIn(season)) {
    const seasons = seasonsByKey.get(keyOf(square)) ?? [];
    seasonsByKey.set(keyOf(square), [...seasons, season]);
  }
}

/** Every square dug in any season, once. */
export const dugUnion: readonly Square[] = [...seasonsByKey.keys()].map(
  (k) => k.split(',').map(Number) as [number, number],
);

/** Seasons in which a square was dug, in order; none for ground left alone. */
export function seasonsOf(square: Square): readonly SeasonId[] {
  return seasonsByKey.get(keyOf(square)) ?? [];
}

const halfKeys = new Set(halfDug.map(keyOf));

/** Share of a square's surface that was dug: 1, or 0.5 in the half-dug squares. */
export function dugFractionOf(square: Square): number {
  return halfKeys.has(keyOf(square)) ? 0.5 : 1;
}

/** Squares dug in the first season and opened again in the second. */
export const reopened = dugIn('S1').filter((square) => seasonsOf(square).length === 2);

/** Whether a position lies in squares dug in a season; lines between squares count as dug. */
export function isDugIn(season: SeasonId, x: number, y: number): boolean {
  return squaresTouching(x, y).some((square) => seasonsOf(square).includes(season));
}

function squaresTouching(x: number, y: number): Square[] {
  const columns = Number.isInteger(x) ? [x - 1, x] : [Math.floor(x)];
  const rows = Number.isInteger(y) ? [y - 1, y] : [Math.floor(y)];
  return columns.flatMap((c) => rows.map((r): Square => [c, r]));
}

/** Nodes at the corners of a season's dug squares, row by row from the south. */
export function nodesOf(season: SeasonId): Square[] {
  const nodes = new Map<string, Square>();
  for (const [c, r] of dugIn(season)) {
    for (const node of [
      [c, r],
      [c + 1, r],
      [c, r + 1],
      [c + 1, r + 1],
    ] as Square[])
      nodes.set(keyOf(node), node);
  }
  return [...nodes.values()].sort((a, b) => a[1] - b[1] || a[0] - b[0]);
}

/** Labels of squares, for truth.json. */
export function labels(squares: readonly Square[]): string[] {
  return squares.map(([c, r]) => squareLabel(c, r));
}
