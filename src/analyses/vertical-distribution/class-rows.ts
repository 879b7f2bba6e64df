import type { Sample } from '../../domain/sample.js';
import type { BlockPlan } from '../../math/blocks.js';
import { holm } from '../../math/holm.js';
import { median, quantiles } from '../../math/quantiles.js';
import { labelsAgainstRest } from './comparison.js';
import { type FindDepths, noElevation } from './depths.js';
import type { Summary } from './schemas.js';
import { densities } from './trends.js';
import type { GatheredUnits } from './units.js';

export type ClassRow = Summary['by_class'][number] & { readonly code: number };

/** One row for each class that occurs, unknown last: quartiles of depth, and the class against all the rest. */
export function classRows(of: {
  readonly sample: Sample;
  readonly depths: FindDepths;
  readonly units: GatheredUnits;
  readonly plan: BlockPlan;
}): ClassRow[] {
  const { sample, depths, units, plan } = of;
  const against = units.u.length > 0 ? labelsAgainstRest(units, [], plan) : [];
  const density = densities(sample);
  const last = sample.classes.length + 1;
  const present = [...new Set(sample.classCode)].sort((a, b) => (a || last) - (b || last));
  const rows = present.map((code) => {
    const all = Array.from(sample.classCode.keys()).filter((i) => sample.classCode[i] === code);
    const own = all.filter((i) => depths.reason[i] === null);
    const of = (values: Float64Array) => own.map((i) => values[i]);
    const [q25, middle, q75] = quantiles(of(depths.u), [0.25, 0.5, 0.75]);
    const without = all.filter((i) => depths.reason[i] === noElevation).length;
    const row = against[code];
    return {
      code,
      artefact_class: code === 0 ? null : sample.classes[code - 1],
      n: own.length,
      units: row?.units ?? 0,
      without_elevation: without,
      left_out: all.length - own.length - without,
      mean: row?.mean ?? null,
      q25,
      median: middle,
      q75,
      median_elevation_m: median(of(depths.elevation)),
      median_depth_below_top_m: median(of(depths.belowTopM)),
      median_height_above_bottom_m: median(of(depths.aboveBottomM)),
      material_density: Number.isFinite(density[code]) ? density[code] : null,
      against_rest: row?.difference?.value ?? null,
      low: row?.difference?.low ?? null,
      high: row?.difference?.high ?? null,
      p_two_sided: row?.p?.twoSided ?? null,
    };
  });
  const raised = holm(rows.map((row) => row.p_two_sided));
  return rows.map((row, k) => ({ ...row, p_holm: raised[k] }));
}
