import type { Sample } from '../../domain/sample.js';
import type { BlockPlan } from '../../math/blocks.js';
import { generatorName } from '../../math/random.js';
import { meanInBlocks } from './comparison.js';
import type { Comparison, Parameters, Summary } from './schemas.js';
import type { GatheredUnits } from './units.js';

/** What the sentences speak about beside the summary. */
export interface Context {
  readonly sample: Sample;
  readonly own: Parameters;
  readonly simulations: number;
  readonly seed: number;
}

type Headline = Pick<Summary, 'effect_is' | 'effect' | 'low' | 'high' | 'p_two_sided' | 'sentence' | 'tests_made'>;
type Measured = Omit<Summary, keyof Headline>;

function shown(value: number | null, digits = 2): string {
  return value === null ? 'not known' : String(Number(value.toPrecision(digits)));
}

const depth = (value: number) => value.toFixed(2).replace('-', '−');
const interval = (low: number | null, high: number | null) =>
  low === null || high === null ? '' : ` (${depth(low)} to ${depth(high)})`;
const probability = (p: number | null) => (p === null ? 'no p' : `p = ${shown(p)}`);

/** The level below which a p is called a difference. */
const level = 0.05;

/** Effect, interval, p and the answer in one sentence: of the comparison, the trend, or the mean alone. */
export function headline(
  measured: Measured,
  of: { readonly own: Parameters; readonly all: GatheredUnits; readonly plan: BlockPlan },
): Headline {
  const { comparison, trend, keel_distance: keel } = measured;
  const tested = measured.by_class.filter((row) => row.p_two_sided !== null).length;
  const tests = tested + (comparison?.p_two_sided == null ? 0 : 1) + (trend?.p_two_sided == null ? 0 : 1);
  if (measured.n === 0) {
    return {
      effect_is: 'mean relative depth',
      effect: null,
      low: null,
      high: null,
      p_two_sided: null,
      sentence: 'Cannot tell: no find has an elevation between two levelled surfaces.',
      tests_made: 0,
    };
  }
  if (comparison) {
    return {
      effect_is: `mean relative depth of ${comparison.first} less that of ${comparison.second}`,
      effect: comparison.difference,
      low: comparison.low,
      high: comparison.high,
      p_two_sided: comparison.p_two_sided,
      sentence: comparisonSentence(comparison),
      tests_made: tests,
    };
  }
  if (keel) {
    return {
      effect_is: 'change of relative depth for each metre off the ship axis',
      effect: keel.slope_per_m,
      low: keel.low,
      high: keel.high,
      p_two_sided: keel.p_two_sided,
      sentence: keelSentence(keel, measured.n),
      tests_made: tests + 1,
    };
  }
  if (trend) {
    return {
      effect_is: 'rank correlation of relative depth with material density',
      effect: trend.spearman_rho,
      low: trend.low,
      high: trend.high,
      p_two_sided: trend.p_two_sided,
      sentence: trendSentence(trend, measured),
      tests_made: tests,
    };
  }
  const mean = meanInBlocks(of.all.u, of.all.block, of.plan);
  return {
    effect_is: 'mean relative depth',
    effect: mean.value,
    low: mean.low,
    high: mean.high,
    p_two_sided: null,
    sentence: `Mean relative depth ${depth(mean.value)}${interval(mean.low, mean.high)} of ${measured.n} finds; there is nothing to compare it with.${apartSentence(measured)}`,
    tests_made: tests,
  };
}

function comparisonSentence(c: Comparison): string {
  const size = `${depth(Math.abs(c.difference))} of the thickness`;
  const ends =
    c.low !== null && c.high !== null && c.difference < 0 ? interval(-c.high, -c.low) : interval(c.low, c.high);
  const numbers = `${probability(c.p_two_sided)}, ${c.n_first} and ${c.n_second} finds in ${c.shared_blocks} shared squares`;
  const missed = c.smallest_seen === null ? '' : `; a difference below ${depth(c.smallest_seen)} would be missed`;
  if (c.p_two_sided === null) {
    const why = c.shared_blocks === 0 ? 'no square holds both' : 'no names were dealt out';
    return `Cannot tell: ${c.first} lie ${c.difference < 0 ? 'higher' : 'deeper'} than ${c.second} by ${size}${ends}, but ${why}.`;
  }
  if (c.p_two_sided > level) {
    return `Cannot tell whether ${c.first} lie deeper than ${c.second}: difference ${depth(c.difference)}${interval(c.low, c.high)}, ${numbers}${missed}.`;
  }
  const isDeeper = c.difference - c.expected_by_square > 0;
  const direction = isDeeper ? 'deeper' : 'higher';
  const alternatives = isDeeper
    ? 'they may have sunk through the deposit, been stowed low, or come down before the others'
    : 'they may have been stowed high, come down late, or washed in after the wreck settled';
  return `${c.first} lie ${direction} than ${c.second} by ${size}${ends}, ${numbers}: ${alternatives}.`;
}

function keelSentence(keel: NonNullable<Summary['keel_distance']>, n: number): string {
  const slope = `${shown(keel.slope_per_m)} for each metre${keel.low === null || keel.high === null ? '' : ` (${shown(keel.low)} to ${shown(keel.high)})`}, ${probability(keel.p_two_sided)}, ${n} finds`;
  if (keel.p_two_sided === null || keel.p_two_sided > level) {
    return `Cannot tell whether depth changes away from the keel: ${slope}.`;
  }
  const way = (keel.slope_per_m ?? 0) > 0 ? 'deeper' : 'higher';
  return `Finds lie ${way} in the deposit away from the keel: ${slope}; the ship may have held them up, or sediment and spill may differ beside her.`;
}

function trendSentence(trend: NonNullable<Summary['trend']>, measured: Measured): string {
  const numbers = `rank correlation ${depth(trend.spearman_rho ?? 0)}${interval(trend.low, trend.high)}, ${probability(trend.p_two_sided)}, ${trend.classes} classes, ${trend.n} units`;
  const apart = apartSentence(measured);
  if (trend.p_two_sided === null || trend.p_two_sided > level) {
    return `Cannot tell whether denser materials lie deeper: ${numbers}.${apart}`;
  }
  const way = (trend.spearman_rho ?? 0) > 0 ? 'deeper' : 'higher';
  return `Denser materials lie ${way}: ${numbers}; sinking, stowage and order of breaking up can each do that.${apart}`;
}

/** Classes that stand apart from the rest after allowing for their number. */
function apartSentence(measured: Measured): string {
  const apart = measured.by_class
    .filter((row) => row.p_holm !== null && row.p_holm <= level && row.against_rest !== null)
    .sort((a, b) => Math.abs(b.against_rest ?? 0) - Math.abs(a.against_rest ?? 0));
  if (apart.length === 0) return '';
  const named = apart
    .slice(0, 4)
    .map(
      (row) => `${row.artefact_class ?? 'class unknown'} ${depth(row.against_rest ?? 0)}${interval(row.low, row.high)}`,
    );
  const more = apart.length > 4 ? ` and ${apart.length - 4} more` : '';
  return ` Apart from the rest, allowing for the number of classes: ${named.join(', ')}${more}.`;
}

/** The paragraph for a methods section. */
export function methodsOf(summary: Summary, context: Context): string {
  const { own, sample, simulations, seed } = context;
  const sentences = [
    `Relative depth u = (top − z) / (top − lower surface) of ${summary.n} finds in a window of ${shown(summary.window_area_m2, 8)} m² (${sample.windowSource}); lower surface: ${own.lower_surface}.`,
    `Surfaces are bilinear between the nodes of a season, flat over three nodes where the fourth is missing; nodes of a re-laid grid are a lattice of their own, readings on no lattice are joined to triangles. ${own.top_season === 'find' ? 'The top is that of the season of the find, or of the season that opened the ground where the later one was disturbed or does not say' : 'The top is that of the season that opened the ground'}; the lower surface that of the season of the find, else the newest.`,
    `Errors are carried from both surfaces (${own.level_sigma_m} m where a level states none) and from the find (${own.find_sigma_m} m where it states none; a range counts with its middle and range / √12); finds where the deposit is thinner than four of its errors are left out${own.beyond_surfaces === 'leave_out' ? ', finds beyond a surface by more than two errors' : ''}${own.ground === 'dug_out' && sample.site !== null ? `, and ground not dug down to ${own.lower_surface}` : ''}.`,
    'Means are over units: a find, a concretion, or the sherds of one pot vessel in one square.',
  ];
  if (simulations > 0) {
    sentences.push(
      `p: names dealt out ${simulations} times among the units of each square (squares of the grid, else ${own.block_m} m), p = (1 + number as extreme) / (${simulations} + 1), two-sided twice the smaller (Besag & Diggle 1977; Phipson & Smyth 2010); p over several classes also raised after Holm (1979).`,
      `Intervals: 2.5 to 97.5 % of ${Math.min(simulations, 1999)} resamplings ${summary.keel_distance ? 'of whole squares' : 'within squares (Rao & Wu 1988)'}; seed ${seed}, generator ${generatorName}.`,
    );
  } else sentences.push('No simulations: neither p nor interval.');
  sentences.push(
    'Mann & Whitney (1947), Kolmogorov–Smirnov and Kruskal & Wallis (1952) stand beside it; they take units as independent and do not allow for squares.',
  );
  return sentences.join(' ');
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(summary: Summary, context: Context): string[] {
  const { own, sample } = context;
  const out: string[] = [];
  const { comparison } = summary;
  if (summary.n > 0 && summary.n < 20)
    out.push(`Only ${summary.n} finds have a relative depth: read single depths, not the tests.`);
  if (own.question === 'intrusive' && comparison === null) {
    out.push(
      'No comparison: the register marks no find as later than the wreck, or none as the ship’s, that has a relative depth.',
    );
  } else if (own.first.length > 0 && comparison === null) {
    out.push(
      'No comparison: one of the two groups has no find with a relative depth; name classes as the finds carry them.',
    );
  }
  if (comparison && Math.abs(comparison.expected_by_square) > 0.05) {
    out.push(
      `The squares they lie in alone would make a difference of ${depth(comparison.expected_by_square)}; p allows for that, the effect does not.`,
    );
  }
  const without = summary.by_class.filter((row) => row.without_elevation > 0);
  if (without.length > 0) {
    const total = without.reduce((sum, row) => sum + row.without_elevation, 0);
    out.push(
      `${total} finds have no elevation (${without.map((row) => `${row.artefact_class ?? 'class unknown'} ${row.without_elevation}`).join(', ')}); small finds from the sieve are not missing at random.`,
    );
  }
  if (summary.over_hull > 0) {
    out.push(
      `${summary.over_hull} of ${summary.n} finds lie over articulated hull: there the ship, not the sediment, stopped them.`,
    );
  }
  const left = own.beyond_surfaces === 'leave_out' ? 'left out of the comparison' : 'kept';
  if (summary.below_lower_surface.length > 0) {
    out.push(
      `${summary.below_lower_surface.length} finds lie below the lower surface by more than two errors: ${left}; look for holes scoured or dug, a tide not reduced, or a floor mistaken for the bottom.`,
    );
  }
  if (summary.above_top > 0) out.push(`${summary.above_top} finds lie above the top by more than two errors: ${left}.`);
  if (summary.mixed_seasons > 0) {
    out.push(
      `For ${summary.mixed_seasons} finds top and lower surface were levelled in different seasons: the shared error of a season does not cancel.`,
    );
  }
  if (summary.in_disturbed_ground > 0) {
    out.push(
      `${summary.in_disturbed_ground} finds lie in disturbed ground; disturbed_ground = leave_out leaves them out.`,
    );
  }
  if (sample.site === null)
    out.push('A plain file does not say where digging reached the bottom: all ground counts as dug out.');
  if (sample.levels?.sigma.some((s) => Number.isNaN(s))) {
    out.push(`Levels without a stated error are taken as good to ${own.level_sigma_m} m.`);
  }
  const later = sample.detail.intrusive.filter((v) => v === 2).length;
  if (later > 0 && own.question !== 'intrusive')
    out.push(`${later} finds are marked as later than the wreck and are counted with their class.`);
  if (summary.tests_made > 1) {
    out.push(
      `${summary.tests_made} tests were made: at the 5 % level about ${shown(0.05 * summary.tests_made)} would look different by chance alone; p_holm allows for the classes.`,
    );
  }
  return out;
}
