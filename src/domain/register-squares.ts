import type { DugGround } from '../math/dug-ground.js';
import { regionBox } from '../math/rings.js';
import { localSample } from './counted-sample.js';
import {
  type CountingSquares,
  dugTileAt,
  evenSquares,
  findsBySquare,
  gridSquares,
  groundBySquare,
} from './counting-squares.js';
import type { RegisterEntries, Sample } from './sample.js';

/** no square is known */
export const noSquare = -1;
/** a square is known, but it holds no ground dug in the season */
export const notDug = -2;

/** Squares and dug ground, by season and of all seasons together. */
export interface SquareGround {
  readonly squares: CountingSquares;
  /** the sample in metres from `origin` */
  readonly local: Sample;
  readonly origin: readonly [number, number];
  /** ground of all seasons chosen, each spot once */
  readonly pooled: DugGround;
  /** [seasons] in the sample's order */
  readonly bySeason: readonly DugGround[];
}

/** The grid's squares, or on plain files squares of one side from the window's lower-left corner. */
export function squareGround(sample: Sample, squareM: number): SquareGround {
  const { local, origin } = localSample(sample);
  const box = regionBox(local.window);
  const squares =
    local.grid === null ? evenSquares(box, squareM) : gridSquares(local.grid, box, local.grid.node_spacing);
  return {
    squares,
    local,
    origin,
    pooled: groundBySquare(local, squares),
    bySeason: sample.seasons.map((season) => groundBySquare(local, squares, season)),
  };
}

/** The finds of the register, or where the sample brings none, its positions and finds known by an area. */
export type Entries = Pick<
  RegisterEntries,
  | 'find'
  | 'classCode'
  | 'seasonCode'
  | 'square'
  | 'kind'
  | 'xy'
  | 'pieces'
  | 'weightG'
  | 'potVessel'
  | 'concretion'
  | 'sizeClass'
  | 'recoveryMethod'
  | 'meshMm'
>;

/** Entries of a sample, positions in metres from the local origin. */
export function entriesOf({ local }: SquareGround): Entries {
  if (local.register) return local.register;
  const { areas, detail } = local;
  const more = <T>(own: readonly T[], of: (area: Sample['areas'][number]) => T): T[] => [...own, ...areas.map(of)];
  return {
    find: more(local.label, (area) => area.label),
    classCode: Uint32Array.from(more([...local.classCode], (area) => area.classCode)),
    seasonCode: Uint32Array.from(more([...local.seasonCode], (area) => area.seasonCode)),
    square: more(detail.square, (area) => area.square ?? null),
    kind: more(
      local.label.map(() => 'point'),
      () => 'area',
    ),
    xy: Float64Array.from([...local.xy, ...areas.flatMap(() => [Number.NaN, Number.NaN])]),
    pieces: Float64Array.from(more([...detail.pieces], () => Number.NaN)),
    weightG: Float64Array.from(more([...detail.weightG], () => Number.NaN)),
    potVessel: more<string | null>(detail.potVessel, () => null),
    concretion: more<string | null>(detail.concretion, () => null),
    sizeClass: more<string | null>(detail.sizeClass, () => null),
    recoveryMethod: more<string | null>(
      local.label.map(() => null),
      () => null,
    ),
    meshMm: new Float64Array(local.label.length + areas.length).fill(Number.NaN),
  };
}

/** Which square each entry counts in. */
export interface PlacedEntries {
  /** [n] tile with ground dug in the find's season, else noSquare or notDug */
  readonly tile: Int32Array;
  /** finds whose stated square holds no ground dug in their season, counted where they lie */
  readonly moved: number;
}

/**
 * Gives every entry its square: the one stated if it was dug in the find's season, else the dug one it lies in by the
 * grid's boundary rule, else none.
 */
export function placeEntries(entries: Entries, ground: SquareGround): PlacedEntries {
  const { squares, bySeason, pooled, local } = ground;
  const tileOfLabel = new Map<string, number>();
  const areaTile = findsBySquare({ ...local, xy: new Float64Array(0) }, squares, pooled.areaM2).areaTile;
  const tileOfArea = new Map(local.areas.map((area, k) => [area.label, areaTile[k]]));
  let moved = 0;
  const tile = Int32Array.from(entries.find, (find, i) => {
    const { areaM2 } = bySeason[entries.seasonCode[i] - 1] ?? pooled;
    const stated = entries.square[i];
    if (stated !== null) {
      let named = tileOfLabel.get(stated);
      if (named === undefined) {
        named = squares.tileOfSquare(stated);
        tileOfLabel.set(stated, named);
      }
      if (named >= 0 && areaM2[named] > 0) return named;
    }
    const x = entries.xy[2 * i];
    const y = entries.xy[2 * i + 1];
    const lies = Number.isNaN(x) ? (tileOfArea.get(find) ?? -1) : dugTileAt(squares, areaM2, x, y);
    if (lies >= 0 && areaM2[lies] > 0) {
      if (stated !== null) moved++;
      return lies;
    }
    return stated === null && Number.isNaN(x) ? noSquare : notDug;
  });
  return { tile, moved };
}
