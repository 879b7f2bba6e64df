import { type ChosenBandwidth, crossValidatedBandwidth, scottBandwidth } from '../../math/bandwidth.js';
import { bermanDiggleBandwidth } from '../../math/berman-diggle.js';
import { type Region, regionBox } from '../../math/rings.js';
import { type AreaFind, spreadAreas } from './spread-areas.js';

export const bandwidthRules = ['scott', 'lcv', 'berman-diggle', 'lscv'] as const;
export type BandwidthRule = (typeof bandwidthRules)[number];

/**
 * The bandwidth asked: metres as they are, or found by a rule. Scott's rule counts finds known by square with their
 * spread; the others need positions and read the point finds only.
 *
 * @throws Problem too-few-points, cannot-answer, too-much-work
 */
export function chooseBandwidth(spec: {
  readonly asked: number | BandwidthRule;
  readonly xy: Float64Array;
  readonly areas: readonly AreaFind[];
  readonly window: Region;
  progress(share: number): void;
}): ChosenBandwidth {
  const { asked, xy, window } = spec;
  if (typeof asked === 'number') return { sigmaM: asked, atBoundary: false, criterion: null };
  if (asked === 'scott') {
    const [west, south, east, north] = regionBox(window);
    const spread = spreadAreas(spec.areas, Math.hypot(east - west, north - south) / 100);
    const all = new Float64Array(xy.length + spread.xy.length);
    all.set(xy);
    all.set(spread.xy, xy.length);
    const share = new Float64Array(all.length / 2).fill(1);
    share.set(spread.share, xy.length / 2);
    return scottBandwidth({ xy: all, share });
  }
  if (asked === 'berman-diggle') return bermanDiggleBandwidth(xy, window);
  return crossValidatedBandwidth({ rule: asked, xy, window, progress: spec.progress });
}
