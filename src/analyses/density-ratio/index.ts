import type { Sample } from '../../domain/sample.js';
import {
  denominatorSide,
  type Extreme,
  heldRatio,
  numeratorSide,
  type RatioPlaces,
  type RatioTest,
  ratioField,
  ratioPlaces,
  ratioTest,
} from '../../math/density-ratio.js';
import { Problem } from '../../problems.js';
import { type Answer, defineAnalysis, type RunControl } from '../contract.js';
import { areasLayer, ratioFigure, tableOf } from './answer.js';
import { ratioAt } from './at-places.js';
import { commonBandwidth } from './bandwidth.js';
import { labellingOf } from './labelling.js';
import { overallLevel } from './overall-level.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { type Sides, sidesOf } from './sides.js';
import { coverageOf, ratioBands, ratioSurface } from './surface.js';
import { leastDealings, type ToleranceArea, toleranceAreas, toleranceLevel } from './tolerance.js';
import { trial } from './trial.js';
import { cautionsOf, methodsOf, readingOf } from './words.js';
import { worked } from './worked.js';

/** Kernels added up by one run, all dealings together: some minutes of work. */
const mostAdded = 4e10;

export default defineAnalysis({
  id: 'density-ratio',
  title: 'Density ratio',
  version: '1',
  summary:
    'Where does a class lie thicker than the other finds, or one season’s finds thicker than another’s on the ground both dug?',
  cautions: [
    'A ratio says where a class is thick compared with the other finds; where those are few it is large and means little.',
    'Tolerance areas are pointwise: about one place in twenty is marked by chance alone. One test speaks for the whole surface.',
    'The bandwidth decides how small a contrast can be seen; it is common to both sides.',
    'Seasons are compared only where both dug, and what the first lifted the second could not find.',
    'Sherds of one pot and children of one concretion count as one unit when names are dealt out.',
  ],
  formula:
    'ρ(u) = ln[(Σ_N w k(u − x) / e_N(u) W_N) / (Σ_D w k(u − x) / e_D(u) W_D)], k(v) = exp(−|v|²/2σ²) / 2πσ², e(u) = ∫ over the side’s ground of k(u − t) dt, W = the side’s weight on the ground compared; |ρ| held at ln 1000; no value where 4πσ² min(1, W_N / W_D) Σ_D w k < floor. Scott: σ = √(s_x s_y) (n_N n_D)^(−1/12), s of all finds pooled. T = ∫ ρ₀² over the ground with a value, ρ₀ = ρ with half a find of the smaller side added to both; p = (1 + #{T* ≥ T}) / (m + 1); pointwise (1 + #{ρ*(u) ≥ ρ(u)}) / (m + 1) ≤ 0.025, and the same from below; * = names dealt out at random.',
  sources: [
    'Bithell 1990, Statistics in Medicine 9, 691–701',
    'Kelsall & Diggle 1995, Statistics in Medicine 14, 2335–2342, doi:10.1002/sim.4780142106',
    'Hazelton & Davies 2009, Biometrical Journal 51, 98–109, doi:10.1002/bimj.200810495',
    'Davies, Marshall & Hazelton 2018, Statistics in Medicine 37, 1191–1221, doi:10.1002/sim.7577',
    'Diggle 1985, Applied Statistics 34, 138–147, doi:10.2307/2347366',
    'Scott 1992, Multivariate Density Estimation, doi:10.1002/9780470316849',
    'Besag & Diggle 1977, Applied Statistics 26, 327–333, doi:10.2307/2346974',
    'Good 2005, Permutation, Parametric and Bootstrap Tests of Hypotheses, 3rd edition, doi:10.1007/b138696',
  ],
  parameters,
  result,
  layers: { features: 'area', coverage: true },
  squareOnly: 'exclude',
  spreadsItself: false,
  withoutEffect: [],
  defaultSimulations: 999,
  worked,
  trial,
  laws: { movedAndTurned: true },
  run: runDensityRatio,
});

function runDensityRatio(sample: Sample, own: Parameters, control: RunControl): Answer<Summary> {
  const sides = sidesOf(sample, own);
  const bandwidth = commonBandwidth(sides, own.bandwidth, (share) =>
    control.progress(0.2 * share, 'trying bandwidths'),
  );
  const { sigmaM } = bandwidth;
  const n = sides.side.length;
  const places = ratioPlaces(sides.shared, sigmaM, n);
  const labelling = labellingOf(sides, sample.detail);
  const floorFinds = own.floor_finds * Math.max(1, Math.exp(-overallLevel(sides)));
  const simulations = labelling.changes ? control.simulations : 0;
  refuseTooMuch(control.simulations, n, places);
  control.progress(0.2, 'laying down kernels');
  const test = ratioTest(ratioField({ ...sides, sigmaM }, places), sides.side, {
    count: simulations,
    seed: control.seed,
    floorFinds,
    deal: labelling.deal,
    progress: (share) => control.progress(0.2 + 0.6 * share, 'dealing out names'),
  });
  const areas = simulations >= leastDealings ? toleranceAreas(sides, places, test) : null;
  control.progress(0.8, 'drawing the surface');
  const surface = ratioSurface(sample, sides, { sigmaM, floorFinds, cellM: own.cell_m });
  const silent: Omit<Summary, 'reading'> = {
    by: own.by,
    numerator: sides.numeratorName,
    denominator: sides.denominatorName,
    n,
    ...countsOf(sides),
    window_area_m2: sample.windowAreaM2,
    shared_area_m2: sides.sharedAreaM2,
    bandwidth_m: sigmaM,
    bandwidth_rule: typeof own.bandwidth === 'number' ? 'metres' : own.bandwidth,
    bandwidth_at_boundary: bandwidth.atBoundary,
    floor_finds: own.floor_finds,
    floor_per_m2: floorFinds / (4 * Math.PI * sigmaM * sigmaM),
    cell_m: surface.frame.cellM,
    test_places: places.shareM2.length,
    test_step_m: places.lattice.stepM,
    ...testPart(sides, places, { test, areas }),
    tests_made: simulations > 0 ? 1 : 0,
    simulations: control.simulations,
    labelling: { units: labelling.units, grouped: labelling.grouped, fixed: labelling.fixed },
    at: ratioAt(sides, { sigmaM, floorFinds, places: own.at ?? [] }),
    outside_own_ground: sides.outsideOwnGround,
  };
  const summary: Summary = { reading: readingOf(silent), ...silent };
  const context = { sample, own, sides, seed: control.seed };
  return {
    summary,
    table: tableOf(areas ?? []),
    features: areasLayer(areas ?? []),
    coverage: coverageOf(surface),
    figure: ratioFigure(summary, { sample, sides, bands: ratioBands(surface), areas: areas ?? [] }),
    methods: methodsOf(summary, context),
    cautions: cautionsOf(summary, context),
  };
}

/** @throws Problem too-much-work with what would fit */
function refuseTooMuch(simulations: number, n: number, places: RatioPlaces): void {
  const each = n * places.shareM2.length;
  if (simulations * each <= mostAdded) return;
  throw new Problem(
    'too-much-work',
    `${simulations} dealings of ${n} finds on ${places.shareM2.length} test places are too many for one run; at most ${Math.floor(mostAdded / each)} fit, or ask for a larger bandwidth`,
    { simulations, n },
  );
}

function countsOf({ side, onShared, weight, sharedAreaM2 }: Sides) {
  const count = (bit: number, isShared: boolean) =>
    side.reduce((sum, s, i) => sum + ((s & bit) !== 0 && (!isShared || onShared[i] === 1) ? 1 : 0), 0);
  const total = (bit: number) =>
    side.reduce((sum, s, i) => sum + ((s & bit) !== 0 && onShared[i] === 1 ? weight[i] : 0), 0);
  return {
    n_numerator: count(numeratorSide, false),
    n_denominator: count(denominatorSide, false),
    n_numerator_shared: count(numeratorSide, true),
    n_denominator_shared: count(denominatorSide, true),
    numerator_per_m2: total(numeratorSide) / sharedAreaM2,
    denominator_per_m2: total(denominatorSide) / sharedAreaM2,
    overall_ratio: total(numeratorSide) / total(denominatorSide),
  };
}

function testPart(
  sides: Sides,
  places: RatioPlaces,
  { test, areas }: { readonly test: RatioTest; readonly areas: readonly ToleranceArea[] | null },
) {
  const masked = places.shareM2.reduce((sum, share, k) => sum + (test.masked[k] === 1 ? share : 0), 0);
  const valued = sides.sharedAreaM2 - masked;
  const of = (side: ToleranceArea['side']) => (areas ?? []).filter((area) => area.side === side);
  const size = (list: readonly ToleranceArea[]) => list.reduce((sum, area) => sum + area.areaM2, 0);
  const isKnown = test.highest.place >= 0;
  const at = ({ place, dealt }: Extreme): Summary['highest'] => {
    if (place < 0) return null;
    const logRatio = test.logRatio[place];
    return {
      ratio: Math.exp(logRatio),
      log_ratio: logRatio,
      place_x_m: places.xy[2 * place] + sides.origin[0],
      place_y_m: places.xy[2 * place + 1] + sides.origin[1],
      dealt_low: dealt && Math.exp(heldRatio(dealt.low)),
      dealt_high: dealt && Math.exp(heldRatio(dealt.high)),
      p_pointwise: test.p === null ? null : Math.min(1, 2 * Math.min(test.upper[place], test.lower[place])),
    };
  };
  return {
    masked_area_m2: masked,
    root_mean_square_log_ratio: isKnown ? Math.sqrt(test.statistic / valued) : null,
    highest: at(test.highest),
    lowest: at(test.lowest),
    global: test.p === null || !isKnown ? null : { statistic_m2: test.statistic, p: test.p },
    pointwise: areas && {
      level: toleranceLevel,
      higher_areas: of('higher').length,
      higher_area_m2: size(of('higher')),
      lower_areas: of('lower').length,
      lower_area_m2: size(of('lower')),
      expected_area_m2: 2 * toleranceLevel * valued,
    },
  };
}
