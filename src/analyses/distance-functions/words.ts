import { testDivision } from '../../math/empty-space.js';
import { median } from '../../math/quantiles.js';
import { generatorName } from '../../math/random.js';
import type { Ground } from './ground.js';
import type { NullModel, Parameters, Summary } from './schemas.js';

/** What the sentences speak about beside the summary. */
export interface Context {
  readonly ground: Ground;
  readonly own: Parameters;
  readonly seed: number;
  readonly windowSource: string;
  /** [n] metres; NaN = not stated */
  readonly sigmaXy: Float64Array;
  /** shorter side of the box around the window, metres */
  readonly shorterSideM: number;
  /** classes among the finds of the sample */
  readonly classes: number;
}

/** fewer finds than this: a quiet test says nothing */
const fewFinds = 15;

/** A number as a reader wants it: about four digits. */
function shown(value: number | null, digits = 4): string {
  return value === null ? 'not known' : String(Number(value.toPrecision(digits)));
}

const nullWords: Record<NullModel, string> = {
  uniform: 'places uniform in the window',
  random_labelling: 'class names dealt over places that stay',
  inhomogeneous: 'places after the smoothed density of the finds',
  toroidal_shift: 'the first type slid as a whole over the second, opposite sides of the window joined',
};

const shortWords: Record<NullModel, string> = {
  uniform: 'in scatters without pattern',
  random_labelling: 'under random labelling',
  inhomogeneous: 'in scatters after the smoothed density',
  toroidal_shift: 'after random shifts',
};

/** The tested function in words: more or fewer neighbours. */
function sideWord(summary: Summary): string {
  const isMore = (summary.leaves_global_band === 'above') === (summary.function !== 'J');
  if (summary.function === 'F') return isMore ? 'less empty ground' : 'more empty ground';
  const neighbours = summary.n_from === null ? 'neighbours' : 'finds of the second type';
  return `${isMore ? 'more' : 'fewer'} ${neighbours}`;
}

/** What the tests say, effect first; "cannot tell" where few finds keep quiet. */
export function readingOf(summary: Omit<Summary, 'reading'>): string {
  const full = { ...summary, reading: '' };
  const small = Math.min(summary.n_from ?? summary.n, summary.n_to ?? summary.n);
  if (small < (summary.n_from === null ? 2 : 1)) return 'There are too few finds for any distance between them.';
  const { global } = summary;
  if (global === null)
    return 'No test was made: the curves are printed without simulations or without a radius to test.';
  const { mad, dclf, extreme_rank_length: ranks } = global;
  const all = `p = ${shown(mad.p, 3)} (MAD), ${shown(dclf.p, 3)} (DCLF), ${shown(ranks.p, 3)} (extreme rank length)`;
  const model = shortWords[summary.null_model];
  const at = summary.r.indexOf(summary.leaves_global_band_m ?? Number.NaN);
  if (at >= 0 && summary.envelope) {
    const effect = `observed ${shown(summary.envelope.observed[at], 3)}, ${model} ${shown(ranks.low[at], 3)} to ${shown(ranks.high[at], 3)}`;
    return `${summary.function} first leaves the global band at r = ${shown(summary.r[at], 3)} m (${effect}): ${sideWord(full)} than ${model}; ${all}.`;
  }
  if (small < fewFinds || ranks.level === null) {
    const why = small < fewFinds ? `only ${small} finds` : `only ${summary.simulations} simulations`;
    return `Cannot tell: ${why} would show no but the strongest pattern; ${all}.`;
  }
  return `${summary.function} stays within the global band: nothing that differs from what is found ${model} was seen between ${shown(global.tested_from_m, 3)} and ${shown(global.tested_to_m, 3)} m, which does not show there is none; ${all}.`;
}

/** The paragraph for a methods section. */
export function methodsOf(summary: Summary, context: Context): string {
  const { ground, own, seed } = context;
  const types = ground.isCross
    ? `${summary.n_to} finds (${ground.toName}) about ${summary.n_from} (${ground.fromName})`
    : `${summary.n} finds`;
  const sentences = [
    `Distance functions of ${types} in a window of ${shown(summary.window_area_m2, 8)} m² (${context.windowSource}) at ${summary.r.length} radii from ${shown(summary.r[0])} to ${shown(summary.r[summary.r.length - 1])} m; a distance equal to r counts as within r.`,
    `K and L = √(K/π) (Ripley 1976, 1977; Besag 1977) without edge correction, with border, isotropic (weights capped at 100) and translation correction (Ohser 1983), the overlap of the window with itself computed exactly${ground.isCross ? '; edge weights belong to the find of the first type' : ''}.`,
    summary.pcf_half_width_m === null
      ? ''
      : `Pair correlation by an Epanechnikov kernel of half-width ${shown(summary.pcf_half_width_m)} m = 0.15/√λ (Stoyan & Stoyan 1994), divisor 2πr.`,
    `G and F as counted, reduced sample (Ripley 1988) and Kaplan–Meier (Baddeley & Gill 1997)${own.hanisch ? ', G also after Hanisch (1984)' : ''}; F from the ${summary.F.test_places} centres of a ${testDivision} × ${testDivision} division of the window's box that lie in the window; J = (1 − G)/(1 − F) (van Lieshout & Baddeley 1996).`,
    summary.inhomogeneous
      ? `Inhomogeneous K (Baddeley, Møller & Waagepetersen 2000) with leave-one-out densities, Gaussian kernel of ${shown(summary.inhomogeneous.bandwidth_m)} m (${typeof own.bandwidth === 'number' ? 'given' : `rule ${own.bandwidth}`}), edge correction at each find.`
      : '',
    summary.global === null ? 'No test was made.' : testWords(summary, seed),
  ];
  return sentences.filter((sentence) => sentence !== '').join(' ');
}

function testWords(summary: Summary, seed: number): string {
  const { simulations } = summary;
  const edge = summary.edge === null ? 'Kaplan–Meier' : `edge correction ${summary.edge}`;
  const quick =
    summary.edge === 'isotropic' && summary.function !== 'pcf'
      ? ', isotropic weights at the middle of each step for observed and simulated alike'
      : summary.edge === 'translation'
        ? ', overlaps of the window from a table for observed and simulated alike'
        : '';
  return `Tested: ${summary.function} (${edge}${quick}) against ${simulations} patterns, ${nullWords[summary.null_model]} (numbers of finds fixed), by maximum absolute deviation (MAD), integrated squared deviation (DCLF; both from the mean of all other curves, Baddeley et al. 2014) and extreme rank length (Myllymäki et al. 2017); p = (1 + number as extreme) / (${simulations} + 1) (Besag & Diggle 1977); r = 0 left out; seed ${seed}, generator ${generatorName}, one stream for each simulation.`;
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(summary: Summary, context: Context): string[] {
  const { ground, own } = context;
  const cautions: string[] = [];
  const smaller = Math.min(summary.n_from ?? summary.n, summary.n_to ?? summary.n);
  if (smaller < (ground.isCross ? 1 : 2)) {
    cautions.push('There is no pair of finds to measure between: curves that need one are undefined.');
  } else if (smaller < fewFinds) {
    cautions.push(
      `Only ${smaller} finds${ground.isCross ? ' of one type' : ''}: the curves rest on few pairs, and a quiet test means "cannot tell".`,
    );
  }
  if (summary.coincident > 0 && summary.null_model !== 'random_labelling') {
    cautions.push(
      `${summary.coincident} finds share their place with another and count as neighbours at every r, r = 0 included. Simulated patterns have none, so the test leans towards clustered; look for rounded coordinates, one find entered twice, or pieces of one object.`,
    );
  }
  const sigma = median(context.sigmaXy.filter((s) => !Number.isNaN(s)));
  if (sigma !== null && sigma > 0) {
    const blurred = summary.r.filter((r) => r > 0 && r < 3 * sigma).length;
    if (blurred > 0) {
      cautions.push(
        `The middle position error is ${shown(sigma, 2)} m: nothing can be claimed below two to three times that, ${shown(2 * sigma, 2)} to ${shown(3 * sigma, 2)} m; ${blurred} of the radii lie there.`,
      );
    }
  }
  if (sigma !== null && summary.leaves_global_band_m !== null && summary.leaves_global_band_m < 3 * sigma) {
    cautions.push(
      `The curve first leaves the band at ${shown(summary.leaves_global_band_m, 3)} m, below what positions of this error can show.`,
    );
  }
  const largest = summary.r[summary.r.length - 1];
  if (largest > (context.shorterSideM / 4) * (1 + 1e-9)) {
    cautions.push(
      `Radii beyond ${shown(context.shorterSideM / 4, 3)} m, a quarter of the window's shorter side, rest on few pairs with large edge weights.`,
    );
  }
  if (summary.global) cautions.push(...testCautions(summary, context));
  if (own.null_model === 'inhomogeneous') {
    cautions.push(
      'The density of the null model comes from the same finds: the test is conservative, and a bandwidth as narrow as the clusters hides them. Clusters and a slope of density cannot be told apart by one pattern alone.',
    );
  }
  if (own.null_model === 'toroidal_shift') {
    cautions.push(
      'Sliding the first type joins opposite sides of the window, which are not neighbours on the ground; a slope of density along the hull makes the test misleading.',
    );
  }
  const { labelling } = summary;
  if (labelling && labelling.fixed > 0) {
    cautions.push(
      `${labelling.fixed} finds stand in a concretion or pot vessel of which no other has the same size: they keep their class in every simulated pattern, which weakens the test.`,
    );
  }
  return cautions;
}

function testCautions(summary: Summary, context: Context): string[] {
  const { ground } = context;
  const cautions = [
    `Three global tests look at one curve: name one beforehand; taken together they are up to three tests. p cannot fall below ${shown(1 / (summary.simulations + 1), 2)}.`,
    'The pointwise band holds for one r chosen beforehand; a curve without any pattern leaves it somewhere far more often.',
  ];
  if (ground.isCross && context.classes > 2) {
    const pairs = context.classes * (context.classes - 1);
    cautions.push(
      `${context.classes} classes make ${pairs} ordered pairs: if all are tried, about ${shown(0.05 * pairs, 2)} leave a 5 % band by chance alone.`,
    );
  }
  if (summary.null_model === 'uniform') {
    cautions.push(
      'Finds of a wreck never lay uniformly: a departure from the uniform model shows a slope of density as well as clusters. random_labelling compares with all other finds.',
    );
  }
  return cautions;
}
