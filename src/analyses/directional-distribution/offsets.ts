import { bearingOf } from '../../math/circular.js';
import { rankProbability } from '../../math/monte-carlo.js';
import { randomlyLabelledSums } from '../../math/random-labels.js';

/** What is measured of every find of the crowd, all [N] or [2N]. */
export interface CrowdSteps {
  /** [2N] positions from a local origin, metres */
  readonly xy: Float64Array;
  /** [2N] step from the hull or the ship axis; null = there is none */
  readonly step: Float64Array | null;
  /** [N] metres off the ship axis, positive to port; null without an axis */
  readonly offAxis: Float64Array | null;
  /** unit vector down the slope; null when the slope is not known */
  readonly downslope: readonly [number, number] | null;
}

/** Numbers of one group against the crowd; null = cannot be told. */
export interface GroupOffset {
  readonly offAxisM: number | null;
  readonly expectedM: number | null;
  readonly labelledLowM: number | null;
  readonly labelledHighM: number | null;
  readonly pOffAxis: number | null;
  readonly offsetM: number | null;
  readonly offsetBearingDeg: number | null;
  readonly downslopeM: number | null;
  readonly expectedDownslopeM: number | null;
  readonly pDownslope: number | null;
  readonly shiftM: number | null;
  readonly shiftBearingDeg: number | null;
  readonly pShift: number | null;
}

/** whole steps a metre: equal sums are equal whatever their order, a thousandth of a millimetre apart */
const stepsPerM = 2 ** 20;

/**
 * How far groups of finds lie to one side of the ship, down the slope, and from where finds lie in general, each held
 * against groups of the same size drawn from all finds: a wreck's own shape is no answer to where a class went.
 *
 * @param groups  the same measures for the finds of each group
 * @param plan    0 simulations: no p
 */
export function offsetsAgainstCrowd(
  crowd: CrowdSteps,
  groups: readonly CrowdSteps[],
  plan: { readonly count: number; readonly seed: number; readonly progress: (share: number) => void },
): GroupOffset[] {
  const crowdSize = crowd.xy.length / 2;
  const sizes = groups.map((group) => group.xy.length / 2);
  const of = (steps: CrowdSteps) => ({
    x: wholeSteps(every(steps.xy, 0)),
    y: wholeSteps(every(steps.xy, 1)),
    side: steps.offAxis && wholeSteps(steps.offAxis),
    down: steps.step && steps.downslope && wholeSteps(along(steps.step, steps.downslope)),
  });
  const all = of(crowd);
  const none = new Float64Array(crowdSize);
  const [dx, dy, dSide, dDown] =
    crowdSize === 0
      ? [none, none, none, none]
      : randomlyLabelledSums([all.x, all.y, all.side ?? none, all.down ?? none], { sizes, ...plan });
  return groups.map((group, g) => {
    const n = sizes[g];
    const own = of(group);
    // the whole crowd has nothing to be drawn from
    const isTestable = n > 0 && n < crowdSize && plan.count > 0;
    const column = (sums: Float64Array) =>
      Float64Array.from({ length: plan.count }, (_, s) => sums[s * sizes.length + g]);
    const test = (observed: number, sums: Float64Array) =>
      isTestable ? rankProbability(observed, column(sums)).twoSided : null;
    const side = own.side && n > 0 ? total(own.side) : null;
    const down = own.down && n > 0 ? total(own.down) : null;
    const centre: [number, number] = [total(own.x) / n, total(own.y) / n];
    const middle: [number, number] = [total(all.x) / crowdSize, total(all.y) / crowdSize];
    const shift: [number, number] = [centre[0] - middle[0], centre[1] - middle[1]];
    const mean: [number, number] | null =
      group.step && n > 0 ? [total(every(group.step, 0)) / n, total(every(group.step, 1)) / n] : null;
    const isCrowd = crowdSize > 0 && n > 0;
    const sorted = isTestable && own.side ? column(dSide).sort() : null;
    const rank = Math.max(1, Math.floor(0.025 * (plan.count + 1) + 1e-9));
    const squared = (sx: number, sy: number) => (sx / n - middle[0]) ** 2 + (sy / n - middle[1]) ** 2;
    const shifts = isTestable
      ? rankProbability(
          squared(total(own.x), total(own.y)),
          Float64Array.from({ length: plan.count }, (_, s) =>
            squared(dx[s * sizes.length + g], dy[s * sizes.length + g]),
          ),
        ).upper
      : null;
    return {
      offAxisM: side === null ? null : side / n / stepsPerM,
      expectedM: all.side && isCrowd ? total(all.side) / crowdSize / stepsPerM : null,
      labelledLowM: sorted ? sorted[rank - 1] / n / stepsPerM : null,
      labelledHighM: sorted ? sorted[sorted.length - rank] / n / stepsPerM : null,
      pOffAxis: side === null ? null : test(side, dSide),
      offsetM: mean && Math.sqrt(mean[0] ** 2 + mean[1] ** 2),
      offsetBearingDeg: mean && (mean[0] !== 0 || mean[1] !== 0) ? bearingOf(mean[0], mean[1]) : null,
      downslopeM: down === null ? null : down / n / stepsPerM,
      expectedDownslopeM: all.down && isCrowd ? total(all.down) / crowdSize / stepsPerM : null,
      pDownslope: down === null ? null : test(down, dDown),
      shiftM: isCrowd ? Math.sqrt(shift[0] ** 2 + shift[1] ** 2) / stepsPerM : null,
      shiftBearingDeg: isCrowd && (shift[0] !== 0 || shift[1] !== 0) ? bearingOf(shift[0], shift[1]) : null,
      pShift: shifts,
    };
  });
}

const wholeSteps = (values: Float64Array): Float64Array => values.map((v) => Math.round(v * stepsPerM));

const every = (xy: Float64Array, from: 0 | 1): Float64Array =>
  Float64Array.from({ length: xy.length / 2 }, (_, i) => xy[2 * i + from]);

function along(xy: Float64Array, [ux, uy]: readonly [number, number]): Float64Array {
  return Float64Array.from({ length: xy.length / 2 }, (_, i) => xy[2 * i] * ux + xy[2 * i + 1] * uy);
}

function total(values: Float64Array): number {
  let sum = 0;
  for (const v of values) sum += v;
  return sum;
}
