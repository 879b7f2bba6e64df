import type { Sample } from '../../domain/sample.js';
import { coincidentCount } from '../../math/bandwidth.js';
import { testPlaces } from '../../math/empty-space.js';
import { lFunction } from '../../math/k-function.js';
import { pairLooks } from '../../math/pair-distances.js';
import { type Radii, radiiOf } from '../../math/radii.js';
import { setCovariance } from '../../math/set-covariance.js';
import { Problem } from '../../problems.js';
import { type Answer, defineAnalysis, type RunControl } from '../contract.js';
import { chancePart, curvesPart, listed } from './answer.js';
import { shorterSide, usualRadii } from './asked-radii.js';
import { againstChance, type Chance } from './chance.js';
import { halfWidthOf, observedCurves } from './curves.js';
import { densityBandwidth, densityCurves } from './density.js';
import { estimatorOf } from './estimator.js';
import { functionFigure } from './figure.js';
import { type Ground, groundOf } from './ground.js';
import { nullPatterns } from './nulls.js';
import { type NullModel, type Parameters, parameters, result, type Summary } from './schemas.js';
import { findsLayer, tableOf } from './tables.js';
import { trial } from './trial.js';
import { cautionsOf, methodsOf, readingOf } from './words.js';
import { worked } from './worked.js';

/** Pairs looked at for the printed curves, and for all simulations together: some minutes of work each. */
const mostLooks = 1.5e9;
const mostSimulatedLooks = 4e10;

export default defineAnalysis({
  id: 'distance-functions',
  title: 'Distance functions',
  version: '1',
  summary:
    'At what distance are finds of a class clustered or evenly spaced, and do two classes lie together or apart (K, L, pair correlation, G, F, J)?',
  cautions: [
    'K and L add up all distances below r: a cluster of 1 m still shows at 3 m; the pair correlation looks at each distance by itself.',
    'A slope of density looks like clustering at every distance; compare with other finds (random_labelling) before speaking of clusters.',
    'A pointwise band is no test of a curve: read the global tests, and choose one beforehand.',
    'Pieces of one object, rounded coordinates and coincident finds look like clustering at short distances.',
    'J beyond F = 0.9, and the pair correlation near r = 0, rest on nearly nothing.',
  ],
  formula:
    'K(r) = |W| / (n (n − 1)) Σ w 1[d ≤ r]; w = 1 (none), 1 / share of the circle inside W (isotropic, at most 100), |W| / |W ∩ (W + h)| (translation); border: Σ 1[b ≥ r, d ≤ r] / (λ #{b ≥ r}). Two types: |W| / (n₁ n₂), weight at the first. L = √(K/π). g(r) = |W| / (n (n − 1) 2πr) Σ w k_h(r − d). G, F: share of nearest distances ≤ r, Kaplan–Meier 1 − Π (1 − deaths / at risk); J = (1 − G) / (1 − F). Inhomogeneous K = Σ w 1[d ≤ r] / (|W| λ(x) λ(y)). MAD = max |T − T̄|, DCLF = Σ (T − T̄)² Δr, p = (1 + #{as extreme}) / (m + 1).',
  sources: [
    'Ripley 1976, Journal of Applied Probability 13, 255–266, doi:10.2307/3212829',
    'Ripley 1977, Journal of the Royal Statistical Society B 39, 172–212, doi:10.1111/j.2517-6161.1977.tb01615.x (with Besag in the discussion)',
    'Ohser 1983, Mathematische Operationsforschung und Statistik, Series Statistics 14, 63–71',
    'Stoyan & Stoyan 1994, Fractals, Random Shapes and Point Fields, Wiley',
    'Baddeley & Gill 1997, Annals of Statistics 25, 263–292, doi:10.1214/aos/1034276629',
    'Hanisch 1984, Mathematische Operationsforschung und Statistik, Series Statistics 15, 409–414',
    'van Lieshout & Baddeley 1996, Statistica Neerlandica 50, 344–361, doi:10.1111/j.1467-9574.1996.tb01501.x',
    'Baddeley, Møller & Waagepetersen 2000, Statistica Neerlandica 54, 329–350, doi:10.1111/1467-9574.00144',
    'Lotwick & Silverman 1982, Journal of the Royal Statistical Society B 44, 406–413, doi:10.1111/j.2517-6161.1982.tb01221.x',
    'Besag & Diggle 1977, Applied Statistics 26, 327–333, doi:10.2307/2346974',
    'Baddeley et al. 2014, Ecological Monographs 84, 477–489, doi:10.1890/13-2042.1',
    'Myllymäki et al. 2017, Journal of the Royal Statistical Society B 79, 381–404, doi:10.1111/rssb.12172',
    'Orton 2004, Point pattern analysis revisited, Archeologia e Calcolatori 15, 299–315',
  ],
  parameters,
  result,
  layers: { features: 'point' },
  squareOnly: 'exclude',
  spreadsItself: false,
  withoutEffect: ['count_unit'],
  // the tenth largest of 199 is a band at 5 % exactly, p comes in steps of 0.005, and a run stays a matter of seconds
  defaultSimulations: 199,
  worked,
  trial,
  laws: { movedAndTurned: true },
  run: runDistanceFunctions,
});

function runDistanceFunctions(sample: Sample, own: Parameters, control: RunControl): Answer<Summary> {
  if (own.function === 'pcf' && own.edge === 'border') {
    throw new Problem(
      'bad-parameter',
      'input edge: there is no border correction of the pair correlation; ask for translation, isotropic or none',
      { parameter: 'edge' },
    );
  }
  const ground = groundOf(sample, own);
  const radii = radiiOf(own.r ?? usualRadii(ground.window));
  const reachM = radii.values[radii.values.length - 1] + (halfWidthOf(ground) ?? 0);
  const model = own.null_model ?? (ground.isCross ? 'random_labelling' : 'uniform');
  refuseTooMuch(ground, own, { radii, reachM, simulations: control.simulations });
  control.progress(0, 'measuring between finds');

  const covariance = setCovariance(ground.window, reachM);
  const places = testPlaces(ground.window);
  const tick = () => control.progress(0, 'measuring between finds');
  const curves = observedCurves(ground, { radii, covariance, places, hanisch: own.hanisch, tick });
  const hasPairs = ground.isCross ? ground.from.length > 0 && ground.to.length > 0 : ground.from.length > 2;
  const bandwidthM = model === 'inhomogeneous' && hasPairs ? densityBandwidth(ground, own.bandwidth) : null;
  const density = bandwidthM === null ? null : densityCurves(ground, { bandwidthM, radii, covariance, tick });
  // a model that does not fit is refused also when nothing is to be simulated
  const nulls = hasPairs ? nullPatterns(ground, sample, { model, function: own.function, bandwidthM }) : null;
  let chance: Chance | null = null;
  if (nulls && control.simulations > 0 && radii.values[radii.values.length - 1] > 0) {
    const plan = { function: own.function, edge: own.edge, radii, covariance, reachM, places };
    chance = againstChance(
      { from: ground.from, to: ground.to },
      { estimator: estimatorOf(ground, plan), nulls, radii },
      {
        simulations: control.simulations,
        seed: control.seed,
        progress: (share) => control.progress(0.1 + 0.9 * share, 'simulating'),
      },
    );
  }

  const silent: Omit<Summary, 'reading'> = {
    ...countsPart(ground, own, model),
    simulations: chance ? control.simulations : 0,
    ...chancePart(chance, radii),
    ...curvesPart(curves, radii, places.boundaries.length),
    inhomogeneous:
      density && bandwidthM !== null
        ? {
            bandwidth_m: bandwidthM,
            K: { isotropic: listed(density.isotropic), translation: listed(density.translation) },
            L: {
              isotropic: listed(lFunction(density.isotropic)),
              translation: listed(lFunction(density.translation)),
            },
          }
        : null,
    labelling: nulls?.labelling
      ? { units: nulls.labelling.units, grouped: nulls.labelling.grouped, fixed: nulls.labelling.fixed }
      : null,
  };
  const summary: Summary = { ...silent, reading: readingOf(silent) };
  const context = {
    ground,
    own,
    seed: control.seed,
    windowSource: sample.windowSource,
    sigmaXy: sample.sigmaXy,
    shorterSideM: shorterSide(ground.window),
    classes: new Set(sample.classCode).size,
  };
  return {
    summary,
    table: tableOf(summary),
    features: findsLayer(sample, ground, curves.nearest),
    figure: functionFigure(summary, {
      subtitle: summary.reading,
      types: ground.isCross ? `${ground.toName} about ${ground.fromName}` : `${summary.n} finds`,
      notes: figureNotes(sample, summary),
    }),
    methods: methodsOf(summary, context),
    cautions: cautionsOf(summary, context),
  };
}

function countsPart(ground: Ground, own: Parameters, model: NullModel) {
  const from = ground.from.length / 2;
  const to = ground.to.length / 2;
  const both = new Float64Array(ground.isCross ? ground.from.length + ground.to.length : ground.from.length);
  both.set(ground.from);
  if (ground.isCross) both.set(ground.to, ground.from.length);
  const isOfPairs = own.function === 'K' || own.function === 'L' || own.function === 'pcf';
  return {
    n: ground.isCross ? from + to : from,
    n_from: ground.isCross ? from : null,
    n_to: ground.isCross ? to : null,
    window_area_m2: ground.areaM2,
    function: own.function,
    edge: isOfPairs ? own.edge : null,
    null_model: model,
    coincident: coincidentCount(both),
  };
}

/** @throws Problem too-much-work with what would fit */
function refuseTooMuch(
  ground: Ground,
  own: Parameters,
  work: { readonly radii: Radii; readonly reachM: number; readonly simulations: number },
): void {
  const looks = pairLooks({ from: ground.from, to: ground.to, reachM: work.reachM, order: 'both' });
  if (looks > mostLooks) {
    throw new Problem(
      'too-much-work',
      `about ${looks.toExponential(1)} pairs of finds lie within ${Number(work.reachM.toPrecision(3))} m; at most ${mostLooks.toExponential(1)} are measured: ask for smaller radii`,
      { pairs: looks, reach: work.reachM },
    );
  }
  const finds = (ground.from.length + ground.to.length) / 2;
  // a simulated pattern has about as many pairs as chance gives, not as many as heaps do; measured costs beside a plain pair
  const random = Math.min(finds * finds, (finds * finds * 7 * work.reachM ** 2) / ground.areaM2);
  const perPattern = {
    K: random,
    L: random,
    pcf: random * (own.edge === 'isotropic' ? 30 : 3),
    G: 300 * finds,
    F: 400 * 4096,
    J: 300 * finds + 400 * 4096,
  }[own.function];
  const cost = work.simulations * (perPattern + finds * work.radii.values.length * 10);
  if (cost > mostSimulatedLooks) {
    const fit = Math.floor((work.simulations * mostSimulatedLooks) / cost);
    throw new Problem(
      'too-much-work',
      `${work.simulations} simulations of ${finds} finds within ${Number(work.reachM.toPrecision(3))} m are too many for one run; at most ${fit} simulations fit, or ask for smaller radii`,
      { simulations: work.simulations, fit },
    );
  }
}

function figureNotes(sample: Sample, summary: Summary): string[] {
  return [
    `n = ${summary.n}, window ${Number(summary.window_area_m2.toPrecision(6))} m², ${sample.windowSource}`,
    ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
    ...(summary.edge === null ? [] : [`edge correction ${summary.edge}`]),
    ...sample.excluded.map(({ reason, count }) => `${count} left out: ${reason}`),
  ];
}
