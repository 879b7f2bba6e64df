import type { Sample } from '../../domain/sample.js';
import { kthNearestDistances } from '../../math/nearest.js';
import { productLimit } from '../../math/product-limit.js';
import { regionArea, regionBox, regionPerimeter, shiftRegion } from '../../math/rings.js';
import { Problem } from '../../problems.js';
import { type Answer, defineAnalysis, type RunControl } from '../contract.js';
import { expectedKthDistances, isRectangular } from './clark-evans.js';
import { distanceFigure, placesFor } from './figure.js';
import { type MeasuredScatter, type MeasuredWindow, measureScatter, ratioUnder, simulateScatter } from './scatter.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { findsLayer, tableOf } from './table.js';
import { trial } from './trial.js';
import { answerLine, cautionsOf, methodsOf } from './words.js';
import { worked } from './worked.js';

/** Finds placed by one run, all simulations together: some minutes of work. */
const mostPlaced = 2e9;

export default defineAnalysis({
  id: 'nearest-neighbour',
  title: 'Nearest-neighbour ratio',
  version: '1',
  summary: 'Are the finds of a class clustered, random or evenly spaced?',
  cautions: [
    'A window wider than the excavated area makes any scatter look clustered.',
    'Without edge correction the ratio leans upward; the simulated p allows for the true window, holes included.',
    'The ratio sees only the nearest neighbour: clusters of clusters, or a slope of density along the hull, need other questions.',
    'Coincident finds, rounded coordinates and pieces of one object look like clustering.',
    'A random scatter is rarely the question on a wreck: compare a class with all other finds as well.',
  ],
  formula:
    'R = d̄ / (0.5 / √λ), λ = n / A; z = (d̄ − 0.5 / √λ) / (√((4 − π) / (4π)) / √(nλ)). Donnelly: E = 0.5 √(A/n) + (0.0514 + 0.0412/√n) P/n, Var = 0.0703 A/n² + 0.037 P √(A/n⁵). Kaplan–Meier: d̄ = Σ u dG(u) / Σ dG(u). Simulated: p = (1 + #{as extreme}) / (m + 1).',
  sources: [
    'Clark & Evans 1954, Ecology 35, 445–453, doi:10.2307/1931034',
    'Donnelly 1978, in Hodder (ed.), Simulation Studies in Archaeology, Cambridge, 91–95',
    'Baddeley & Gill 1997, Annals of Statistics 25, 263–292, doi:10.1214/aos/1034276629',
    'Thompson 1956, Ecology 37, 391–394, doi:10.2307/1933159',
    'Besag & Diggle 1977, Applied Statistics 26, 327–333, doi:10.2307/2346974',
    'Whallon 1974, American Antiquity 39, 16–34, doi:10.2307/279216',
    'Hodder & Orton 1976, Spatial Analysis in Archaeology, Cambridge, chapter 3',
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
  run: runNearestNeighbour,
});

function runNearestNeighbour(sample: Sample, own: Parameters, control: RunControl): Answer<Summary> {
  const { xy, window } = localOrigin(sample);
  const n = xy.length / 2;
  const { simulations, seed } = control;
  if (own.edge === 'donnelly' && !window.isRectangular) {
    throw new Problem(
      'cannot-answer',
      `Donnelly's correction is made for rectangles, and this window (${sample.windowSource}) is none; ask for edge = kaplan_meier, or read the simulated p`,
      { edge: own.edge },
    );
  }
  const groups = classGroups(sample);
  const placed = simulations * n * (groups.length > 0 ? 2 : 1);
  if (placed > mostPlaced) {
    throw new Problem(
      'too-much-work',
      `${simulations} simulations of ${n} finds are too many for one run; at most ${Math.floor((simulations * mostPlaced) / placed)} simulations fit`,
      { simulations, n },
    );
  }

  const pooled = measureScatter(xy, window);
  const places = placesFor(pooled.distances, window.areaM2);
  let done = 0;
  const progressOver = (finds: number) => (share: number) =>
    control.progress(((done + share * finds) * simulations) / placed, 'laying out random scatters');
  const test = simulateScatter(pooled, window, { simulations, seed, places, progress: progressOver(n) });
  done = n;
  const classes = groups.map((group) => {
    const scatter = measureScatter(positionsOf(xy, group.members), window);
    // the same streams as a run of this class alone, so that both give the same p
    const classTest = simulateScatter(scatter, window, { simulations, seed, progress: progressOver(scatter.n) });
    done += scatter.n;
    return {
      artefact_class: group.name,
      n: scatter.n,
      mean_distance_m: scatter.meanDistanceM,
      ...ratioUnder(own.edge, scatter),
      ...(classTest?.p ?? { p_clustered: null, p_regular: null, p_two_sided: null }),
    };
  });

  const summary: Summary = {
    ...pooledSummary(pooled, window, own.edge),
    simulated: test && { ...test.p, simulations },
    ...kthDistances({ xy, areaM2: window.areaM2, k: own.k }),
    by_class: classes,
  };
  const context = { simulations, seed, edge: own.edge, sigmaXy: sample.sigmaXy, windowSource: sample.windowSource };
  return {
    summary,
    table: tableOf(summary),
    features: findsLayer(sample, pooled.distances),
    figure: distanceFigure({
      distances: pooled.distances,
      areaM2: window.areaM2,
      places,
      scatters: test?.scatters ?? null,
      kaplanMeier: own.edge === 'kaplan_meier' && n > 1 ? productLimit(pooled.distances, pooled.boundaries) : null,
      subtitle: answerLine(summary),
      notes: figureNotes(sample, window.areaM2),
    }),
    methods: methodsOf(summary, context),
    cautions: cautionsOf(summary, context),
  };
}

/** Positions and window counted from the window's lower-left corner: map coordinates would cost digits. */
function localOrigin(sample: Sample): { xy: Float64Array; window: MeasuredWindow } {
  const [west, south] = regionBox(sample.window);
  const region = shiftRegion(sample.window, west, south);
  const areaM2 = regionArea(region);
  if (!(areaM2 > 0)) throw new Problem('no-window', 'the window has no area; name seasons with excavated areas');
  return {
    xy: sample.xy.map((v, i) => v - (i % 2 === 0 ? west : south)),
    window: { region, areaM2, perimeterM: regionPerimeter(region), isRectangular: isRectangular(region) },
  };
}

interface ClassGroup {
  readonly name: string | null;
  readonly members: readonly number[];
}

/** The classes present, unknown last; none when there is only one. */
function classGroups(sample: Sample): ClassGroup[] {
  const members = new Map<number, number[]>();
  sample.classCode.forEach((code, i) => {
    const group = members.get(code);
    if (group) group.push(i);
    else members.set(code, [i]);
  });
  if (members.size < 2) return [];
  const last = sample.classes.length + 1;
  return [...members.entries()]
    .sort(([a], [b]) => (a || last) - (b || last))
    .map(([code, own]) => ({ name: code === 0 ? null : sample.classes[code - 1], members: own }));
}

function positionsOf(xy: Float64Array, members: readonly number[]): Float64Array {
  const out = new Float64Array(2 * members.length);
  members.forEach((i, at) => {
    out[2 * at] = xy[2 * i];
    out[2 * at + 1] = xy[2 * i + 1];
  });
  return out;
}

function pooledSummary(pooled: MeasuredScatter, window: MeasuredWindow, edge: Parameters['edge']) {
  const { clarkEvans: plain, donnelly, kaplanMeier } = pooled;
  return {
    n: pooled.n,
    window_area_m2: window.areaM2,
    mean_distance_m: pooled.meanDistanceM,
    expected_distance_m: plain?.expectedDistanceM ?? null,
    edge,
    ratio: ratioUnder(edge, pooled).ratio,
    clark_evans: {
      ratio: plain?.ratio ?? null,
      z: plain?.z ?? null,
      p: plain?.p ?? null,
      p_clustered: plain?.pClustered ?? null,
      p_regular: plain?.pRegular ?? null,
    },
    donnelly: donnelly && {
      ratio: donnelly.ratio,
      z: donnelly.z,
      p: donnelly.p,
      p_clustered: donnelly.pClustered,
      p_regular: donnelly.pRegular,
      expected_distance_m: donnelly.expectedDistanceM,
    },
    donnelly_reason: donnelly
      ? null
      : window.isRectangular
        ? 'there are fewer than two finds'
        : "the window is not a rectangle, the only shape Donnelly's constants were made for",
    kaplan_meier: kaplanMeier && { ratio: kaplanMeier.ratio, mean_distance_m: kaplanMeier.meanDistanceM },
    coincident: pooled.distances.reduce((count, d) => count + (d === 0 ? 1 : 0), 0),
  };
}

/** Mean and expected distances to the first … k-th neighbour. @throws Problem too-few-points when k was asked for and is too large */
function kthDistances(of: { xy: Float64Array; areaM2: number; k: number | null }) {
  const n = of.xy.length / 2;
  const k = of.k ?? Math.max(0, Math.min(5, n - 1));
  if (n < 2 || k === 0) return { kth_mean_distance_m: [], kth_expected_m: [] };
  const rows = kthNearestDistances(of.xy, k);
  const means = Array.from({ length: k }, (_, j) => {
    let sum = 0;
    for (let i = j; i < rows.length; i += k) sum += rows[i];
    return sum / n;
  });
  return { kth_mean_distance_m: means, kth_expected_m: expectedKthDistances(k, n / of.areaM2) };
}

function figureNotes(sample: Sample, areaM2: number): string[] {
  const leftOut = sample.excluded.map(({ reason, count }) => `${count} left out: ${reason}`);
  return [
    `n = ${sample.xy.length / 2}, window ${Number(areaM2.toPrecision(6))} m², ${sample.windowSource}`,
    ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
    ...leftOut,
  ];
}
