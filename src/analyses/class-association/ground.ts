import { type CountedSample, countSample, tilesWithGround } from '../../domain/counted-sample.js';
import { type CountingSquares, evenSquares, gridSquares } from '../../domain/counting-squares.js';
import type { Sample } from '../../domain/sample.js';
import { type Box, type Region, regionArea } from '../../math/rings.js';
import { Problem } from '../../problems.js';
import type { LabellingRule, Parameters } from './schemas.js';

/** The finds as the methods want them: classes in alphabetical order, places from a local origin. */
export interface Ground {
  readonly classes: readonly string[];
  /** [n] positions in the sample of the finds used, in the order of the file */
  readonly members: readonly number[];
  /** [2n] metres from the local origin */
  readonly xy: Float64Array;
  /** [n + m] 0-based class: finds with a place first, then those known by an area */
  readonly label: Uint8Array;
  /** [n + m] concretion or pot vessel; −1 = by itself */
  readonly group: Int32Array;
  /** [n + m] inside what names change places */
  readonly stratum: Int32Array;
  /** [n + m] 0-based number of a square with ground; −1 = none */
  readonly square: Int32Array;
  /** [n + m] what each counts for */
  readonly weight: Float64Array;
  /** numbers of the areas of the sample that are used */
  readonly areas: readonly number[];
  readonly window: Region;
  readonly areaM2: number;
  readonly squares: number;
  readonly sideM: number;
  readonly counted: CountedSample;
  /** rounding of coordinates as received, metres */
  readonly slackM: number;
  readonly unknown: number;
}

/** the law of the table takes classes⁶ steps */
const mostClasses = 40;

/** @throws Problem no-window, too-much-work beyond 40 classes, bad-parameter when squares do not fit the grid */
export function groundOf(sample: Sample, own: Parameters): Ground {
  const areaM2 = regionArea(sample.window);
  if (!(areaM2 > 0)) throw new Problem('no-window', 'the window has no area; name seasons with excavated areas');
  const members = known(sample.classCode);
  const areas = known(sample.areas.map((area) => area.classCode));
  const codes = new Set([...members.map((i) => sample.classCode[i]), ...areas.map((k) => sample.areas[k].classCode)]);
  // by code units, as a sort in any other program does: no language's own order
  const classes = [...codes].map((code) => sample.classes[code - 1]).sort((a, b) => (a < b ? -1 : a > b ? 1 : 0));
  if (classes.length > mostClasses) {
    throw new Problem(
      'too-much-work',
      `${classes.length} classes are too many for one table; at most ${mostClasses} are compared: choose some with artefact_class`,
      { classes: classes.length },
    );
  }
  const numberOf = new Map(classes.map((name, k) => [name, k]));
  const counted = countSample(sample, (local, box) => squaresFor(local, own, box));
  const numbering = new Map(tilesWithGround(counted).map((tile, k) => [tile, k]));
  const squareOf = (tile: number) => numbering.get(tile) ?? -1;
  const ofBoth = <T>(position: (i: number) => T, area: (k: number) => T) => [
    ...members.map(position),
    ...areas.map(area),
  ];
  const square = Int32Array.from(
    ofBoth(
      (i) => squareOf(counted.finds.tile[i]),
      (k) => squareOf(counted.finds.areaTile[k]),
    ),
  );
  return {
    classes,
    members,
    areas,
    xy: Float64Array.from(members.flatMap((i) => [counted.local.xy[2 * i], counted.local.xy[2 * i + 1]])),
    label: Uint8Array.from(
      ofBoth(
        (i) => sample.classCode[i],
        (k) => sample.areas[k].classCode,
      ),
      (code) => numberOf.get(sample.classes[code - 1]) ?? 0,
    ),
    group: groupsOf(sample, members, areas.length),
    stratum: strata({ sample, members, areas, square, rule: own.labelling }),
    square,
    weight: Float64Array.from(
      ofBoth(
        (i) => sample.weight[i],
        (k) => sample.areas[k].weight,
      ),
    ),
    window: counted.local.window,
    areaM2,
    squares: numbering.size,
    sideM: counted.squares.widthM,
    counted,
    slackM: 4 * Number.EPSILON * sample.xy.reduce((most, v) => Math.max(most, Math.abs(v)), 0),
    unknown: sample.classCode.length - members.length + sample.areas.length - areas.length,
  };
}

const known = (codes: ArrayLike<number>): number[] =>
  Array.from({ length: codes.length }, (_, i) => i).filter((i) => codes[i] > 0);

function squaresFor(sample: Sample, { block_m: blockM }: Parameters, box: Box): CountingSquares {
  if (sample.grid !== null) return gridSquares(sample.grid, box, blockM ?? sample.grid.node_spacing);
  const finds = sample.xy.length / 2 + sample.areas.length;
  return evenSquares(box, blockM ?? Math.sqrt(regionArea(sample.window) / Math.min(Math.max(finds / 5, 4), 3600)));
}

/** Children of one concretion, sherds of one pot vessel: one number. */
function groupsOf(sample: Sample, members: readonly number[], areas: number): Int32Array {
  const { concretion, potVessel } = sample.detail;
  const numbers = new Map<string, number>();
  const out = new Int32Array(members.length + areas).fill(-1);
  members.forEach((i, at) => {
    const key = concretion[i] !== null ? `c ${concretion[i]}` : potVessel[i] !== null ? `p ${potVessel[i]}` : null;
    if (key === null) return;
    const number = numbers.get(key) ?? numbers.size;
    numbers.set(key, number);
    out[at] = number;
  });
  return out;
}

/** Finds with a place and finds without change names among their own kind: the counts of both stay. */
function strata(of: {
  readonly sample: Sample;
  readonly members: readonly number[];
  readonly areas: readonly number[];
  readonly square: Int32Array;
  readonly rule: LabellingRule;
}): Int32Array {
  const { sample, members, areas, square, rule } = of;
  return square.map((own, at) => {
    const isArea = at >= members.length;
    const season = isArea ? sample.areas[areas[at - members.length]].seasonCode : sample.seasonCode[members[at]];
    const inside = rule === 'everywhere' ? 0 : rule === 'within_seasons' ? season : own + 1;
    return 2 * inside + (isArea ? 1 : 0);
  });
}
