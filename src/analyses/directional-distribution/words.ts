import type { Sample } from '../../domain/sample.js';
import { median } from '../../math/quantiles.js';
import { generatorName } from '../../math/random.js';
import type { ResampledSpread } from './resampled.js';
import type { Parameters, Summary } from './schemas.js';

/** What the sentences speak about beside the summary. */
export interface Context {
  readonly sample: Sample;
  readonly own: Parameters;
  readonly simulations: number;
  readonly seed: number;
}

type Headline = Pick<Summary, 'effect_is' | 'effect' | 'low' | 'high' | 'p_two_sided' | 'sentence' | 'tests_made'>;
type Measured = Omit<Summary, keyof Headline>;

const level = 0.05;

function shown(value: number | null, digits = 3): string {
  return value === null ? 'not known' : String(Number(value.toPrecision(digits))).replace('-', '−');
}

const metresText = (value: number) => `${value.toFixed(2).replace('-', '−')} m`;
const angle = (value: number) => `${value.toFixed(0)}°`;
const probability = (p: number | null) => (p === null ? 'no p' : p < 1e-6 ? 'p < 0.000001' : `p = ${shown(p, 2)}`);
const bracket = (ends: { low: number; high: number } | null) =>
  ends ? ` (${metresText(ends.low)} to ${metresText(ends.high)})` : '';

/** Effect, interval, p and the answer in one sentence. */
export function headline(measured: Measured, spread: ResampledSpread): Headline {
  const tests = testsMade(measured);
  const { n, long_objects: objects, offset } = measured;
  if (n === 0) return nothing('Cannot tell: no find in the window.');
  if (objects && objects.n >= 5 && 2 * objects.n >= n) return { ...ofDirections(objects), tests_made: tests };
  if (offset?.off_axis_m != null && offset.p_off_axis !== null) {
    return {
      effect_is: 'mean distance off the ship axis, metres, positive to port',
      effect: offset.off_axis_m,
      low: spread.offAxis?.low ?? null,
      high: spread.offAxis?.high ?? null,
      p_two_sided: offset.p_off_axis,
      sentence: sideSentence(measured, spread),
      tests_made: tests,
    };
  }
  if (offset?.shift_m != null && offset.p_shift !== null) {
    const way = offset.shift_bearing_deg === null ? '' : ` towards ${angle(offset.shift_bearing_deg)}`;
    const numbers = `${metresText(offset.shift_m)}${way} from the centre of all finds of these seasons, ${probability(offset.p_shift)}, ${n} finds`;
    return {
      effect_is: 'shift of the mean centre from that of all finds of these seasons, metres',
      effect: offset.shift_m,
      low: null,
      high: null,
      p_two_sided: offset.p_shift,
      sentence:
        offset.p_shift <= level
          ? `The centre lies ${numbers}: stowage, spill and what was dug can each do that.`
          : `Cannot tell whether the centre lies apart: ${numbers}.`,
      tests_made: tests,
    };
  }
  return { ...ofEllipse(measured), tests_made: tests };
}

function nothing(sentence: string): Headline {
  return { effect_is: 'mean centre', effect: null, low: null, high: null, p_two_sided: null, sentence, tests_made: 0 };
}

function testsMade({ long_objects: objects, offset, by_class: rows }: Measured): number {
  const counted = (values: readonly (number | null | undefined)[]) => values.filter((v) => v != null).length;
  const of = (o: { p_off_axis: number | null; p_downslope: number | null; p_shift: number | null }) =>
    counted([o.p_off_axis, o.p_downslope, o.p_shift]);
  return (
    counted([objects?.rayleigh_p, objects?.rao_p]) +
    (offset ? of(offset) : 0) +
    rows.reduce((sum, row) => sum + of(row), 0)
  );
}

function ofDirections(objects: NonNullable<Summary['long_objects']>): Omit<Headline, 'tests_made'> {
  const mean = objects.mean_direction_deg;
  const error = objects.error_deg;
  const word = objects.axial ? 'axis' : 'direction';
  const numbers = `Rbar ${shown(objects.rbar, 2)}, Rayleigh ${probability(objects.rayleigh_p)}, ${objects.n} long objects`;
  const ship =
    objects.from_ship_axis_deg === null ? '' : `, ${angle(Math.abs(objects.from_ship_axis_deg))} from the ship axis`;
  return {
    effect_is: `mean ${word} of long objects, degrees clockwise from site_north`,
    effect: mean,
    low: mean === null || error === null ? null : mean - error,
    high: mean === null || error === null ? null : mean + error,
    p_two_sided: objects.rayleigh_p,
    sentence:
      mean === null || objects.rayleigh_p > level
        ? `Cannot tell a common ${word}: ${numbers}.`
        : `Long objects share an ${word === 'axis' ? 'axis' : 'orientation'} of ${angle(mean)}${error === null ? '' : ` ± ${angle(error)}`} from site_north${ship}: ${numbers}; stowage, the ship’s structure and current can each align them.`,
  };
}

function sideSentence({ offset, n, slope }: Measured, spread: ResampledSpread): string {
  if (offset?.off_axis_m == null || offset.p_off_axis === null) return '';
  const side = offset.off_axis_m >= 0 ? 'port' : 'starboard';
  const among =
    offset.labelled_low_m === null || offset.labelled_high_m === null
      ? ''
      : `; names dealt out give ${metresText(offset.labelled_low_m)} to ${metresText(offset.labelled_high_m)}`;
  const numbers = `${metresText(offset.off_axis_m)}${bracket(spread.offAxis)} off the ship axis, positive to port${among}, ${probability(offset.p_off_axis)}, ${n} finds`;
  const down =
    slope && offset.downslope_m !== null && offset.p_downslope !== null
      ? ` Down the slope (${angle(slope.downslope_deg ?? 0)}) they lie ${metresText(offset.downslope_m)}, all finds ${metresText(offset.expected_downslope_m ?? 0)}, ${probability(offset.p_downslope)}.`
      : '';
  return offset.p_off_axis <= level
    ? `They lie apart from other finds, to ${side}: ${numbers}; stowage on one side, heel and spill, slope and current can each do that.${down}`
    : `Cannot tell whether they lie to one side: ${numbers}.${down}`;
}

function ofEllipse({
  ellipse,
  bearing_error_deg: error,
  n,
  standard_distance_m: spread,
}: Measured): Omit<Headline, 'tests_made'> {
  const bearing = ellipse?.bearing_deg ?? null;
  return {
    effect_is: 'bearing of the deviational ellipse, degrees clockwise from site_north',
    effect: bearing,
    low: bearing === null || error === null ? null : bearing - error,
    high: bearing === null || error === null ? null : bearing + error,
    p_two_sided: null,
    sentence:
      ellipse === null || bearing === null
        ? `${n} finds, standard distance ${shown(spread)} m; no direction of spread can be told.`
        : `Finds spread most along ${angle(bearing)}${error === null ? '' : ` ± ${angle(error)}`} from site_north: half axes ${shown(ellipse.semi_major_m)} and ${shown(ellipse.semi_minor_m)} m, ${n} finds; the shape of the dug area has its share in this.`,
  };
}

/** The paragraph for a methods section. */
export function methodsOf(summary: Summary, context: Context): string {
  const { sample, own, simulations, seed } = context;
  const sentences = [
    `Mean centre, standard distance (Bachi 1963, divisor n) and median centre (Weiszfeld 1937; Vardi & Zhang 2000) of ${summary.n} finds in a window of ${shown(summary.window_area_m2, 8)} m² (${sample.windowSource}).`,
    'Standard deviational ellipse (Lefever 1926; Yuill 1971): half axes are the standard deviations along the eigenvectors of the covariance, divisor n; multiply by √2 for the variant that keeps the standard distance, by √(2n / (n − 2)) for the one with divisor n − 2 that some programs print.',
    'Bearings run clockwise from site_north; from map_grid_north, true_north and magnetic_north where these are known.',
  ];
  if (summary.long_objects) {
    sentences.push(
      `Long objects are ${own.axial ? 'axial: angles doubled, the mean halved' : 'directed'} (Mardia & Jupp 2000); Rayleigh’s test by exp[√(1 + 4n + 4(n² − R²)) − (1 + 2n)] (Greenwood & Durand 1955); interval of the mean after Fisher (1993); Rao’s spacing (Rao 1976) with simulated p.`,
    );
  }
  if (summary.slope) {
    sentences.push(
      `Slope: least-squares plane through ${summary.slope.nodes} levels of the deposit bottom, levels far off a robust plane left out.`,
    );
  }
  if (summary.offset_from) {
    sentences.push(`Offsets are mean steps from ${summary.offset_from}, held against all finds of the same seasons.`);
  }
  sentences.push(
    simulations > 0
      ? `p: names dealt out ${simulations} times among all finds of the same seasons, p = (1 + number as extreme) / (${simulations} + 1), two-sided twice the smaller (Besag & Diggle 1977), p over classes also raised after Holm (1979); intervals from drawing the finds anew; seed ${seed}, generator ${generatorName}.`
      : 'No simulations.',
  );
  return sentences.join(' ');
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(summary: Summary, context: Context): string[] {
  const { sample, own, simulations } = context;
  const { n, long_objects: objects, slope } = summary;
  const out: string[] = [];
  if (n === 0) return ['No find in the window: no centre.'];
  if (n < 10) out.push(`Only ${n} ${n === 1 ? 'find' : 'finds'}: one more could turn the ellipse and move the centre.`);
  if (summary.median_centre_unique === false) {
    out.push('The finds lie in one line: any place between the middle two is as good a median centre.');
  }
  if (summary.ellipse && summary.ellipse.bearing_deg === null) {
    out.push('Both axes of the ellipse are equally long: it has no bearing.');
  }
  if (summary.coincident > 0) {
    out.push(
      `${summary.coincident} of ${n} finds share their place with another: children of one object count as several.`,
    );
  }
  const pots = sample.detail.potVessel.filter((pot) => pot !== null);
  if (new Set(pots).size < pots.length && simulations > 0) {
    out.push(
      'Several sherds of one pot vessel count as so many finds, which makes p too small; count_unit = pot_vessel takes each pot once.',
    );
  }
  if (summary.offset?.p_shift != null) {
    out.push(
      'Names are dealt out find by find: a class heaped in one place, wherever that is, lies apart by this test.',
    );
  }
  const sigma = median(sample.sigmaXy.filter((s) => !Number.isNaN(s)));
  const shift = summary.offset?.off_axis_m ?? summary.offset?.shift_m ?? null;
  if (sigma !== null && shift !== null && Math.abs(shift) < 2 * (sigma / Math.sqrt(n))) {
    out.push(`The offset is smaller than twice what position errors (${shown(sigma, 2)} m each) alone leave of it.`);
  }
  if (sample.shipAxis?.bowEnd === 'unresolved') {
    out.push('Which end is the bow is not resolved: port and starboard may be the wrong way round.');
  }
  if (summary.offset && summary.offset.p_shift === null && simulations > 0) {
    out.push('All finds of these seasons were chosen: there is nothing to compare their centre with.');
  }
  if (slope?.error_deg != null && slope.error_deg > 30) {
    out.push(`The downslope direction is known to ± ${shown(slope.error_deg, 2)}° only.`);
  }
  if (objects && objects.n < 10) out.push(`Only ${objects.n} long objects: read the directions, not the tests.`);
  if (objects && !own.axial) out.push('Directed: only right where head and tail of every long object are known.');
  if (summary.tests_made > 1) {
    out.push(
      `${summary.tests_made} tests were made: at the 5 % level about ${shown(0.05 * summary.tests_made, 2)} would look different by chance alone.`,
    );
  }
  return out;
}
