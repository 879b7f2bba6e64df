import type { HullElement, Sample } from '../../domain/sample.js';
import { nearestShapes, straightPieces } from '../../math/hull-distance.js';
import { tileBox } from '../../math/tiles.js';
import type { NamedTimber } from './hull-continuity.js';
import type { DigPlan } from './proposals.js';
import type { TrendPlace } from './trend.js';

/** The hull as it is measured to and drawn on. */
export interface Hull {
  readonly surviving: readonly NamedTimber[];
  readonly projected: readonly NamedTimber[];
  readonly unknownState: number;
}

/** Articulated hull in place, seen and projected apart; what the record leaves open counts as such. */
export function hullOf(sample: Sample): Hull {
  const kept = sample.hull.filter((part) => part.state !== 'loose' && part.place !== 'displaced');
  const named = (part: HullElement): NamedTimber => ({
    name: `${part.number} ${part.element}`.trim(),
    type: part.type,
    parts: part.parts,
  });
  return {
    surviving: kept.filter((part) => part.outline !== 'projected').map(named),
    projected: kept.filter((part) => part.outline === 'projected').map(named),
    unknownState: kept.filter((part) => part.state === 'unknown' || part.place === 'unknown').length,
  };
}

/** What the trend wants to know of each tile. */
export function placesOf({ squares }: DigPlan, hull: readonly NamedTimber[]): (tile: number) => TrendPlace {
  const { west, south, east, north } = squares.tiles;
  const nearest = hull.length === 0 ? null : nearestShapes(straightPieces(hull), [west, south, east, north]);
  return (tile) => {
    const box = tileBox(squares.tiles, tile);
    const x = (box[0] + box[2]) / 2;
    const y = (box[1] + box[3]) / 2;
    return { x, y, hullM: nearest?.distance(x, y) ?? null };
  };
}
