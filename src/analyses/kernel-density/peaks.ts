import { type PlacedPeak, pairPeaks } from '../../math/paired-peaks.js';
import type { IntensityView } from './intensity.js';
import type { Summary } from './schemas.js';

/** tops that may answer a peak at another bandwidth: lower ones too, for smoothing changes which top is the highest */
const counterpartRule = { leastShare: 1 / 10, riseShare: 1 / 20 };

/** heaps closer than two bandwidths melt into one top: so far may a top move from one bandwidth to the other */
const meltingBandwidths = 2;

/**
 * The peaks at the bandwidth asked, each with its counterpart at half and at double: the nearest top, within two of the
 * wider bandwidth, that answers no other peak. A peak persists when it has both.
 */
export function peakList(views: readonly [IntensityView | null, IntensityView, IntensityView | null]) {
  const [half, own, double] = views;
  const peaks = own.tops();
  const answers = (view: IntensityView | null) =>
    view && pairPeaks(peaks, view.tops(counterpartRule), meltingBandwidths * Math.max(view.sigmaM, own.sigmaM));
  const [inHalf, inDouble] = [answers(half), answers(double)];
  return peaks.map((peak, i): Summary['peak_list'][number] => ({
    ...placed(peak),
    half: placedOrNone(inHalf?.[i] ?? null),
    double: placedOrNone(inDouble?.[i] ?? null),
    persists: inHalf && inDouble ? inHalf[i] !== null && inDouble[i] !== null : null,
  }));
}

const placed = ({ x, y, height }: PlacedPeak) => ({ x_m: x, y_m: y, height });
const placedOrNone = (peak: PlacedPeak | null) => peak && placed(peak);
