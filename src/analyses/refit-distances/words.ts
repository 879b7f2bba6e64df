import type { Sample } from '../../domain/sample.js';
import { median } from '../../math/quantiles.js';
import { generatorName } from '../../math/random.js';
import type { Parameters, Summary } from './schemas.js';

/** What the sentences speak about beside the summary. */
export interface Context {
  readonly sample: Sample;
  readonly own: Parameters;
  readonly simulations: number;
  readonly seed: number;
  readonly withoutWeights: number;
}

type Headline = Pick<Summary, 'effect_is' | 'effect' | 'low' | 'high' | 'p_two_sided' | 'sentence' | 'tests_made'>;
type Measured = Omit<Summary, keyof Headline>;

const level = 0.05;
/** below so many units a p says little */
const fewUnits = 6;

function shown(value: number | null, digits = 2): string {
  return value === null ? 'not known' : String(Number(value.toPrecision(digits))).replace('-', '−');
}

const metresText = (value: number) => `${value.toFixed(2).replace('-', '−')} m`;

/** Effect, interval, p and the answer in one sentence. */
export function headline(measured: Measured, own: Parameters): Headline {
  const { distances: d, bearings } = measured;
  const shift = d.mean_m !== null && d.difference_m !== null ? d.difference_m - d.mean_m : null;
  return {
    effect_is: `mean distance of joins less that of finds that trade places within ${own.reallocate === 'class' ? 'their class' : 'their pot vessel'}, metres`,
    effect: d.difference_m,
    low: shift === null || d.low_m === null ? null : d.low_m + shift,
    high: shift === null || d.high_m === null ? null : d.high_m + shift,
    p_two_sided: d.p_two_sided,
    sentence: `${distanceSentence(measured, own)}${bearingSentence(bearings)}${areasSentence(measured.areas)}`,
    tests_made:
      (d.p_two_sided === null ? 0 : 1) +
      (bearings?.p == null ? 0 : 1) +
      (measured.areas?.p_two_sided == null ? 0 : 1) +
      (measured.areas?.class_mix?.p == null ? 0 : 1) +
      measured.by_class.filter((row) => row.p_two_sided !== null).length,
  };
}

function distanceSentence({ distances: d }: Measured, own: Parameters): string {
  if (d.mean_m === null) return 'Cannot tell: no two finds with places of their own are recorded as joining.';
  const ends = d.low_m === null || d.high_m === null ? '' : ` (${metresText(d.low_m)} to ${metresText(d.high_m)})`;
  const others = own.reallocate === 'class' ? 'finds of their class' : 'sherds of their pot';
  if (d.p_two_sided === null || d.expected_m === null) {
    return `Joins span ${metresText(d.mean_m)}${ends} on average, ${d.joins} joins of ${d.units} units; nothing was simulated.`;
  }
  const numbers = `${metresText(d.mean_m)}${ends} on average against ${metresText(d.expected_m)} for any ${others}, p = ${shown(d.p_two_sided)}, ${d.joins} joins of ${d.units} units`;
  if (d.p_two_sided > level) return `Cannot tell whether joins stay together: ${numbers}.`;
  return (d.difference_m ?? 0) < 0
    ? `Joining finds lie closer together: ${numbers}; they broke where they lie, or were sought and found near each other first.`
    : `Joining finds lie farther apart: ${numbers}; they were carried apart, or joins were sought across the site.`;
}

function bearingSentence(bearings: Summary['bearings']): string {
  if (bearings === null || bearings.mean_deg === null || bearings.p === null) return '';
  const error = bearings.error_deg === null ? '' : ` ± ${bearings.error_deg.toFixed(0)}°`;
  const word = bearings.axial ? 'axis' : 'bearing from heavy to light';
  return bearings.p <= level
    ? ` Their mean ${word} is ${bearings.mean_deg.toFixed(0)}°${error} from site_north (Rbar ${shown(bearings.rbar)}, p = ${shown(bearings.p)}).`
    : ` They show no ${word} beyond that of the scatter itself (Rbar ${shown(bearings.rbar)}, p = ${shown(bearings.p)}).`;
}

/** Whether areas belong together, by joins and by class mix. */
function areasSentence(areas: Summary['areas']): string {
  if (areas === null) return '';
  const names = areas.areas.map(({ area, n }) => `${area} (${n})`).join(', ');
  const joins =
    areas.p_two_sided === null || areas.expected_across === null
      ? `${areas.joins_across} of ${areas.joins} joins tie two areas`
      : `${areas.joins_across} of ${areas.joins} joins, of ${areas.units_across} units, tie two areas where ${shown(areas.expected_across)} would if finds traded places (middle 95 % ${shown(areas.expected_low)} to ${shown(areas.expected_high)}), p = ${shown(areas.p_two_sided)}`;
  const proof =
    areas.joins_across > 0
      ? 'both ends of a join are of one thing, so these areas share a source, by one ship or by what was carried'
      : 'no join ties them, which does not show two ships: joins are found where they are sought';
  const mix = areas.class_mix;
  const mixed =
    mix === null || mix.p === null
      ? ''
      : ` Class mix: V = ${shown(mix.cramers_v)}, p = ${shown(mix.p)}: ${mix.p <= level ? 'the areas hold the classes in other proportions, as parts of one ship do as well as two ships' : 'other proportions are not told apart from chance'}.`;
  return ` Areas ${names}: ${joins}: ${proof}.${mixed}`;
}

/** The paragraph for a methods section. */
export function methodsOf(summary: Summary, context: Context): string {
  const { sample, own, simulations, seed } = context;
  const d = summary.distances;
  const sentences = [
    `Distances of ${d.joins} joins${own.kind === null ? '' : ` of kind ${own.kind}`} among ${summary.n} finds in a window of ${shown(summary.window_area_m2, 8)} m² (${sample.windowSource}); every unit counts once: a pot vessel, or finds that hang together by joins.`,
  ];
  if (simulations > 0) {
    sentences.push(
      `Reallocation: ${simulations} times, finds traded places ${own.reallocate === 'class' ? 'within their class' : 'within their pot vessel'} while the joins kept their finds; p = (1 + number as extreme) / (${simulations} + 1), two-sided twice the smaller (Besag & Diggle 1977; Phipson & Smyth 2010); interval: 2.5 to 97.5 % of ${Math.min(simulations, 1999)} means of units drawn anew; seed ${seed}, generator ${generatorName}.`,
    );
  } else sentences.push('No simulations.');
  sentences.push(
    own.bearing === 'axial'
      ? 'Bearings are axial, doubled (Mardia & Jupp 2000); Rbar is held against the same reallocations, since a long scatter aligns any pairs.'
      : 'Bearings run from the heavier find to the lighter one (Mardia & Jupp 2000); Rbar is held against the same reallocations.',
  );
  if (summary.areas) {
    sentences.push(
      `Areas (${own.areas === 'dug_parts' ? 'separate parts of the dug ground' : 'zones of the ship as drawn'}): joins between two areas against finds trading places as above; class mix by χ² over ${summary.areas.areas.length} areas, class names dealt out ${simulations} times, pots and concretions whole among those of as many finds.`,
    );
  }
  return sentences.join(' ');
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(summary: Summary, context: Context): string[] {
  const { sample, own, simulations, withoutWeights } = context;
  const d = summary.distances;
  const out: string[] = [];
  if (d.joins === 0) {
    out.push(
      sample.joins.length === 0
        ? 'No join is recorded between two finds of this selection that both have a place.'
        : `All ${sample.joins.length} joins recorded are of another kind, or lie within one spot.`,
    );
  } else if (d.units < fewUnits) {
    out.push(
      `Only ${d.units} ${d.units === 1 ? 'unit joins' : 'units join'}: read the single distances, not the test.`,
    );
  }
  if (summary.same_place > 0)
    out.push(`${summary.same_place} joins lie within one spot or pot vessel that counts as one place.`);
  if (summary.between_classes > 0) {
    out.push(`${summary.between_classes} joins tie finds of two classes; each end trades places within its own class.`);
  }
  if (summary.across_areas > 0) {
    out.push(`${summary.across_areas} joins tie separate dug areas: what joins across them came from one ship.`);
  }
  if (withoutWeights > 0) {
    out.push(`${withoutWeights} joins have no bearing from heavy to light: a weight is not known, or both are equal.`);
  }
  const potless = sample.detail.potVessel.filter((pot) => pot === null).length;
  if (own.reallocate === 'pot_vessel' && potless > 0) {
    out.push(`${potless} finds belong to no known pot vessel and keep their places.`);
  }
  const sigma = median(sample.sigmaXy.filter((s) => !Number.isNaN(s)));
  if (sigma !== null && d.median_m !== null && d.median_m < 3 * Math.SQRT2 * sigma) {
    out.push(
      `Half of the joins are shorter than three errors of a distance (${shown(3 * Math.SQRT2 * sigma)} m): short ones cannot be told from none.`,
    );
  }
  if (simulations > 0 && own.reallocate === 'class') {
    out.push('Any class in separate heaps makes joins look close; reallocate = pot_vessel asks the sharper question.');
  }
  if (summary.tests_made > 1) {
    out.push(
      `${summary.tests_made} tests were made: at the 5 % level about ${shown(0.05 * summary.tests_made)} would look different by chance alone.`,
    );
  }
  return out;
}
