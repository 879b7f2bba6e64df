import { type CountingSquares, gridSquares, groundBySquare } from '../../domain/counting-squares.js';
import type { DugArea, Sample } from '../../domain/sample.js';
import type { GridRecord } from '../../domain/site.js';
import { dugGround } from '../../math/dug-ground.js';
import { difference, union } from '../../math/overlay.js';
import { type Box, type Region, regionBox } from '../../math/rings.js';
import { tileAreaM2, tileAreas } from '../../math/tiles.js';
import { Problem } from '../../problems.js';
import type { Parameters } from './schemas.js';

/** A square with ground that could still be dug. */
export interface Proposal {
  readonly tile: number;
  /** part_dug: begun; planned, opened: recorded so; undug: only beside dug ground */
  readonly state: 'part_dug' | 'planned' | 'opened' | 'undug';
  /** ground not yet dug, m²; null = all of it was opened, how much is left below is not recorded */
  readonly groundLeftM2: number | null;
}

/** The squares of the site with what was dug of each and what is left. */
export interface DigPlan {
  readonly squares: CountingSquares;
  readonly ground: ReturnType<typeof groundBySquare>;
  readonly proposals: readonly Proposal[];
  /** ground dug to its end: hull that stops at its edge was cut by the digging, not by the sea */
  readonly finished: Region;
  /** squares once given up, left out of the proposals */
  readonly abandoned: number;
}

const finishedStates: ReadonlySet<string> = new Set(['to_deposit_bottom', 'to_hard_substrate']);
/** below this share of a square ground is a sliver along a line */
const leastShare = 0.01;

/** @throws Problem cannot-answer without a site grid */
export function digPlan(sample: Sample, candidates: Parameters['candidates']): DigPlan {
  const { grid } = sample;
  if (grid === null) {
    throw new Problem(
      'cannot-answer',
      'next-squares speaks of the squares of a site grid, and plain files have none; import a site folder with a grid and its excavated areas (planned ones with progress = planned)',
    );
  }
  const undug = sample.undug ?? [];
  const squares = gridSquares(grid, planBox(sample, grid), grid.node_spacing);
  const regionsOf = (areas: readonly DugArea[]) => union(areas.map(({ region }) => region));
  const isFinished = (area: DugArea) => finishedStates.has(area.progress) && area.dugFraction === 1;
  const finished = regionsOf(sample.dug.filter(isFinished));
  const begun = sample.dug.filter((area) => !isFinished(area));
  const part = difference(regionsOf(begun), finished);
  const dug = union([finished, part]);
  const openedArea = tileAreas(difference(regionsOf(undug.filter((a) => a.progress === 'opened')), dug), squares.tiles);
  const planned = undug.filter((area) => area.progress === 'planned');
  const plannedArea = tileAreas(difference(regionsOf(planned), dug), squares.tiles);
  const givenUp = undug.filter((area) => area.progress === 'abandoned');
  const abandonedArea = tileAreas(difference(regionsOf(givenUp), dug), squares.tiles);
  const partGround = dugGround(
    begun.map(({ region, dugFraction }) => ({ region, share: dugFraction })),
    part,
    squares.tiles,
  );
  const ground = groundBySquare(sample, squares);
  const least = leastShare * tileAreaM2(squares.tiles);
  const proposals: Proposal[] = [];
  for (let tile = 0; tile < plannedArea.length; tile++) {
    const unopened = Math.max(plannedArea[tile], openedArea[tile]);
    if (partGround.areaM2[tile] > least) {
      const left = partGround.areaM2[tile] - partGround.exposureM2[tile] + unopened;
      proposals.push({ tile, state: 'part_dug', groundLeftM2: left > least ? left : null });
    } else if (unopened > least) {
      const state = openedArea[tile] >= plannedArea[tile] ? 'opened' : 'planned';
      proposals.push({ tile, state, groundLeftM2: unopened });
    } else if (candidates === 'edge' && abandonedArea[tile] <= least && isBesideDug(squares, ground.areaM2, tile)) {
      proposals.push({ tile, state: 'undug', groundLeftM2: tileAreaM2(squares.tiles) - ground.areaM2[tile] });
    }
  }
  return {
    squares,
    ground,
    finished,
    proposals: proposals.filter(({ groundLeftM2 }) => groundLeftM2 === null || groundLeftM2 > least),
    abandoned: abandonedArea.reduce((sum, area) => sum + (area > least ? 1 : 0), 0),
  };
}

/** Dug and planned ground and one square around it, as far as the grid reaches. */
function planBox(sample: Sample, grid: GridRecord): Box {
  const boxes = [sample.window, ...(sample.undug ?? []).map(({ region }) => region)].map(regionBox);
  const step = grid.node_spacing;
  const least = (axis: number) => boxes.reduce((low, box) => Math.min(low, box[axis]), Infinity);
  const most = (axis: number) => boxes.reduce((high, box) => Math.max(high, box[axis]), -Infinity);
  return [
    Math.max(least(0) - step, Math.min(0, least(0))),
    Math.max(least(1) - step, Math.min(0, least(1))),
    Math.min(most(2) + step, Math.max(grid.columns * step, most(2))),
    Math.min(most(3) + step, Math.max(grid.rows * step, most(3))),
  ];
}

/** A square without dug ground that shares a side with one that has some. */
function isBesideDug({ tiles }: CountingSquares, areaM2: Float64Array, tile: number): boolean {
  const whole = tileAreaM2(tiles);
  if (areaM2[tile] >= (1 - leastShare) * whole) return false;
  const column = tile % tiles.columns;
  return (
    areaM2[tile] > 0 ||
    (column > 0 && areaM2[tile - 1] > 0) ||
    (column + 1 < tiles.columns && areaM2[tile + 1] > 0) ||
    (areaM2[tile - tiles.columns] ?? 0) > 0 ||
    (areaM2[tile + tiles.columns] ?? 0) > 0
  );
}
