import type { DugArea } from '../../domain/sample.js';
import { boundaryDistance, contains } from '../../math/rings.js';
import type { Oddity } from './schemas.js';

/**
 * Whether something in these areas can still be settled before backfilling: not when all of them are backfilled
 * already, and the rule then says so. Areas that do not state it count as open.
 */
export function beforeBackfill(
  areas: readonly Pick<DugArea, 'backfilled'>[],
  rule: string,
): Pick<Oddity, 'before_backfill' | 'rule'> {
  const isClosed = areas.length > 0 && areas.every((area) => area.backfilled === true);
  return isClosed ? { before_backfill: false, rule: `${rule}; backfilled already` } : { before_backfill: true, rule };
}

/** a grid re-laid a hand's breadth off still belongs to the ground of its season */
const besideM = 0.25;

/** The same for rows of levels and finds, by the ground of their season they lie in or beside; without a place, all of it. */
export function rowsBeforeBackfill(dug: readonly DugArea[], rows: readonly Oddity[]): Oddity[] {
  return rows.map((row) => {
    if (!row.before_backfill) return row;
    const { x_m: x, y_m: y } = row;
    const here = dug.filter(
      ({ season, region }) =>
        (row.season === null || season === row.season) &&
        (x === null || y === null || contains(region, x, y, 0) || boundaryDistance(region, x, y) < besideM),
    );
    return { ...row, ...beforeBackfill(here, row.rule) };
  });
}
