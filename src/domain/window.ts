import { intersection, union } from '../math/overlay.js';
import { type Region, regionArea } from '../math/rings.js';
import { Problem } from '../problems.js';
import { partsOf, wordReader } from './columns.js';
import type { FeatureTable } from './feature-table.js';

/** States of an excavated area that make it part of the window, backfilled or not. */
export const dugStates: ReadonlySet<string> = new Set(['part_dug', 'to_deposit_bottom', 'to_hard_substrate']);

/** The area that finds were looked for in, and where it comes from. */
export interface Window {
  readonly region: Region;
  readonly areaM2: number;
  readonly source: string;
}

/**
 * The dug area of the seasons chosen (none = all): the only window a statistic is computed in. Planned, opened and
 * abandoned areas never count; `dug_fraction` enters rates and volumes, not the window.
 * @param areas   the table `excavated-areas`, areas in site-grid metres
 * @param within  a polygon to look at only a part of the dug area; null = all of it
 * @throws Problem no-window when nothing was dug; bad-window when `within` shares nothing with the dug area
 */
export function excavatedWindow(
  areas: FeatureTable | null,
  seasons: ReadonlySet<string>,
  within: Region | null,
): Window {
  const season = areas ? wordReader(areas, 'season') : () => null;
  const progress = areas ? wordReader(areas, 'progress') : () => null;
  const dug: Region[] = [];
  const used = new Map<string, number>();
  if (areas?.geometry && areas.geometry.type === 'area') {
    for (let i = 0; i < areas.length; i++) {
      const s = season(i) ?? '';
      if (!dugStates.has(progress(i) ?? '') || (seasons.size > 0 && !seasons.has(s))) continue;
      dug.push({ rings: partsOf(areas.geometry, i).map((part) => part.ring) });
      used.set(s, (used.get(s) ?? 0) + 1);
    }
  }
  if (dug.length === 0) {
    const which = seasons.size > 0 ? `seasons ${[...seasons].join(', ')}` : 'this site';
    throw new Problem(
      'no-window',
      `no excavated area of ${which} is dug (progress part_dug, to_deposit_bottom or to_hard_substrate); a statistic needs the dug area`,
    );
  }
  let region = union(dug);
  let source = `dug area of ${[...used].map(([s, n]) => `${s} (${n} ${n === 1 ? 'polygon' : 'polygons'})`).join(', ')}`;
  if (within) {
    region = intersection(region, within);
    source += ', within the polygon given';
  }
  const areaM2 = regionArea(region);
  if (!(areaM2 > 0))
    throw new Problem('bad-window', 'the window polygon shares no ground with the dug area of these seasons');
  return { region, areaM2, source };
}
