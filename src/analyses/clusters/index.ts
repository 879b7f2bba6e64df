import type { Sample } from '../../domain/sample.js';
import { type Answer, defineAnalysis, type RunControl } from '../contract.js';
import { heapedFinds, heapShares } from '../planting.js';
import { groupFinds, shownClusters, summaryOf } from './answer.js';
import { clusterContents } from './contents.js';
import { clustersFigure } from './figure.js';
import { bySampleRow, sortedGround } from './ground.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { hullsLayer, tableOf } from './table.js';
import { cautionsOf, methodsOf, sentenceOf } from './words.js';
import { worked } from './worked.js';

export default defineAnalysis({
  id: 'clusters',
  title: 'Clusters',
  version: '1',
  summary: 'How many clusters do the finds make, where, of what, and are they more than chance would make?',
  cautions: [
    'k-means always returns as many groups as asked for, clusters or not; only the gap to random points speaks for them.',
    'Density clusters hang on the reach and on the finds that make a core: another reach joins or parts them.',
    'The edge of a trench cuts clusters: what looks like a side of one may be the side of the trench.',
    'Random points in the window are a weak rival on a wreck, where hull and thickness gather finds of every class: compare classes with each other as well.',
    'Pieces of one object and coincident positions are clusters by themselves; a concretion is one spot, sherds can be counted as pot vessels.',
  ],
  formula:
    'Density: find i is a core when #{j : d_ij ≤ reach} ≥ min_finds, itself counted; cores within the reach are joined; a border find goes to its nearest core. Reach when not given: P(N ≥ min_finds − 1) = 0.01 for N Poisson of mean (n / A) π reach². k-means: SSE_k = min Σ |x_i − c(i)|²; gap_k = mean ln SSE_k(random) − ln SSE_k; k = the smallest below the band with gap_k ≥ gap_(k+1) − s_(k+1), s = sd √(1 + 1/m). p = (1 + #{as extreme}) / (m + 1).',
  sources: [
    'Ester, Kriegel, Sander & Xu 1996, Proceedings of KDD-96, 226–231',
    'Birant & Kut 2007, Data & Knowledge Engineering 60, 208–221 (ln n finds of a core), doi:10.1016/j.datak.2006.01.013',
    'Hartigan & Wong 1979, Applied Statistics 28, 100–108, doi:10.2307/2346830',
    'Arthur & Vassilvitskii 2007, Proceedings of SODA 2007, 1027–1035',
    'Kintigh & Ammerman 1982, American Antiquity 47, 31–63, doi:10.2307/280052',
    'Tibshirani, Walther & Hastie 2001, Journal of the Royal Statistical Society B 63, 411–423, doi:10.1111/1467-9868.00293',
    'Myllymäki, Mrkvička, Grabarnik, Seijo & Hahn 2017, Journal of the Royal Statistical Society B 79, 381–404, doi:10.1111/rssb.12172',
    'Besag & Diggle 1977, Applied Statistics 26, 327–333, doi:10.2307/2346974',
  ],
  parameters,
  result,
  layers: { features: 'area' },
  squareOnly: 'exclude',
  spreadsItself: false,
  withoutEffect: [],
  defaultSimulations: 99,
  worked,
  trial: {
    effect: 'share of the finds lying in heaps of five within 0.2 m',
    unit: '1',
    strengths: heapShares,
    plant: heapedFinds,
    probability: (summary) => {
      const { method, density, k_means: parted } = summary as Summary;
      return method === 'density' ? density.p_clustered : parted.p;
    },
  },
  laws: { movedAndTurned: true },
  run: runClusters,
});

function runClusters(sample: Sample, own: Parameters, control: RunControl): Answer<Summary> {
  const ground = sortedGround(sample);
  const grouped = groupFinds(ground, own, control);
  const cluster = bySampleRow(ground, shownClusters(grouped, own.method, sample));
  const contents = clusterContents(sample, ground, cluster);
  const numbers = {
    ...summaryOf(ground, grouped, { own, seed: control.seed }),
    clusters: contents.map(({ row }) => row),
  };
  const summary: Summary = { sentence: sentenceOf(numbers), ...numbers };
  const context = { sample, simulations: control.simulations, isReachGiven: own.reach !== null };
  return {
    summary,
    table: tableOf(summary.clusters, sample),
    features: hullsLayer(contents, summary),
    figure: clustersFigure(summary, { sample, ground, contents, cluster }),
    methods: methodsOf(summary, context),
    cautions: cautionsOf(summary, context),
  };
}
