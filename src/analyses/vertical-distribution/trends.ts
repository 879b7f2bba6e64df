import type { Sample } from '../../domain/sample.js';
import { alongAxis } from '../../math/along-line.js';
import type { BlockPlan } from '../../math/blocks.js';
import { kendall } from '../../math/ranks.js';
import { Problem } from '../../problems.js';
import { labelTrend, placeTrend } from './comparison.js';
import type { Summary } from './schemas.js';
import type { GatheredUnits } from './units.js';

/** [classes + 1] material density by class code, t/m³; NaN = not stated. */
export function densities(sample: Sample): number[] {
  const out = new Array<number>(sample.classes.length + 1).fill(Number.NaN);
  sample.classCode.forEach((code, i) => {
    const own = sample.detail.materialDensity[i];
    if (code > 0 && own > 0) out[code] = own;
  });
  return out;
}

/** Relative depth against the density of the class's material; null below two different densities. */
export function densityTrend(sample: Sample, all: GatheredUnits, plan: BlockPlan): Summary['trend'] {
  const density = densities(sample);
  const isKnown = Uint8Array.from(all.label, (c) => (Number.isFinite(density[c]) ? 1 : 0));
  const units = {
    u: all.u.filter((_, k) => isKnown[k] === 1),
    block: all.block.filter((_, k) => isKnown[k] === 1),
    label: all.label.filter((_, k) => isKnown[k] === 1),
    labels: all.labels,
  };
  const trend = units.u.length > 1 ? labelTrend(units, density, plan) : null;
  if (trend === null) return null;
  const tau = kendall(
    units.u,
    Array.from(units.label, (c) => density[c]),
  );
  return {
    classes: new Set(units.label).size,
    n: units.u.length,
    spearman_rho: trend.value,
    low: trend.low,
    high: trend.high,
    p_two_sided: trend.p,
    kendall_tau_b: tau.value,
  };
}

/** Relative depth against distance off the ship axis. @throws Problem cannot-answer without a ship axis */
export function keelTrend(sample: Sample, all: GatheredUnits, plan: BlockPlan): Summary['keel_distance'] {
  if (sample.shipAxis === null) {
    throw new Problem(
      'cannot-answer',
      'depth against distance from the keel needs a ship axis: state ship_axis in site.json (after end and bow end)',
    );
  }
  const xy = Float64Array.from({ length: 2 * all.u.length }, (_, k) => (k % 2 === 0 ? all.x[k >> 1] : all.y[k >> 1]));
  const distance = Float64Array.from(alongAxis(xy, sample.shipAxis), ({ offM }) => Math.abs(offM));
  const trend = all.u.length > 2 ? placeTrend(all, distance, plan) : null;
  if (trend === null) return null;
  return {
    slope_per_m: trend.value,
    low: trend.low,
    high: trend.high,
    p_two_sided: trend.p,
    spearman_rho: trend.rho,
  };
}
