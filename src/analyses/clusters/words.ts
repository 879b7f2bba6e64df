import type { Sample } from '../../domain/sample.js';
import { median } from '../../math/quantiles.js';
import { generatorName } from '../../math/random.js';
import type { Summary } from './schemas.js';

/** What the sentences speak about beside the summary. */
export interface Context {
  readonly sample: Sample;
  readonly simulations: number;
  readonly isReachGiven: boolean;
}

type Numbers = Omit<Summary, 'sentence'>;

function shown(value: number | null, digits = 3): string {
  return value === null ? 'not known' : String(Number(value.toPrecision(digits)));
}

const percent = (share: number | null) => (share === null ? 'not known' : `${shown(100 * share)} %`);
const many = (count: number, word: string) => `${count} ${word}${count === 1 ? '' : 's'}`;

/** The answer in a sentence: effect, range, p, and what else may lie behind it; the leading method first. */
export function sentenceOf(summary: Numbers): string {
  if (summary.n === 0) return 'No find in the window: nothing to group.';
  const both = [densityWords(summary), kMeansWords(summary)];
  return (summary.method === 'density' ? both : both.reverse()).join(' ');
}

function densityWords({ n, density }: Numbers): string {
  const { clusters, clustered, random, p_clustered: p } = density;
  const how = `reach ${shown(density.reach_m)} m, ${density.min_finds} finds`;
  const what =
    clusters === 0
      ? `No density cluster (${how}) among ${many(n, 'find')}`
      : `${many(clusters, 'density cluster')} (${how}) ${clusters === 1 ? 'holds' : 'hold'} ${clustered} of ${many(n, 'find')}, ${percent(density.share)}`;
  if (random === null || p === null)
    return `${what}; without simulations it cannot be said whether that is more than chance.`;
  const chance = `random scatters in the same window ${percent(random.share)}, middle 95 % ${percent(random.share_low)} to ${percent(random.share_high)}; p = ${shown(p)}`;
  if (density.better_than_random) {
    return `${what} (${chance}): denser than random; a broken container, a stowed cargo, hull that held things back, or squares dug with more care do that alike.`;
  }
  return `${what} (${chance}): no better than random${n < 30 ? ', and so few finds could not show much' : ''}.`;
}

function kMeansWords({ n, k_means: found }: Numbers): string {
  const { k, p, curve } = found;
  if (curve.length === 0) return 'k-means: too few finds at different places to part.';
  if (p === null) {
    return k === null
      ? 'k-means: without simulations no number of groups can be named.'
      : `k-means in ${many(k, 'group')}: sum of squares ${shown(found.sse_m2)} m², not compared with random points.`;
  }
  const range = curve.length === 1 ? '1 group' : `1 to ${curve.length} groups`;
  if (k === null) {
    return `k-means: no better than random points in the same window with ${range} (p = ${shown(p)} for the whole curve)${n < 30 ? '; so few finds could not show much' : ''}.`;
  }
  const what = `k-means in ${many(k, 'group')}: sum of squares ${shown(found.sse_share_of_random)} times that of random points in the same window`;
  const place = curve[k - 1];
  const band =
    place.low_m2 === null || place.high_m2 === null || place.random_sse_m2 === null
      ? 'no band with fewer than 19 simulations'
      : `band ${shown(place.low_m2 / place.random_sse_m2)} to ${shown(place.high_m2 / place.random_sse_m2)}`;
  const numbers = `(${band}; p = ${shown(p)} for the whole curve)`;
  if (found.better_than_random === null) return `${what} ${numbers}: cannot tell.`;
  if (!found.better_than_random) return `${what} ${numbers}: no better than random.`;
  return `${what} ${numbers}: nearer to their centres than random points${k === 1 ? ', as one concentration' : ''}.`;
}

/** The paragraph for a methods section. */
export function methodsOf(summary: Summary, context: Context): string {
  const { density, k_means: parted } = summary;
  const { sample, simulations } = context;
  const sentences = [
    `${summary.n} finds in a window of ${shown(summary.window_area_m2, 8)} m² (${sample.windowSource}).`,
    `Density clusters (Ester, Kriegel, Sander & Xu 1996): finds with ${density.min_finds} finds (${density.min_finds_rule}) within ${shown(density.reach_m, 4)} m (${density.reach_rule}), themselves counted, are cores; cores within that reach are one cluster; a border find joins the cluster of its nearest core, of equally near ones the westernmost.`,
    `k-means for 1 to ${parted.k_max} groups: ${parted.restarts} restarts, each seeded by k-means++ (Arthur & Vassilvitskii 2007), finds moved one at a time until no move lowers the sum of squares (Hartigan & Wong 1979), finds sorted by place first; number of groups ${parted.k ?? 'not named'} (${parted.k_rule}; Kintigh & Ammerman 1982, Tibshirani, Walther & Hastie 2001).`,
  ];
  sentences.push(
    simulations === 0
      ? `No simulations; seed ${parted.seed}, generator ${generatorName}.`
      : `Both are compared with ${simulations} scatters of as many points, uniform in the same window, grouped alike: p = (1 + number as extreme) / (${simulations} + 1) (Besag & Diggle 1977), for the share of finds in density clusters one-sided, ties settled by the nearness of pairs, and for the whole curve of log sums of squares by extreme rank length (Myllymäki et al. 2017), which also gives the band that random scatters leave anywhere in 1 case of 20. Seed ${parted.seed}, generator ${generatorName}, one stream for each simulation.`,
  );
  return sentences.join(' ');
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(summary: Summary, context: Context): string[] {
  const { n, density, k_means: parted, coincident } = summary;
  const cautions: string[] = [];
  if (n < 10) cautions.push(`${n === 0 ? 'No find' : many(n, 'find')}: too few to speak of clusters.`);
  if (coincident > 0) {
    cautions.push(
      `${coincident} of ${n} finds share their place with another: rounded positions, heaps booked at one place and pieces of one object make clusters of their own.`,
    );
  }
  if (context.isReachGiven) {
    cautions.push(
      'The reach was given: if it was read off the plot of these finds, the p of the density clusters is too small.',
    );
  }
  const sigma = median(context.sample.sigmaXy.filter((s) => !Number.isNaN(s)));
  if (sigma !== null && density.reach_m !== null && 3 * sigma > density.reach_m) {
    cautions.push(
      `The middle position error is ${shown(sigma, 2)} m: a reach of ${shown(density.reach_m)} m is less than three times that, and clusters that close cannot be claimed.`,
    );
  }
  if (parted.k !== null && parted.restarts_at_best !== null && parted.restarts > 1 && parted.restarts_at_best === 1) {
    cautions.push(
      `Only 1 of ${parted.restarts} restarts of k-means ended at the best sum: a better parting may exist; raise restarts.`,
    );
  }
  if (parted.k !== null && parted.better_than_random === false) {
    cautions.push(
      'k-means parts any finds into as many groups as asked for; these are no better than those of random points.',
    );
  }
  if (context.simulations > 0 && context.simulations < 19) {
    cautions.push(`${context.simulations} simulations are too few for a band at 5 %; give at least 19.`);
  }
  const split = summary.clusters.filter((own) => own.dug_m2 !== null && own.hull_area_m2 !== null);
  const spilt = split.filter((own) => (own.dug_m2 ?? 0) < 0.9 * (own.hull_area_m2 ?? 0));
  if (spilt.length > 0) {
    cautions.push(
      `${many(spilt.length, 'hull')} of clusters (${spilt.map((own) => own.cluster).join(', ')}) ${spilt.length === 1 ? 'reaches' : 'reach'} over ground that was not dug: what lies there is not known.`,
    );
  }
  return cautions;
}
