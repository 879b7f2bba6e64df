import { dugTileAt } from '../../domain/counting-squares.js';
import { contains, edgeSlack } from '../../math/rings.js';
import type { SeasonGround } from './ground.js';

/** Positions of one season, metres from the local origin. */
export interface PlacedSeason {
  /** [2n] */
  readonly xy: Float64Array;
  /** [n] pot or concretion in this season; null = by itself */
  readonly group: readonly (string | null)[];
  /** [n] number of the season square it lies in; −1 = none */
  readonly square: Int32Array;
  /** [n] number of the position in the sample; −1 = a pot vessel, gathered from its sherds */
  readonly position: Int32Array;
}

/**
 * Positions by season. Pot vessels are gathered anew within each season: a jar met in two seasons lies in both.
 */
export function placedSeasons(ground: SeasonGround): PlacedSeason[] {
  const { local, squares, bySeason, pooled } = ground.ground;
  const rows = local.counting?.unit === 'pot_vessel' && local.register ? potPlaces(ground) : positionPlaces(ground);
  return ground.seasons.map((season, s) => {
    const own = rows.filter((row) => row.season === season.code);
    const { areaM2 } = bySeason[season.code - 1] ?? pooled;
    return {
      xy: Float64Array.from(own.flatMap(({ x, y }) => [x, y])),
      group: own.map(({ group }) => (group === null ? null : `${s} ${group}`)),
      square: Int32Array.from(own, ({ x, y }) => ground.seasonSquareOf(season.code, dugTileAt(squares, areaM2, x, y))),
      position: Int32Array.from(own, ({ position }) => position),
    };
  });
}

interface Place {
  readonly x: number;
  readonly y: number;
  readonly season: number;
  readonly group: string | null;
  readonly position: number;
}

function positionPlaces({ ground: { local } }: SeasonGround): Place[] {
  return local.label.map((_, i) => {
    const [concretion, vessel] = [local.detail.concretion[i], local.detail.potVessel[i]];
    return {
      x: local.xy[2 * i],
      y: local.xy[2 * i + 1],
      season: local.seasonCode[i],
      group: concretion !== null ? `concretion ${concretion}` : vessel === null ? null : `pot ${vessel}`,
      position: i,
    };
  });
}

function potPlaces({ ground: { local } }: SeasonGround): Place[] {
  const { register, window } = local;
  if (!register) return [];
  const slack = edgeSlack(window);
  const pots = new Map<string, { season: number; x: number[]; y: number[] }>();
  register.potVessel.forEach((vessel, i) => {
    const [x, y] = [register.xy[2 * i], register.xy[2 * i + 1]];
    if (vessel === null || Number.isNaN(x) || !contains(window, x, y, slack)) return;
    const key = `${register.seasonCode[i]} ${vessel}`;
    const pot = pots.get(key) ?? { season: register.seasonCode[i], x: [], y: [] };
    pot.x.push(x);
    pot.y.push(y);
    pots.set(key, pot);
  });
  const mean = (values: readonly number[]) =>
    values[0] + values.reduce((sum, v) => sum + (v - values[0]), 0) / values.length;
  return [...pots.values()].map(({ season, x, y }) => ({
    x: mean(x),
    y: mean(y),
    season,
    group: null,
    position: -1,
  }));
}
