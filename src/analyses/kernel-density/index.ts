import type { Sample } from '../../domain/sample.js';
import { coincidentCount } from '../../math/bandwidth.js';
import { Problem } from '../../problems.js';
import { type Answer, defineAnalysis, type RunControl } from '../contract.js';
import { coverageOf, type DensityAnswer, figureOf, tableOf, unitOf } from './answer.js';
import { chooseBandwidth } from './bandwidth-rule.js';
import { areasLayer, densityAreas } from './density-areas.js';
import { adaptiveView, type IntensityView, intensityAt, intensityView, type SharedInput } from './intensity.js';
import { peakList } from './peaks.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { spreadAreas } from './spread-areas.js';
import { atPerVolume, refuseAllThin, thicknessOf, type VolumeView, volumeView } from './volume.js';
import { cautionsOf, methodsOf } from './words.js';
import { worked } from './worked.js';

export default defineAnalysis({
  id: 'kernel-density',
  title: 'Kernel density',
  version: '1.1.0',
  summary: 'Where do the finds of a class lie thickest, in finds per m² of dug area or per m³ of deposit?',
  cautions: [
    'The bandwidth decides the picture: look at half and double before believing a peak.',
    'The surface says nothing outside the dug area, and little about places dug by other means.',
    'Finds known by square only are spread over it: detail inside a square is not observed.',
    'Finds per m³ are blank where the deposit is thinner than three of its errors, and wild where it is hardly thicker.',
  ],
  formula:
    'λ(u) = Σᵢ wᵢ k(u − xᵢ) / e, k(v) = exp(−|v|²/2σ²) / 2πσ²; e = 1 (none), e(u) (uniform) or e(xᵢ) (jones-diggle), with e(v) = ∫ over the window of k(v − t) dt. Adaptive: σᵢ = σ f(xᵢ)^(−½) / g, f the fixed density at σ with uniform correction, g the geometric mean of f(xᵢ)^(−½), σᵢ at most 5 medians. Per m³: λ(u) / (top − bottom)(u)',
  sources: [
    'Diggle 1985, Applied Statistics 34, 138–147, doi:10.2307/2347366',
    'Jones 1993, Statistics and Computing 3, 135–146, doi:10.1007/BF00147776',
    'Scott 1992, Multivariate Density Estimation, doi:10.1002/9780470316849',
    'Loader 1999, Local Regression and Likelihood',
    'Rudemo 1982, Scandinavian Journal of Statistics 9, 65–78; Bowman 1984, doi:10.1093/biomet/71.2.353',
    'Berman & Diggle 1989, Journal of the Royal Statistical Society B 51, 81–92',
    'Abramson 1982, Annals of Statistics 10, 1217–1223, doi:10.1214/aos/1176345986',
    'Davies & Hazelton 2010, Statistics in Medicine 29, 2423–2437, doi:10.1002/sim.3995',
  ],
  parameters,
  result,
  layers: { features: 'area', coverage: true },
  squareOnly: 'spread',
  spreadsItself: true,
  withoutEffect: ['simulations', 'draws', 'seed'],
  defaultSimulations: 0,
  worked,
  // cells follow the map's axes and Scott's rule the grid's axes: a turned site has another raster
  laws: { movedAndTurned: false },
  run: runKernelDensity,
});

function runKernelDensity(sample: Sample, own: Parameters, control: RunControl): Answer<Summary> {
  if (sample.window.rings.length === 0 || !(sample.windowAreaM2 > 0)) {
    throw new Problem('no-window', 'a density needs a dug area to be a density of; this selection has none');
  }
  const n = sample.xy.length / 2 + sample.areas.length;
  const thickness = own.per === 'm3' ? thicknessOf(sample, own.level_sigma_m) : null;
  const bandwidth = chooseBandwidth({
    asked: own.bandwidth,
    xy: sample.xy,
    areas: sample.areas,
    window: sample.window,
    progress: (share) => control.progress(0.5 * share, 'trying bandwidths'),
  });
  const rule: DensityAnswer['rule'] = typeof own.bandwidth === 'number' ? 'metres' : own.bandwidth;
  const spread = spreadAreas(sample.areas, bandwidth.sigmaM);
  const input: SharedInput = {
    xy: joined(sample.xy, spread.xy),
    weight: joined(sample.weight, spread.weight),
    share: joined(new Float64Array(sample.xy.length / 2).fill(1), spread.share),
    window: sample.window,
    sigmaM: bandwidth.sigmaM,
    edge: own.edge,
  };
  const cut = { azimuthDeg: sample.mapAzimuthDeg };
  const smoothed = (sigmaM: number) =>
    own.kernel === 'adaptive' && n > 0
      ? adaptiveView({ ...input, sigmaM }, cut)
      : intensityView({ ...input, sigmaM }, cut);
  control.progress(0.5, 'smoothing');
  const perM2 = threeViews(bandwidth.sigmaM, smoothed);
  const [half, area, double] = perM2;
  const volume = thickness && volumeView(area, thickness, sample);
  if (volume) refuseAllThin(volume);
  const inUnit = (view: IntensityView | null) => (thickness && view ? volumeView(view, thickness, sample) : view);
  const views: DensityAnswer['views'] = [inUnit(half), volume ?? area, inUnit(double)];
  const shown = views[1];
  const surface = own.cell_m === null ? shown.surface : shown.onCells(own.cell_m);
  control.progress(0.7, 'drawing density areas');
  const areas = densityAreas({
    surface: shown.surface,
    window: sample.window,
    peak: shown.peak?.height ?? 0,
    most: own.contours,
  });
  control.progress(0.9, 'summing at the places asked');
  const places = own.at ?? [];
  const at = places.length === 0 ? [] : intensityAt(input, area.kernels?.sigmaM ?? null, places);
  const peaks = peakList(views);
  const volumeSummary = volume && thickness ? volumePart(volume, atPerVolume(at, places, thickness)) : null;
  const answer: DensityAnswer = {
    sample,
    rule,
    bandwidth,
    own,
    views,
    peaks,
    volume: volumeSummary,
    areas,
    cellM: surface.frame.cellM,
    n,
    spreadFinds: sample.areas.length,
    subPoints: spread.weight.length,
    coincident: coincidentCount(sample.xy),
    placesOutside: at.filter((v) => v === null).length,
  };
  const totalWeight = sum(input.weight);
  return {
    summary: {
      n,
      total_weight: totalWeight,
      window_area_m2: sample.windowAreaM2,
      bandwidth_m: bandwidth.sigmaM,
      bandwidth_rule: rule,
      bandwidth_at_boundary: bandwidth.atBoundary,
      kernel: own.kernel,
      adaptive: area.kernels && {
        pilot_bandwidth_m: bandwidth.sigmaM,
        smallest_m: area.kernels.smallestM,
        median_m: area.kernels.medianM,
        largest_m: area.kernels.largestM,
        capped: area.kernels.capped,
      },
      edge: own.edge,
      cell_m: answer.cellM,
      surface_unit: unitOf(own.per),
      integral: area.integral,
      mean_per_m2: totalWeight / sample.windowAreaM2,
      peak_per_m2: area.peak?.height ?? 0,
      peak_x_m: area.peak?.x ?? null,
      peak_y_m: area.peak?.y ?? null,
      peaks: area.peaks,
      half_bandwidth: viewSummary(half),
      double_bandwidth: viewSummary(double),
      peak_list: peaks,
      volume: volumeSummary,
      at,
      spread_finds: answer.spreadFinds,
      sub_points: answer.subPoints,
      coincident: answer.coincident,
    },
    table: tableOf(answer),
    features: areasLayer(areas, own.per),
    coverage: coverageOf(surface, own.per),
    figure: figureOf(answer),
    methods: methodsOf(answer),
    cautions: cautionsOf(answer),
  };
}

/** The smoothing at half, once and twice a bandwidth; the outer two null where they are too much work. */
function threeViews(
  sigmaM: number,
  smoothed: (sigmaM: number) => IntensityView,
): readonly [IntensityView | null, IntensityView, IntensityView | null] {
  const own = smoothed(sigmaM);
  return [viewOrNone(() => smoothed(sigmaM / 2)), own, viewOrNone(() => smoothed(2 * sigmaM))];
}

/** Finds per m³ over the ground that is thick enough. */
function volumePart({ peak, surface }: VolumeView, at: (number | null)[]): NonNullable<Summary['volume']> {
  const cellM2 = surface.frame.cellM ** 2;
  return {
    peak_per_m3: peak?.height ?? 0,
    peak_x_m: peak?.x ?? null,
    peak_y_m: peak?.y ?? null,
    mean_per_m3: surface.sumThicknessM > 0 ? surface.sumPerM2 / surface.sumThicknessM : null,
    volume_m3: surface.sumThicknessM * cellM2,
    area_m2: surface.measuredCells * cellM2,
    thin_area_m2: surface.thinCells * cellM2,
    unknown_area_m2: surface.unknownCells * cellM2,
    at,
  };
}

/** Half the bandwidth may be more work than the one asked; the answer then does without it and says so. */
function viewOrNone(view: () => IntensityView): IntensityView | null {
  try {
    return view();
  } catch (error) {
    if (error instanceof Problem && error.code === 'too-much-work') return null;
    throw error;
  }
}

function viewSummary(view: IntensityView | null) {
  return view && { bandwidth_m: view.sigmaM, peak_per_m2: view.peak?.height ?? 0, peaks: view.peaks };
}

function joined(a: Float64Array, b: Float64Array): Float64Array {
  const out = new Float64Array(a.length + b.length);
  out.set(a);
  out.set(b, a.length);
  return out;
}

function sum(values: Float64Array): number {
  let total = 0;
  for (const value of values) total += value;
  return total;
}
