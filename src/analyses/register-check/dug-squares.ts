import type { DugArea, Sample } from '../../domain/sample.js';
import { contains, edgeSlack, regionBox } from '../../math/rings.js';
import { beforeBackfill } from './backfilled.js';
import { named } from './level-checks.js';
import { nodeKey, type SeasonLevels } from './node-book.js';
import type { Oddity, Summary } from './schemas.js';

/** A square of the season's grid, at least half of which lies in ground dug then. */
interface DugSquare {
  readonly column: number;
  readonly row: number;
  readonly area: DugArea;
}

/** What the dug squares lack. */
interface SquareChecks {
  readonly oddities: Oddity[];
  readonly missing: Summary['missing_nodes'];
  readonly squares: number;
}

/** probes along a side of a square: half of 16 make it dug, so that a grid re-laid a hand's breadth off still fits */
const probes = 4;

/** Squares to look through in one area; beyond, the plain lattice does not fit the ground. */
const mostSquares = 1_000_000;

function dugSquares(areas: readonly DugArea[], { frame }: SeasonLevels): DugSquare[] {
  const out = new Map<string, DugSquare>();
  for (const area of areas) {
    const [west, south, east, north] = regionBox(area.region);
    const slack = edgeSlack(area.region);
    const corners = [
      [west, south],
      [east, south],
      [west, north],
      [east, north],
    ].map(([x, y]) => frame.toSteps(x, y));
    const [low, high] = [0, 1]
      .map((axis) => corners.map((corner) => corner[axis]))
      .reduce<[number[], number[]]>(
        ([lows, highs], axis) => [
          [...lows, Math.floor(Math.min(...axis))],
          [...highs, Math.ceil(Math.max(...axis))],
        ],
        [[], []],
      );
    if (!((high[0] - low[0]) * (high[1] - low[1]) <= mostSquares)) continue;
    for (let row = low[1]; row < high[1]; row++) {
      for (let column = low[0]; column < high[0]; column++) {
        let inside = 0;
        for (let k = 0; k < probes * probes; k++) {
          const u = column + ((k % probes) + 0.5) / probes;
          const v = row + (Math.floor(k / probes) + 0.5) / probes;
          const [x, y] = frame.toSite(u, v);
          if (contains(area.region, x, y, slack)) inside++;
        }
        if (2 * inside >= probes * probes) out.set(nodeKey(column, row), { column, row, area });
      }
    }
  }
  return [...out.values()];
}

const corners = [
  [0, 0],
  [1, 0],
  [0, 1],
  [1, 1],
] as const;

/** Nodes and squares of dug ground without top or bottom, and squares dug in part. */
export function checkSquares(sample: Sample, seasons: readonly SeasonLevels[]): SquareChecks {
  const out: SquareChecks & { squares: number } = { oddities: [], missing: [], squares: 0 };
  const opened = (sample.undug ?? []).filter((area) => area.progress === 'opened');
  for (const levels of seasons) {
    const squares = dugSquares(
      sample.dug.filter((area) => area.season === levels.season || area.season === ''),
      levels,
    );
    out.squares += squares.length;
    openSquares(
      dugSquares(
        opened.filter((area) => area.season === levels.season || area.season === ''),
        levels,
      ),
      levels,
      out,
    );
    const has = (surface: string, key: string) => levels.surfaces.get(surface)?.has(key) ?? false;
    const isLevelled = ['deposit_top', 'deposit_bottom'].some((surface) => levels.surfaces.has(surface));
    if (isLevelled) missingNodes(squares, levels, { out, has });
    for (const square of squares) {
      const keys = corners.map(([dc, dr]) => nodeKey(square.column + dc, square.row + dr));
      const without = (surface: string) => isLevelled && !keys.some((key) => has(surface, key));
      const isPart = square.area.progress === 'part_dug';
      if (without('deposit_top')) {
        out.oddities.push(
          squareOddity(square, levels, {
            kind: 'square_without_top',
            value: 0,
            beyond: 4,
            rule: 'the top is levelled at its corners before it is dug; once dug it cannot be recovered',
            severity: 'serious',
          }),
        );
      }
      if (without('deposit_bottom')) {
        out.oddities.push(
          squareOddity(square, levels, {
            kind: 'square_without_bottom',
            value: 0,
            beyond: 4,
            rule: isPart
              ? 'the bottom is levelled or probed at its corners; this square is dug in part'
              : 'a square dug to the bottom has the bottom levelled at its corners',
            severity: isPart ? 'look' : 'serious',
          }),
        );
      }
      if (isPart) {
        out.oddities.push(
          squareOddity(square, levels, {
            kind: 'part_dug_square',
            value: square.area.dugFraction,
            beyond: 1 - square.area.dugFraction,
            rule: 'a square is dug to the bottom before it is backfilled; value: share of its ground dug',
            severity: 'note',
          }),
        );
      }
    }
  }
  return out;
}

/** Squares opened and left: with a top they can be gone on with, without one they must be levelled before the spade. */
function openSquares(squares: readonly DugSquare[], levels: SeasonLevels, out: SquareChecks): void {
  for (const square of squares) {
    const hasTop = corners.some(([dc, dr]) =>
      levels.surfaces.get('deposit_top')?.has(nodeKey(square.column + dc, square.row + dr)),
    );
    out.oddities.push(
      squareOddity(square, levels, {
        kind: 'open_square',
        value: 0,
        beyond: 1,
        rule: `a square opened is dug, or closed as abandoned${hasTop ? '' : '; no top is levelled at its corners yet, and once dug it cannot be recovered'}; value: share of its ground dug`,
        severity: hasTop ? 'note' : 'look',
      }),
    );
  }
}

function squareOddity(
  { column, row, area }: DugSquare,
  { season, frame }: SeasonLevels,
  said: Pick<Oddity, 'kind' | 'value' | 'beyond' | 'rule' | 'severity'>,
): Oddity {
  const [x, y] = frame.toSite(column + 0.5, row + 0.5);
  return {
    where: `square ${frame.squareName(column, row)}`,
    season: named(season),
    x_m: x,
    y_m: y,
    unit: '1',
    ...said,
    ...beforeBackfill([area], said.rule),
  };
}

function missingNodes(
  squares: readonly DugSquare[],
  { season, frame }: SeasonLevels,
  { out, has }: { out: SquareChecks; has(surface: string, key: string): boolean },
): void {
  const due = new Map<string, { column: number; row: number; squares: DugSquare[] }>();
  for (const square of squares) {
    for (const [dc, dr] of corners) {
      const [column, row] = [square.column + dc, square.row + dr];
      const node = due.get(nodeKey(column, row)) ?? { column, row, squares: [] };
      node.squares.push(square);
      due.set(nodeKey(column, row), node);
    }
  }
  for (const [key, { column, row, squares: around }] of due) {
    const [noTop, noBottom] = [!has('deposit_top', key), !has('deposit_bottom', key)];
    if (!noTop && !noBottom) continue;
    const missing = noTop && noBottom ? 'top and bottom' : noTop ? 'top' : 'bottom';
    const isEdge = around.length < 4;
    const isOnlyPart = around.every(({ area }) => area.progress === 'part_dug');
    const [x, y] = frame.toSite(column, row);
    const node = frame.nodeName(column, row);
    out.missing.push({ node, season, missing });
    out.oddities.push({
      kind: 'missing_node',
      where: `node ${node}`,
      season: named(season),
      x_m: x,
      y_m: y,
      value: Number(!noTop) + Number(!noBottom),
      unit: '1',
      beyond: Number(noTop) + Number(noBottom),
      severity: noTop || !isOnlyPart ? 'look' : 'note',
      ...beforeBackfill(
        around.map(({ area }) => area),
        `each corner of a dug square has top and bottom levelled; no ${missing} at this ${isEdge ? 'edge node' : 'node'}`,
      ),
    });
  }
}
