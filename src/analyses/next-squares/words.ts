import type { Sample } from '../../domain/sample.js';
import { median } from '../../math/quantiles.js';
import type { Foretold } from './answer.js';
import type { Parameters, SquareRow, Summary } from './schemas.js';

/** What the sentences speak about beside the summary. */
export interface Context {
  readonly sample: Sample;
  readonly own: Parameters;
  readonly foretold: Foretold;
}

type Numbers = Omit<Summary, 'sentence'>;

/** Said with every answer, in these words. */
const decision =
  'Whether to dig is not for statistics: permit and project design decide; preservation in place is considered first.';

/** odds of 19 to 1 and beyond are as good as foregone */
const leastTold = 4 * 0.05 * 0.95;

const shown = (value: number, digits = 3) => String(Number(value.toPrecision(digits)));
const many = (count: number, word: string) => `${count} ${word}${count === 1 ? '' : 's'}`;
const questionWords: Readonly<Record<Parameters['question'], string>> = {
  hull_limits: 'how far the hull goes on',
  scatter_limits: 'how far the scatter reaches',
  class_boundary: 'where one class gives way to the other',
};

/** The answer in a sentence: which square would settle most, what it should hold, and how such predictions fared. */
export function sentenceOf(summary: Numbers): string {
  const [first] = summary.squares;
  const of = `Of ${many(summary.squares_proposed, 'square')} not finished or not begun`;
  const what = questionWords[summary.question];
  const value = first.settles_value ?? 0;
  const most =
    value <= 0
      ? `${of}, none is known to tell ${what}`
      : value < leastTold
        ? `${of}, none would tell much of ${what}; ${first.square} most: ${first.settles}`
        : `${of}, ${first.square} would tell most of ${what}: ${first.settles}`;
  return `${most}. ${expectation(summary, first)}${fared(summary)}`;
}

function expectation(summary: Numbers, first: SquareRow): string {
  if (summary.trend === null) return 'No number of finds can be foretold: the dug squares gave none of this kind.';
  const flag = first.extrapolated ? ', extrapolated' : '';
  const own =
    first.expected === null || first.expected_low === null || first.expected_high === null
      ? `What is left of ${first.square} is not recorded`
      : `${first.square} should give ${shown(first.expected, 2)} (95 %: ${first.expected_low} to ${first.expected_high}${flag}) on ${shown(first.ground_left_m2 ?? 0)} m²`;
  const total = summary.expected_total;
  const all = total
    ? `; ${many(total.squares, 'square')} within reach of the dug ones ${shown(total.expected, 2)} together (${total.low} to ${total.high})`
    : '; every square lies beyond reach of the dug ones';
  return `${own}${all}.`;
}

function fared({ cross_validation: alone, cross_validation_apart: apart }: Numbers): string {
  if (alone === null) return '';
  const further = apart ? `, and ${shown(100 * apart.coverage)} % with their neighbourhood left out too` : '';
  const better =
    alone.mean_error < 0.98 * alone.mean_error_of_mean_rate
      ? `misses by ${shown(alone.mean_error, 2)} on average, where the mean rate misses by ${shown(alone.mean_error_of_mean_rate, 2)}`
      : `foretells no better than the mean rate (${shown(alone.mean_error, 2)} against ${shown(alone.mean_error_of_mean_rate, 2)} off on average)`;
  return ` Left out one at a time, ${alone.covered} of ${alone.squares} dug squares (${shown(100 * alone.coverage)} %) fell in their 95 % interval${further}; the trend ${better}.`;
}

/** The paragraph for a methods section. */
export function methodsOf(summary: Summary, { sample, own, foretold }: Context): string {
  const grid = foretold.plan.squares.grid;
  const sentences = [
    `${summary.n} finds counted by square of grid ${grid?.id ?? ''}, in the square the register states, else where they lie; ${summary.squares_dug} squares dug in a window of ${shown(summary.window_area_m2, 8)} m² (${sample.windowSource}), each held to the ground dug of it.`,
    `Proposed are squares dug in part, opened or planned in the seasons chosen${own.candidates === 'edge' ? ', and undug squares that share a side with dug ground' : ''}.`,
  ];
  if (summary.trend !== null) {
    sentences.push(
      `Quasi-Poisson regression (Wedderburn 1974; McCullagh & Nelder 1989) of the counts on ${
        summary.terms.length > 1
          ? summary.terms
              .slice(1)
              .map(({ term }) => term)
              .join(', ')
          : 'an intercept alone'
      } with the ground dug as exposure (trend ${summary.trend}${summary.trends_tried.length > 1 ? `, of ${summary.trends_tried.length} tried the one that foretold dug squares best with their neighbourhood left out` : ''}), dispersion ${shown(summary.dispersion ?? 1)}, taken as at least 1. Intervals of a count: 2.5 % and 97.5 % points of a negative binomial law with mean μ and variance φμ + μ² (exp(φ v) − 1), v the variance of the log rate. Rate beside the trend: dug squares whose middles lie within ${own.neighbour_m} m. Squares farther than ${own.extrapolation_m} m from the nearest dug square, or whose log rate is less sure than that of every dug square, are flagged as extrapolated and left out of the total.`,
      `Cross-validation: each dug square foretold from all others (Stone 1974), and from those farther than ${own.extrapolation_m} m (Roberts et al. 2017).`,
    );
  }
  sentences.push(
    `Hull continuity: articulated features in place that end within ${own.edge_m} m of the edge of finished ground, drawn on straight for ${own.continue_m} m; the ship axis likewise beyond its ends. Order of the squares by ${summary.settles_value_is}.`,
  );
  return sentences.join(' ');
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(summary: Summary, context: Context): string[] {
  const { sample, own, foretold } = context;
  const cautions = [decision];
  if (summary.n === 0) cautions.push('No find in the window: only the hull speaks for a square.');
  if (summary.squares_extrapolated > 0) {
    cautions.push(
      `${many(summary.squares_extrapolated, 'square')} of ${summary.squares_proposed} lie beyond what the dug squares can tell (${summary.squares
        .filter((row) => row.extrapolated)
        .slice(0, 12)
        .map(({ square }) => square)
        .join(', ')}): their numbers prolong a trend over ground nobody has seen.`,
    );
  }
  if (summary.trend_reason !== null && summary.trend !== null) {
    cautions.push(`Trend ${summary.trend} instead of ${own.trend}: ${summary.trend_reason}.`);
  }
  const alone = summary.cross_validation;
  if (alone && alone.squares >= 20 && alone.coverage < 0.9) {
    cautions.push(
      `Only ${shown(100 * alone.coverage)} % of the dug squares fell in their 95 % interval: the intervals are too narrow here; try another trend.`,
    );
  }
  if (alone && alone.mean_error >= 0.98 * alone.mean_error_of_mean_rate && summary.trend !== 'none') {
    cautions.push(
      'The trend foretells dug squares no better than one mean rate does: read the expected counts as a mean rate.',
    );
  }
  const apart = summary.cross_validation_apart;
  if (apart && apart.mean_error > apart.mean_error_of_mean_rate && summary.trend !== 'none') {
    cautions.push(
      `Away from the squares it knows the trend is off by ${shown(apart.mean_error, 2)} on average, one mean rate by ${shown(apart.mean_error_of_mean_rate, 2)}: beside the edge, read the rate of the dug neighbourhood first.`,
    );
  }
  if (summary.trends_tried.length > 1) {
    cautions.push(
      `The trend was chosen among ${summary.trends_tried.length} by how they foretold these very squares: the coverage stated leans a little to the good side.`,
    );
  }
  if (summary.squares_dug < 20) {
    cautions.push(
      `The trend rests on ${many(summary.squares_dug, 'dug square')}: cannot tell more than the order of magnitude.`,
    );
  }
  if (foretold.plan.abandoned > 0) {
    cautions.push(
      `${many(foretold.plan.abandoned, 'abandoned square')} ${foretold.plan.abandoned === 1 ? 'is' : 'are'} not proposed.`,
    );
  }
  const open = summary.squares.filter((row) => row.ground_left_m2 === null).length;
  if (open > 0) {
    cautions.push(
      `${many(open, 'square')} ${open === 1 ? 'was' : 'were'} opened whole but not dug to the bottom: what is left below is not recorded, so nothing is foretold (state dug_fraction).`,
    );
  }
  if (foretold.unknownState > 0) {
    cautions.push(
      `${many(foretold.unknownState, 'hull feature')} ${foretold.unknownState === 1 ? 'is' : 'are'} taken as articulated and in place though the record does not say so.`,
    );
  }
  if (own.question === 'hull_limits' && sample.hull.length === 0) {
    cautions.push('No hull feature is recorded: the squares cannot be ranked by what they would settle of the hull.');
  }
  if (foretold.moved + foretold.lost > 0) {
    cautions.push(
      `${foretold.moved} finds state a square without dug ground and count where they lie; ${foretold.lost} lie in no dug square and are not counted.`,
    );
  }
  const mesh = median(Float64Array.from(sample.dug.flatMap(({ meshMm }) => (meshMm === null ? [] : [meshMm]))));
  if (mesh !== null && sample.dug.some(({ meshMm }) => meshMm !== null && meshMm !== mesh)) {
    cautions.push(
      'Seasons were sieved through different meshes: the rate of small classes is a mean of what was kept, not of what lies there.',
    );
  }
  cautions.push('Only the seasons chosen count as dug here: ground dug in other seasons would be proposed as undug.');
  return cautions;
}
