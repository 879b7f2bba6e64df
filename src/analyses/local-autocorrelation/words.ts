import type { Sample } from '../../domain/sample.js';
import { generatorName } from '../../math/random.js';
import type { SquareLattice } from './lattice.js';
import type { Parameters, Summary } from './schemas.js';

/** What the sentences speak about beside the summary. */
export interface Context {
  readonly sample: Sample;
  readonly own: Parameters;
  readonly lattice: SquareLattice;
  readonly seed: number;
}

function shown(value: number | null, digits = 3): string {
  return value === null ? 'not known' : String(Number(value.toPrecision(digits)));
}

const valueText = {
  rate: 'counts per m² dug',
  count: 'counts',
  standardised_rate: 'rates standardised for the ground dug',
  mean_sherd_weight: 'mean weight of a sherd',
  sherds_per_vessel: 'sherds of a pot vessel',
} as const;

/** Fewer squares than these give no answer. */
export const fewestSquares = 4;

/** Why there is no answer; null when there is one. */
export function whyNone(n: number, squares: number, isConstant: boolean): string | null {
  if (n === 0) return 'no find in the window';
  if (squares < fewestSquares) {
    return `${squares} dug squares with a dug neighbour, at least ${fewestSquares} are needed`;
  }
  return isConstant ? 'every square holds the same value' : null;
}

/** The answer in a sentence. */
export function sentenceOf(summary: Omit<Summary, 'sentence'>): string {
  const { moran, joins, squares, reason } = summary;
  if (reason !== null || moran.i === null) return `Cannot tell whether neighbouring squares are alike: ${reason}.`;
  const wholePots = summary.breakage?.p_neighbours ?? null;
  const p = wholePots ?? moran.p_permutation ?? moran.p_randomisation;
  const range =
    moran.low === null || wholePots !== null
      ? ''
      : `, middle 95 % of dealings ${shown(moran.low)} to ${shown(moran.high)}`;
  const byValues = moran.p_permutation === null ? 'by the normal law' : 'by dealing the values anew';
  const how = wholePots === null ? byValues : 'by dealing whole pots anew';
  const joined =
    joins.p_two_sided === null
      ? ''
      : `; ${joins.both} joins of squares with finds (${shown(joins.expected_both)} expected)`;
  const breakage = breakageSentence(summary);
  return `${breakage}Moran’s I of ${valueText[summary.value]} on ${squares} dug squares ${shown(moran.i)} (expected ${shown(moran.expected, 2)}${range}), two-sided p = ${shown(p)} ${how}: ${verdict(summary, p)}${joined}.`;
}

/** Whether breakage differs from place to place; empty where it was not asked. */
function breakageSentence({ breakage, value, squares, simulations }: Omit<Summary, 'sentence'>): string {
  if (breakage === null) return '';
  const { ratio, p_uneven: p, high_squares: high, low_squares: low } = breakage;
  const what =
    value === 'mean_sherd_weight'
      ? `${shown(breakage.mean)} g a sherd`
      : `${shown(breakage.mean)} sherds of a pot vessel to a square`;
  const on = `${what} over ${squares} squares (${breakage.sherd_finds} finds, ${breakage.units} pots and single sherds)`;
  if (p === null || ratio === null) return `Cannot tell whether breakage differs from place to place: ${on}. `;
  const numbers = `squares differ ${shown(ratio)} times as much as when whole pots trade places ${simulations} times, p = ${shown(p)}`;
  const worse = value === 'mean_sherd_weight' ? low : high;
  const better = value === 'mean_sherd_weight' ? high : low;
  const named = (squaresNamed: readonly string[], how: string) =>
    squaresNamed.length === 0
      ? ''
      : `; ${how} in ${squaresNamed.slice(0, 6).join(', ')}${squaresNamed.length > 6 ? ` and ${squaresNamed.length - 6} more` : ''}`;
  const verdict =
    p > 0.05
      ? 'breakage not told apart from chance'
      : 'breakage differs from place to place, be it by what fell on it, by what was used there, or by sieving and handling';
  return `${on}: ${numbers}: ${verdict}${named(worse, 'more broken than chance')}${named(better, 'less broken')}. `;
}

function verdict({ moran, squares }: Omit<Summary, 'sentence'>, p: number | null): string {
  if (p === null || moran.i === null || moran.expected === null) return 'cannot tell';
  if (p <= 0.05) {
    return moran.i > moran.expected
      ? 'neighbouring squares are alike, be it by behaviour, thickness of the deposit, the hull or who dug them'
      : 'neighbouring squares are unlike, as when finds were dealt to one side of a line';
  }
  return squares < 25 ? 'cannot tell with so few squares' : 'likeness of neighbours not told apart from chance';
}

/** The paragraph for a methods section. */
export function methodsOf(summary: Summary, context: Context): string {
  const { sample, own, lattice } = context;
  const { squares } = lattice.counted;
  const where = sample.grid
    ? `squares of grid ${sample.grid.id} (finds by the square stated, else by place and the boundary rule, ${sample.grid.boundary_rule})`
    : 'squares from the lower-left corner of the window';
  const sentences = [
    `${summary.n} finds on ${summary.squares} dug squares of ${shown(squares.widthM, 4)} m (${where}) in a window of ${shown(summary.window_area_m2, 8)} m² (${sample.windowSource}); value of a square: ${valueText[own.value]}${own.value === 'standardised_rate' ? ' (Assunção & Reis 1999)' : ''}; neighbours ${own.contiguity}, weights ${own.weights === 'W' ? 'row-standardised' : 'binary'}; squares without a dug neighbour left out (${summary.squares_alone}).`,
    'Moran’s (1950) I and Geary’s (1954) C with expectation and variances under normality and randomisation (Cliff & Ord 1981); join counts of presence (Moran 1948); local I with divisor n (Anselin 1995); Gi* with binary weights and the square itself (Ord & Getis 1995).',
  ];
  if (summary.simulations > 0) {
    sentences.push(
      `p by dealing the values to the squares ${summary.simulations} times, local ones with the square’s own value kept (conditional permutation), p = (1 + number as extreme) / (${summary.simulations} + 1), two-sided twice the smaller; seed ${context.seed}, generator ${generatorName}, one stream for each dealing.`,
    );
  } else sentences.push('No dealings: p by the normal law.');
  const { breakage } = summary;
  if (breakage) {
    sentences.push(
      `Breakage: ${own.value === 'mean_sherd_weight' ? 'grams over sherds' : 'sherds of a pot vessel, meaned over the vessels'} of each square; what lies of one pot in one square is one item, and pots, whole, trade places with pots of their class that lie in as many squares (${breakage.units_fixed} of ${breakage.units} have no such fellow and stay; Good 2005).`,
    );
  }
  sentences.push(
    `${summary.tests_made} tests were made; p of squares after Benjamini & Hochberg (1995) and Holm (1979), of classes after Holm.`,
  );
  return sentences.join(' ');
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(summary: Summary, context: Context): string[] {
  const { lattice, own, sample } = context;
  const cautions: string[] = [];
  if (summary.reason !== null) cautions.push(`No answer: ${summary.reason}.`);
  else if (summary.squares < 25) {
    cautions.push(`Only ${summary.squares} squares: the normal law does not hold for so few, and power is low.`);
  }
  const { low, high } = extremes(lattice.exposureM2);
  if (summary.breakage) {
    cautions.push(
      'Small sherds are washed together, missed by a coarse mesh and broken again in lifting: uneven breakage is not yet breakage in the wreck.',
    );
    if (summary.breakage.finds_left_out > 0) {
      cautions.push(
        `${summary.breakage.finds_left_out} of the finds chosen are left out: ${own.value === 'mean_sherd_weight' ? 'not weighed' : 'of no known pot vessel'}, or without a dug square.`,
      );
    }
    if (new Set(sample.classCode).size > 1) {
      cautions.push(
        'Several classes are put together: a square of thick jars is not less broken than one of thin cups; pots trade places within their class, but the map shows all. Choose one artefact_class.',
      );
    }
  } else if (own.value !== 'standardised_rate' && high > 1.5 * low) {
    cautions.push(
      `Ground dug runs from ${shown(low)} to ${shown(high)} m² a square: small grounds give extreme rates, so squares are not quite exchangeable; compare value = standardised_rate.`,
    );
  }
  const { local } = summary;
  if (summary.simulations > 0 && local.tested > 0 && local.smallest_p !== null) {
    if (local.smallest_p * local.tested > 0.05) {
      cautions.push(
        `${summary.simulations} dealings give no p below ${shown(local.smallest_p)}: with ${local.tested} squares Holm cannot find a single one, and false-discovery control only several together; ask for ${Math.ceil((40 * local.tested) / 1000) * 1000 - 1} simulations or more.`,
      );
    }
  }
  if (local.tested > 0) {
    cautions.push(
      `${local.tested} squares are ${local.tested} tests: read p_fdr or p_holm; squares share neighbours, so marks come in patches.`,
    );
  }
  const { finds } = lattice.counted;
  if (finds.straddling.length > 0) {
    cautions.push(
      `${finds.straddling.length} finds known by an area that reaches into several squares count where most of it lies.`,
    );
  }
  if (finds.moved > 0) {
    cautions.push(`${finds.moved} finds state a square without dug ground and count where they lie.`);
  }
  if (finds.lost > 0) cautions.push(`${finds.lost} finds lie in no dug square and are not counted.`);
  return cautions;
}

function extremes(values: Float64Array): { low: number; high: number } {
  return values.reduce((e, v) => ({ low: Math.min(e.low, v), high: Math.max(e.high, v) }), {
    low: Infinity,
    high: -Infinity,
  });
}
