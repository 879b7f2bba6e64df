import type { Sample } from '../../domain/sample.js';
import { deviationalEllipse, meanCentre } from '../../math/centre.js';
import { holm } from '../../math/holm.js';
import { medianCentre } from '../../math/median-centre.js';
import type { Ground } from './ground.js';
import { type GroupOffset, offsetsAgainstCrowd } from './offsets.js';
import type { Offset, Summary } from './schemas.js';

/** A set of finds whose centre is asked for. */
export interface FindGroup {
  readonly name: string | null;
  /** [2n] metres from the local origin */
  readonly xy: Float64Array;
}

/** The classes present, unknown last; none when there is only one. */
export function classGroups(sample: Sample, xy: Float64Array): FindGroup[] {
  const last = sample.classes.length + 1;
  const present = [...new Set(sample.classCode)].sort((a, b) => (a || last) - (b || last));
  if (present.length < 2) return [];
  return present.map((code) => ({
    name: code === 0 ? null : sample.classes[code - 1],
    xy: xy.filter((_, k) => sample.classCode[k >> 1] === code),
  }));
}

/** The offsets of all finds chosen and of each class, against all finds of the same seasons. */
export function offsetsOf(
  sample: Sample,
  ground: Ground,
  of: {
    readonly all: Float64Array;
    readonly classes: readonly FindGroup[];
    readonly plan: { readonly count: number; readonly seed: number; readonly progress: (share: number) => void };
  },
): { readonly pooled: Offset; readonly byClass: readonly Offset[] } {
  const crowd = sample.others.xy.map((v, i) => v - (i % 2 === 0 ? ground.west : ground.south));
  const groups = [of.all, ...of.classes.map((group) => group.xy)].map((xy) => ground.measure(xy));
  const [pooled, ...byClass] = offsetsAgainstCrowd(ground.measure(crowd), groups, of.plan).map(inSnakeCase);
  return { pooled, byClass };
}

function inSnakeCase(offset: GroupOffset): Offset {
  return {
    off_axis_m: offset.offAxisM,
    expected_m: offset.expectedM,
    labelled_low_m: offset.labelledLowM,
    labelled_high_m: offset.labelledHighM,
    p_off_axis: offset.pOffAxis,
    offset_m: offset.offsetM,
    offset_bearing_deg: offset.offsetBearingDeg,
    downslope_m: offset.downslopeM,
    expected_downslope_m: offset.expectedDownslopeM,
    p_downslope: offset.pDownslope,
    shift_m: offset.shiftM,
    shift_bearing_deg: offset.shiftBearingDeg,
    p_shift: offset.pShift,
  };
}

/** One row for each class: where it lies, how it spreads, how far off the ship. */
export function classRows(
  ground: Ground,
  classes: readonly FindGroup[],
  offsets: readonly Offset[],
): Summary['by_class'] {
  const raised = holm(offsets.map((offset) => offset.p_off_axis ?? offset.p_shift));
  return classes.map((group, k) => {
    const centre = meanCentre(group.xy);
    const median = medianCentre(group.xy);
    return {
      artefact_class: group.name,
      n: group.xy.length / 2,
      mean_centre: [centre.x + ground.west, centre.y + ground.south],
      median_centre: [median.x + ground.west, median.y + ground.south],
      standard_distance_m: centre.standardDistanceM,
      ellipse: ellipseOf(group.xy),
      ...offsets[k],
      p_holm: raised[k],
    };
  });
}

/** The ellipse of three finds or more; null for fewer. */
export function ellipseOf(xy: Float64Array): Summary['ellipse'] {
  if (xy.length < 6) return null;
  const { bearingDeg, semiMajorM, semiMinorM } = deviationalEllipse(xy);
  return { bearing_deg: bearingDeg, semi_major_m: semiMajorM, semi_minor_m: semiMinorM };
}

/** Weighted centre of each size class; none when no find states one. */
export function sizeRows(sample: Sample, xy: Float64Array, ground: Ground): Summary['by_size_class'] {
  const names = [...new Set(sample.detail.sizeClass)].sort((a, b) =>
    a === null ? 1 : b === null ? -1 : a < b ? -1 : 1,
  );
  if (names.every((name) => name === null)) return [];
  return names.map((name) => {
    const isOwn = (i: number) => sample.detail.sizeClass[i] === name;
    const own = xy.filter((_, k) => isOwn(k >> 1));
    const weight = sample.weight.filter((_, i) => isOwn(i));
    return { size_class: name, n: weight.length, weighted_centre: weightedPlace(own, weight, ground) };
  });
}

/** Weighted centre in site-grid metres; null when nothing has weight. */
export function weightedPlace(xy: Float64Array, weight: Float64Array, ground: Ground): [number, number] | null {
  if (!weight.some((w) => w > 0)) return null;
  const { x, y } = meanCentre(xy, weight);
  return [x + ground.west, y + ground.south];
}
