import type { Sample } from '../../domain/sample.js';
import { berman } from '../../math/berman.js';
import { lawQuantile } from '../../math/distance-law.js';
import { kolmogorovExact, kolmogorovGap } from '../../math/kolmogorov.js';
import { Problem } from '../../problems.js';
import { type Answer, defineAnalysis, type RunControl } from '../contract.js';
import { alongKeelPart, chances, insideAndOut, portAndStarboard, seasonsPart, zonesPart } from './answer.js';
import { distanceBands } from './bands.js';
import { againstOthers, againstWindow, type ChancePlan } from './chance.js';
import { scatterFigure } from './figure.js';
import { findDistances, localGround, otherDistances, whyNoSide } from './ground.js';
import { chooseHull, chooseMeasure, hullQuestions } from './measures.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { findsLayer, spreadOf, spreadsBy, tableOf } from './tables.js';
import { edgePart } from './trench-edge.js';
import { trial } from './trial.js';
import { answerLine, cautionsOf, isEdge, measuredTo, methodsOf } from './words.js';
import { worked } from './worked.js';

/** Finds placed by one run, all simulations together: some minutes of work. */
const mostPlaced = 5e8;

export default defineAnalysis({
  id: 'hull-scatter',
  title: 'Scatter about the hull',
  version: '2',
  summary:
    'Do finds lie nearer to the hull than chance, or than other finds, would put them; inside or outside, to port or starboard, where along the keel?',
  cautions: [
    'Hull is known only where it was dug: near the edge of the dug area an unseen timber may be nearer.',
    'Against random points in the window almost any class of a wreck comes out near the hull; the comparison with all other finds is the sharper question.',
    'The tests take every find as fallen for itself: sherds of one jar and children of one concretion make p too small.',
    'A distance to a straight axis takes no notice of where the keel ends.',
    'Loose and displaced timbers lie where they drifted; with timbers = all distances to them count as well.',
  ],
  formula:
    'F0(z) = |{u in W: Z(u) ≤ z}| / |W|; U_i = F0(Z_i). D = sup |F_n − F0|. Z1 = (Σ Z_i − n μ) / √(n E[Z²]), conditional on n with n Var Z; Z2 = √(12/n) (Σ U_i − n/2). Simulated: mean Z of n points uniform in W; random labelling: mean Z of n finds dealt from all; p = (1 + #{as extreme}) / (m + 1). To the trench edge: λ(u) ∝ exp(b Z(u)), b by maximum likelihood, interval from n Var Z under that trend.',
  sources: [
    'Berman 1986, Applied Statistics 35, 54–62, doi:10.2307/2347865',
    'Kolmogorov 1933, Giornale dell’Istituto Italiano degli Attuari 4, 83–91',
    'Marsaglia, Tsang & Wang 2003, Journal of Statistical Software 8(18), doi:10.18637/jss.v008.i18',
    'Simard & L’Ecuyer 2011, Journal of Statistical Software 39(11), doi:10.18637/jss.v039.i11',
    'Besag & Diggle 1977, Applied Statistics 26, 327–333, doi:10.2307/2346974',
    'Clopper & Pearson 1934, Biometrika 26, 404–413, doi:10.1093/biomet/26.4.404',
    'Garwood 1936, Biometrika 28, 437–442, doi:10.1093/biomet/28.3-4.437',
    'Holm 1979, Scandinavian Journal of Statistics 6, 65–70',
  ],
  parameters,
  result,
  layers: { features: 'point' },
  squareOnly: 'exclude',
  spreadsItself: false,
  withoutEffect: ['count_unit'],
  defaultSimulations: 999,
  worked,
  trial,
  laws: { movedAndTurned: true },
  run: runHullScatter,
});

function runHullScatter(sample: Sample, own: Parameters, control: RunControl): Answer<Summary> {
  const ground = localGround(sample);
  const n = ground.xy.length / 2;
  const sideReason = whyNoSide(ground);
  if (own.side === 'required' && sideReason) {
    throw new Problem('cannot-answer', `side = required cannot be answered: ${sideReason}`, { side: own.side });
  }
  if (control.simulations * n > mostPlaced) {
    throw new Problem(
      'too-much-work',
      `${control.simulations} simulations of ${n} finds are too many for one run; at most ${Math.floor(mostPlaced / n)} simulations fit`,
      { simulations: control.simulations, n },
    );
  }
  control.progress(0, 'measuring to the hull');
  const chosen = chooseHull(sample, own, ground.origin);
  const questions = hullQuestions(chosen, ground.window);
  const measure = chooseMeasure(own, { chosen, questions }, { sample, window: ground.window, origin: ground.origin });
  const { law } = measure;
  const finds = findDistances(ground, measure, { questions, elements: chosen.elements });
  const distances = finds.distanceM;

  const plan = (from: number, to: number): ChancePlan => ({
    simulations: control.simulations,
    seed: control.seed,
    progress: (share) => control.progress(from + (to - from) * share, 'laying out random scatters'),
  });
  const byChance =
    control.simulations > 0 && n > 0
      ? againstWindow(distances, measure, { window: ground.window, plan: plan(0.1, 0.7) })
      : null;
  const others = otherDistances(sample, ground, measure);
  const byDeals = n > 0 && others.length > 0 ? againstOthers(distances, others, plan(0.7, 0.9)) : null;
  const gap = n > 0 ? kolmogorovGap(distances, law) : null;
  const tests = berman(distances, law);

  const summary: Summary = {
    n,
    window_area_m2: ground.areaM2,
    hull_features: chosen.elements.length,
    hull_features_left_out: chosen.leftOut,
    distance_m: spreadOf(distances),
    signed_distance_m: finds.signedDistanceM && spreadOf(finds.signedDistanceM),
    along_keel_m: finds.alongKeelM && spreadOf(finds.alongKeelM),
    off_keel_m: finds.offKeelM && spreadOf(finds.offKeelM),
    expected_median_m: lawQuantile(law, 0.5),
    expected_mean_m: law.mean,
    f0_bound: law.bound,
    ks: { d: gap, p: gap === null ? null : kolmogorovExact(n, gap) },
    berman: {
      z1: tests.z1,
      p1: tests.p1,
      z1_conditional: tests.z1Conditional,
      p1_conditional: tests.p1Conditional,
      z2: tests.z2,
      p2: tests.p2,
    },
    simulated: byChance && { ...chances(byChance.chance), simulations: control.simulations },
    against_others: byDeals && {
      median_difference_m: byDeals.medianDifferenceM,
      ...(byDeals.chance ? chances(byDeals.chance) : { p_closer: null, p_farther: null, p_two_sided: null }),
      others: others.length,
    },
    nearer_to_edge: finds.isNearerToEdge.filter(Boolean).length,
    ...insideAndOut(finds, questions, ground.areaM2),
    side: sideReason ? null : portAndStarboard(finds, ground),
    side_reason: sideReason,
    bands: distanceBands(distances, law, { limits: own.bands, windowAreaM2: ground.areaM2 }).map((band) => ({
      from_m: band.fromM,
      to_m: band.toM,
      area_m2: band.areaM2,
      n: band.n,
      per_m2: band.perM2,
      rate_ratio: band.rateRatio,
    })),
    trench_edge: isEdge(own) ? edgePart(sample, distances, measure) : null,
    ...alongKeelPart(ground, finds, own.keel_step),
    ...zonesPart(sample, ground, plan(0.9, 1)),
    ...seasonsPart(sample, ground, (window) =>
      chooseMeasure(own, { chosen, questions }, { sample, window, origin: ground.origin }),
    ),
    by_class: spreadsBy(sample.classCode, sample.classes, distances),
    by_season: spreadsBy(sample.seasonCode, sample.seasons, distances),
  };
  const context = {
    sample,
    own,
    hull: chosen,
    coincident: coincidentFinds(sample.xy),
    atZero: law.atZero,
    simulations: control.simulations,
    seed: control.seed,
  };
  return {
    summary,
    table: tableOf(summary),
    features: findsLayer(sample, finds),
    figure: scatterFigure({
      distances,
      law,
      band: byChance?.band ?? null,
      measuredTo: measuredTo(own),
      subtitle: answerLine(summary),
      notes: figureNotes(sample, summary),
    }),
    methods: methodsOf(summary, context),
    cautions: cautionsOf(summary, context),
  };
}

/** Finds that share their place with another. */
function coincidentFinds(xy: Float64Array): number {
  const counts = new Map<string, number>();
  for (let i = 0; i < xy.length; i += 2) {
    const key = `${xy[i]} ${xy[i + 1]}`;
    counts.set(key, (counts.get(key) ?? 0) + 1);
  }
  return [...counts.values()].reduce((sum, count) => sum + (count > 1 ? count : 0), 0);
}

function figureNotes(sample: Sample, summary: Summary): string[] {
  return [
    `n = ${summary.n}, window ${Number(summary.window_area_m2.toPrecision(6))} m², ${sample.windowSource}`,
    ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
    ...sample.excluded.map(({ reason, count }) => `${count} left out: ${reason}`),
  ];
}
