import { median } from '../../math/quantiles.js';
import { generatorName } from '../../math/random.js';
import type { Parameters, Summary } from './schemas.js';

/** What the sentences speak about beside the summary. */
export interface Context {
  readonly simulations: number;
  readonly seed: number;
  readonly edge: Parameters['edge'];
  /** [n] metres; NaN = not stated */
  readonly sigmaXy: Float64Array;
  readonly windowSource: string;
}

/** A number as a reader wants it: about four digits, without an exponent unless tiny. */
function shown(value: number | null, digits = 4): string {
  return value === null ? 'not known' : String(Number(value.toPrecision(digits)));
}

/** The paragraph for a methods section. */
export function methodsOf(summary: Summary, context: Context): string {
  const { n, simulated } = summary;
  const sentences = [
    `Nearest-neighbour ratio after Clark & Evans (1954): the mean distance from each of ${n} finds to the nearest other find over its expectation 0.5 / √λ, λ = n / A, in a window of ${shown(summary.window_area_m2, 8)} m² (${context.windowSource}); standard error √((4 − π) / (4π)) / √(nλ) with the exact constant 0.2613616 (often printed 0.26136), two-sided p by the normal law, no edge correction.`,
  ];
  if (summary.donnelly) {
    sentences.push(
      "Donnelly's (1978) correction: expected 0.5 √(A/n) + (0.0514 + 0.0412/√n) P/n, variance 0.0703 A/n² + 0.037 P √(A/n⁵), P the length of the edge; 0.0412 is also printed 0.041, which moves the ratio by less than one part in ten thousand.",
    );
  }
  if (summary.kaplan_meier) {
    sentences.push(
      'Kaplan–Meier correction (Baddeley & Gill 1997): the mean Σ u dG(u) / Σ dG(u) of the product-limit distribution of nearest distances, finds nearer to the edge than to their neighbour counted as cut short.',
    );
  }
  if (summary.kth_expected_m.length > 0) {
    sentences.push('k-th neighbours: expected k (2k)! / ((2^k k!)² √λ) (Thompson 1956), no edge correction.');
  }
  sentences.push(
    simulated
      ? `Simulated p: the mean nearest distance among ${simulated.simulations} scatters of the same number of finds, uniform in the same window, p = (1 + number as extreme) / (${simulated.simulations} + 1), two-sided twice the smaller (Besag & Diggle 1977); seed ${context.seed}, generator ${generatorName}, one stream for each simulation.`
      : 'No simulations.',
  );
  return sentences.join(' ');
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(summary: Summary, context: Context): string[] {
  const { n, coincident, by_class: byClass } = summary;
  const cautions: string[] = [];
  if (n < 2) {
    cautions.push(
      `${n === 0 ? 'No find' : 'One find'} in the window: there is no nearest neighbour, so no distance and no ratio.`,
    );
  } else if (n < 7) {
    cautions.push(
      `Only ${n} finds: the normal law behind z and p does not hold for so few; read the distances, not the test.`,
    );
  }
  if (coincident > 0) {
    cautions.push(
      `${coincident} of ${n} finds share their place with another. A random scatter has none, so ratio and p lean towards clustered; look for rounded (heaped) coordinates, one find entered twice, or pieces of one object.`,
    );
  }
  if (n >= 2 && context.simulations === 0) {
    cautions.push(
      'Without simulations only the formulas speak: the plain ratio leans upward near edges, and its z is too large.',
    );
  }
  if (n >= 2 && context.edge === 'kaplan_meier') {
    cautions.push(
      summary.kaplan_meier
        ? 'The Kaplan–Meier ratio has no standard error: `ratio` comes without z and p.'
        : 'Every find lies nearer to the edge than to its neighbour: the Kaplan–Meier mean cannot be told.',
    );
  }
  const sigma = median(context.sigmaXy.filter((s) => !Number.isNaN(s)));
  if (sigma !== null && summary.expected_distance_m !== null && 3 * sigma > summary.expected_distance_m) {
    cautions.push(
      `The middle position error, ${shown(sigma, 2)} m, is more than a third of the distance expected at random, ${shown(summary.expected_distance_m, 2)} m: errors of this size hide clusters, and nothing closer than about ${shown(3 * sigma, 2)} m can be claimed.`,
    );
  }
  const tested = byClass.filter((row) => row.ratio !== null).length;
  if (tested > 1) {
    cautions.push(
      `${tested} classes are ${tested} tests: at the 5 % level about ${shown(0.05 * tested, 2)} would look patterned by chance alone.`,
    );
  }
  const few = byClass.filter((row) => row.n < 7).map((row) => `${row.artefact_class ?? 'class unknown'} (${row.n})`);
  if (few.length > 0 && n >= 7) cautions.push(`Fewer than 7 finds, test not to be relied on: ${few.join(', ')}.`);
  return cautions;
}

/** The answer in one line, for the drawing. */
export function answerLine(summary: Summary): string {
  if (summary.mean_distance_m === null) return 'no nearest neighbour';
  const { simulated, clark_evans: plainTest } = summary;
  const p = simulated
    ? `simulated two-sided p = ${shown(simulated.p_two_sided, 3)}`
    : `p = ${shown(plainTest.p, 2)} by the normal law`;
  const correction = { none: 'no edge correction', donnelly: 'Donnelly', kaplan_meier: 'Kaplan–Meier' }[summary.edge];
  return `mean ${shown(summary.mean_distance_m, 3)} m, ratio ${shown(summary.ratio, 3)} (${correction}), ${p}`;
}
