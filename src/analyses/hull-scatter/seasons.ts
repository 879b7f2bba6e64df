import type { Sample } from '../../domain/sample.js';
import { lawQuantile } from '../../math/distance-law.js';
import { kolmogorovExact, kolmogorovGap } from '../../math/kolmogorov.js';
import { intersection, union } from '../../math/overlay.js';
import { median } from '../../math/quantiles.js';
import { type Region, regionArea, shiftRegion } from '../../math/rings.js';
import type { Measure } from './chance.js';
import type { Ground } from './ground.js';

/** Finds of one season against the ground that very season dug. */
export interface SeasonScatter {
  readonly season: string;
  readonly n: number;
  readonly areaM2: number;
  readonly medianM: number | null;
  /** median distance of the season's own dug ground */
  readonly expectedMedianM: number;
  readonly d: number | null;
  readonly p: number | null;
}

/**
 * Seasons side by side, each held to its own ground: seasons dig different squares, and a season that digs amidships
 * has finds near the keelson whatever lay there.
 *
 * @param measureOn  the same measure over another window
 * @returns null with fewer than two seasons
 */
export function seasonScatters(
  sample: Sample,
  ground: Ground,
  measureOn: (window: Region) => Measure,
): SeasonScatter[] | null {
  const names = [...new Set(sample.dug.map((area) => area.season))].filter((season) => season !== '').sort();
  if (names.length < 2) return null;
  return names.flatMap((season) => {
    const regions = sample.dug.filter((area) => area.season === season).map((area) => area.region);
    const window = intersection(ground.window, shiftRegion(union(regions), ground.origin[0], ground.origin[1]));
    const areaM2 = window.rings.length === 0 ? 0 : regionArea(window);
    if (areaM2 <= 1e-9) return [];
    const measure = measureOn(window);
    const code = sample.seasons.indexOf(season) + 1;
    const distances: number[] = [];
    sample.seasonCode.forEach((own, i) => {
      if (own === code && code > 0) distances.push(measure.distance(ground.xy[2 * i], ground.xy[2 * i + 1]));
    });
    const n = distances.length;
    const gap = n > 0 ? kolmogorovGap(Float64Array.from(distances), measure.law) : null;
    return {
      season,
      n,
      areaM2,
      medianM: median(distances),
      expectedMedianM: lawQuantile(measure.law, 0.5),
      d: gap,
      p: gap === null ? null : kolmogorovExact(n, gap),
    };
  });
}
