import { quadratTest } from '../../math/quadrats.js';
import type { CountInterval } from '../../math/rate-interval.js';
import type { RateUnit } from './tally.js';

/** A count on some ground: what a rate is made of. */
export interface GroundCount {
  readonly count: number;
  /** m² dug */
  readonly dugM2: number;
  /** the part of the count, and the m³, in squares whose thickness is known; 0 = none is */
  readonly countWithVolume: number;
  readonly volumeM3: number;
}

/** Rates with their exact intervals; null where there is no ground, or no whole count. */
export interface Rates {
  readonly per_m2: number | null;
  readonly per_m2_low: number | null;
  readonly per_m2_high: number | null;
  readonly per_m3: number | null;
  readonly per_m3_low: number | null;
  readonly per_m3_high: number | null;
}

/** Rates of one row. Grams have no interval: they do not fall one by one. */
export function ratesOf(ground: GroundCount, unit: RateUnit, intervalOf: (count: number) => CountInterval): Rates {
  const rate = (count: number, over: number) => {
    if (!(over > 0)) return { value: null, low: null, high: null };
    const interval = unit === 'weight' || !Number.isInteger(count) ? null : intervalOf(count);
    return {
      value: count / over,
      low: interval === null ? null : interval.low / over,
      high: interval === null ? null : interval.high / over,
    };
  };
  const area = rate(ground.count, ground.dugM2);
  const volume = rate(ground.countWithVolume, ground.volumeM3);
  return {
    per_m2: area.value,
    per_m2_low: area.low,
    per_m2_high: area.high,
    per_m3: volume.value,
    per_m3_low: volume.low,
    per_m3_high: volume.high,
  };
}

/** χ² / df of counts over squares with ground; null for grams, and where there is none. */
export function dispersionOf(counts: Float64Array, exposure: Float64Array, unit: RateUnit): number | null {
  return unit === 'weight' ? null : (quadratTest(counts, exposure)?.dispersion ?? null);
}
