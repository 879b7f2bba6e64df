import type { Sample } from '../../domain/sample.js';
import type { BlockPlan } from '../../math/blocks.js';
import { mannWhitney, twoSampleGap } from '../../math/two-samples.js';
import { type Estimate, labelsAgainstRest } from './comparison.js';
import type { FindDepths } from './depths.js';
import type { Groups } from './groups.js';
import type { Comparison, Parameters } from './schemas.js';
import { gatherUnits } from './units.js';

/** an exact p is one less a probability: below this the limit law keeps more digits */
const leastExact = 1e-9;

/** Compares the depths of two groups; null when one of them has no find with a relative depth. */
export function compareGroups(
  sample: Sample,
  depths: FindDepths,
  of: {
    readonly groups: Groups;
    readonly members: readonly number[];
    readonly own: Parameters;
    readonly plan: BlockPlan;
  },
): Comparison | null {
  const { groups, own } = of;
  const members = of.members.filter((i) => groups.of(i) >= 0);
  const units = gatherUnits(sample, depths, { members, labelOf: groups.of, labels: 2, blockM: own.block_m });
  const finds = (label: number) => units.finds.reduce((sum, n, k) => sum + (units.label[k] === label ? n : 0), 0);
  const [n1, n2] = [finds(0), finds(1)];
  if (n1 === 0 || n2 === 0) return null;
  const [first, second] = labelsAgainstRest(units, [units.elevation, units.belowTopM, units.aboveBottomM], of.plan);
  const difference = first.difference as Estimate;
  const list = (label: number) => units.u.filter((_, k) => units.label[k] === label);
  const ranks = mannWhitney(list(0), list(1));
  const gap = twoSampleGap(list(0), list(1));
  return {
    first: groups.first,
    second: groups.second,
    n_first: n1,
    n_second: n2,
    units_first: first.units,
    units_second: second.units,
    mean_first: first.mean as number,
    mean_second: second.mean as number,
    difference: difference.value,
    low: difference.low,
    high: difference.high,
    expected_by_square: first.expected as number,
    p_two_sided: first.p?.twoSided ?? null,
    p_deeper: first.p?.upper ?? null,
    p_shallower: first.p?.lower ?? null,
    smallest_seen: first.smallestSeen,
    shared_blocks: first.sharedBlocks,
    elevation: inMetres(first.further[0]),
    depth_below_top: inMetres(first.further[1]),
    height_above_bottom: inMetres(first.further[2]),
    mann_whitney: ranks && { u: ranks.u, z: ranks.z, p: ranks.pContinuity, share_deeper: ranks.shareLarger },
    kolmogorov_smirnov: gap && { d: gap.d, p: (gap.pExact ?? 0) > leastExact ? (gap.pExact as number) : gap.pLimit },
  };
}

function inMetres(estimate: Estimate | null) {
  const { value, low, high } = estimate as Estimate;
  return { value_m: value, low_m: low, high_m: high };
}
