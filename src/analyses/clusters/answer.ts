import type { Sample } from '../../domain/sample.js';
import { type DensityClusters, densityClusters, reachOfChance } from '../../math/density-clusters.js';
import { type KMeansFit, kMeans } from '../../math/k-means.js';
import { pairLooks } from '../../math/pair-distances.js';
import { randomStream } from '../../math/random.js';
import { Problem } from '../../problems.js';
import type { RunControl } from '../contract.js';
import {
  chosenGroups,
  densityChance,
  type GapCurve,
  type Grouping,
  gapCurve,
  isBelowBand,
  type RandomGroups,
  randomGroups,
} from './chance.js';
import type { Ground } from './ground.js';
import type { Parameters, Summary } from './schemas.js';

/** streams from here on seed the groups of the finds themselves; random scatters use the ones below */
const firstOwnStream = 3_000_000_000;
/** finds in a hundred that chance alone would make cores, where no reach is given */
const coreShare = 0.01;
/** pairs looked at, and distances to centres, by one run: some minutes of work */
const mostLooks = 4e8;
const mostDistances = 1e11;
/** passes of k-means over the finds, about, until no move helps */
const passes = 12;

/** The finds grouped both ways, and random scatters grouped likewise. */
export interface Grouped {
  readonly grouping: Grouping;
  readonly density: DensityClusters;
  /** [kMost] m² */
  readonly sse: Float64Array;
  readonly random: RandomGroups | null;
  readonly gap: GapCurve | null;
  /** the groups that stand for k-means; null = none are shown */
  readonly parted: KMeansFit | null;
  readonly k: number | null;
}

/** @throws Problem bad-parameter, too-few-points, too-much-work */
export function groupFinds(ground: Ground, own: Parameters, control: RunControl): Grouped {
  const n = ground.row.length;
  const grouping = groupingOf(ground, own);
  const { rule, kMost, restarts } = grouping;
  refuseTooMuch(ground, grouping, control.simulations);
  control.progress(0, 'grouping the finds');
  const density = densityClusters(ground.xy, rule);
  const fits = Array.from({ length: kMost }, (_, i) =>
    kMeans(ground.xy, { k: i + 1, restarts }, randomStream(control.seed, firstOwnStream + i)),
  );
  const sse = Float64Array.from(fits, (fit) => fit.sse);
  const random =
    control.simulations === 0 || n === 0
      ? null
      : randomGroups(
          { n, window: ground.window, grouping },
          {
            simulations: control.simulations,
            seed: control.seed,
            tick: (share) => control.progress(share, 'grouping random scatters'),
          },
        );
  const gap = random && gapCurve(sse, random);
  const k = own.k ?? (gap && chosenGroups(gap));
  return {
    grouping,
    density,
    sse,
    random,
    gap,
    k,
    parted: k === null ? null : fits[k - 1],
  };
}

function groupingOf(ground: Ground, own: Parameters): Grouping {
  const n = ground.row.length;
  const minFinds = own.min_finds ?? Math.max(4, Math.round(Math.log(Math.max(n, 1))));
  // without finds there is no rate; any reach groups nothing
  const reachM = own.reach ?? (n === 0 ? 1 : reachOfChance(n / ground.areaM2, minFinds, coreShare));
  const asked = own.k_max ?? Math.max(1, own.k ?? 0, Math.min(10, Math.floor(n / 5)));
  if (own.k !== null && own.k > asked) {
    throw new Problem('bad-parameter', `k = ${own.k} lies beyond k_max = ${asked}; raise k_max or lower k`, {
      parameter: 'k',
    });
  }
  if (own.k !== null && own.k >= ground.places) {
    throw new Problem(
      'too-few-points',
      `k = ${own.k} groups need finds at more than ${own.k} different places, got ${ground.places}`,
      { k: own.k, places: ground.places },
    );
  }
  return { rule: { reachM, minFinds }, kMost: Math.max(0, Math.min(asked, ground.places - 1)), restarts: own.restarts };
}

function refuseTooMuch(ground: Ground, { rule, kMost, restarts }: Grouping, simulations: number): void {
  const n = ground.row.length;
  const looks = pairLooks({ from: ground.xy, to: ground.xy, reachM: rule.reachM, order: 'once' });
  const even = n * Math.min(n, ((n * Math.PI) / ground.areaM2) * rule.reachM ** 2);
  if (looks + simulations * even > mostLooks * 25) {
    throw new Problem(
      'too-much-work',
      `within ${rule.reachM} m of each other lie more pairs of these ${n} finds than one run can group; give a shorter reach`,
      { reach: rule.reachM, n },
    );
  }
  const distances = (simulations + 1) * n * ((kMost * (kMost + 1)) / 2) * restarts * passes;
  if (distances > mostDistances) {
    throw new Problem(
      'too-much-work',
      `${simulations} simulations of ${n} finds in up to ${kMost} groups with ${restarts} restarts are too many for one run; at most ${Math.floor((simulations * mostDistances) / distances)} simulations fit, or lower k_max`,
      { simulations, n },
    );
  }
}

/** Everything but the sentence and the contents of the clusters. */
export function summaryOf(
  ground: Ground,
  grouped: Grouped,
  of: { readonly own: Parameters; readonly seed: number },
): Omit<Summary, 'sentence' | 'clusters'> {
  const { random, gap } = grouped;
  const n = ground.row.length;
  return {
    method: of.own.method,
    tests_made: (random ? 1 : 0) + (gap ? 1 : 0),
    n,
    window_area_m2: ground.areaM2,
    coincident: coincident(ground),
    density: densitySummary(n, grouped, of.own),
    k_means: kMeansSummary(grouped, of),
  };
}

function coincident({ xy }: Ground): number {
  const isSame = (i: number, j: number) => xy[2 * i] === xy[2 * j] && xy[2 * i + 1] === xy[2 * j + 1];
  let count = 0;
  const n = xy.length / 2;
  for (let i = 0; i < n; i++) if ((i > 0 && isSame(i, i - 1)) || (i + 1 < n && isSame(i, i + 1))) count++;
  return count;
}

function densitySummary(n: number, { grouping, density, random }: Grouped, own: Parameters): Summary['density'] {
  const { reachM, minFinds } = grouping.rule;
  const chance = random && densityChance(density, random);
  return {
    reach_m: n === 0 && own.reach === null ? null : reachM,
    reach_rule:
      own.reach === null
        ? `where 1 in 100 finds of a random scatter of as many finds per m² would have ${minFinds - 1} others`
        : 'as given',
    min_finds: minFinds,
    min_finds_rule: own.min_finds === null ? '4, or the natural logarithm of the number of finds' : 'as given',
    clusters: density.sizes.length,
    clustered: density.clustered,
    cores: density.role.reduce((sum, r) => sum + (r === 2 ? 1 : 0), 0),
    outside: n - density.clustered,
    share: n === 0 ? null : density.clustered / n,
    random: chance && {
      share: chance.meanClustered / n,
      share_low: chance.lowClustered / n,
      share_high: chance.highClustered / n,
      clusters_low: chance.lowClusters,
      clusters_high: chance.highClusters,
    },
    p_clustered: chance?.pClustered ?? null,
    better_than_random: chance && chance.pClustered <= 0.05,
  };
}

function kMeansSummary(
  { grouping, sse, gap, k, parted }: Grouped,
  of: { readonly own: Parameters; readonly seed: number },
): Summary['k_means'] {
  const place = k === null ? undefined : gap?.places[k - 1];
  return {
    k,
    k_rule:
      of.own.k !== null
        ? 'as given'
        : k === null
          ? gap === null
            ? 'none: no random points to compare with'
            : 'none: the curve does not leave the band'
          : 'the smallest below the band whose gap one group more does not better',
    k_max: grouping.kMost,
    restarts: grouping.restarts,
    seed: of.seed,
    start: 'k-means++',
    sse_m2: parted?.sse ?? null,
    sse_share_of_random: parted && place ? parted.sse / place.randomSse : null,
    restarts_at_best: parted?.restartsAtBest ?? null,
    p: gap?.p ?? null,
    better_than_random: gap === null ? null : place ? isBelowBand(place) : false,
    curve: Array.from(sse, (own, i) => {
      const at = gap?.places[i];
      return {
        k: i + 1,
        sse_m2: own,
        random_sse_m2: at?.randomSse ?? null,
        gap: at?.gap ?? null,
        gap_error: at?.gapError ?? null,
        low_m2: at?.low ?? null,
        high_m2: at?.high ?? null,
        below_band: at ? isBelowBand(at) : null,
      };
    }),
  };
}

/** [n] by row of the ground: the clusters that the table, the layer and the plan show. */
export function shownClusters({ density, parted }: Grouped, method: Parameters['method'], sample: Sample): Int32Array {
  if (method === 'density') return density.cluster;
  return parted?.cluster ?? new Int32Array(sample.xy.length / 2);
}
