import * as z from 'zod';
import { counted, metres, perSquareMetre, plain, squareMetres } from '../../domain/units.js';
import { coincidentCount } from '../../math/bandwidth.js';
import type { KernelInput } from '../../math/kernels.js';
import { Problem } from '../../problems.js';
import { defineAnalysis } from '../contract.js';
import { cautionsOf, coverageOf, type DensityAnswer, figureOf, methodsOf, tableOf } from './answer.js';
import { bandwidthRules, chooseBandwidth } from './bandwidth-rule.js';
import { areasLayer, densityAreas } from './density-areas.js';
import { type IntensityView, intensityAt, intensityView } from './intensity.js';
import { spreadAreas } from './spread-areas.js';
import { worked } from './worked.js';

const otherView = z
  .strictObject({
    bandwidth_m: metres('Bandwidth'),
    peak_per_m2: perSquareMetre('Highest density'),
    peaks: counted('Peaks'),
  })
  .nullable();

export default defineAnalysis({
  id: 'kernel-density',
  title: 'Kernel density',
  version: '1.0.0',
  summary: 'Where do the finds of a class lie thickest, in finds per m² of dug area?',
  cautions: [
    'The bandwidth decides the picture: look at half and double before believing a peak.',
    'The surface says nothing outside the dug area, and little about places dug by other means.',
    'Finds known by square only are spread over it: detail inside a square is not observed.',
  ],
  formula:
    'λ(u) = Σᵢ wᵢ k(u − xᵢ) / e, k(v) = exp(−|v|²/2σ²) / 2πσ²; e = 1 (none), e(u) (uniform) or e(xᵢ) (jones-diggle), with e(v) = ∫ over the window of k(v − t) dt',
  sources: [
    'Diggle 1985, Applied Statistics 34, 138–147, doi:10.2307/2347366',
    'Jones 1993, Statistics and Computing 3, 135–146, doi:10.1007/BF00147776',
    'Scott 1992, Multivariate Density Estimation, doi:10.1002/9780470316849',
    'Loader 1999, Local Regression and Likelihood',
    'Rudemo 1982, Scandinavian Journal of Statistics 9, 65–78; Bowman 1984, doi:10.1093/biomet/71.2.353',
    'Berman & Diggle 1989, Journal of the Royal Statistical Society B 51, 81–92',
  ],
  parameters: z.strictObject({
    bandwidth: z
      .union([z.number().positive(), z.enum(bandwidthRules)])
      .default('scott')
      .meta({
        title: 'Bandwidth',
        description:
          'Standard deviation of the kernel in metres, or a rule: scott, lcv (likelihood cross-validation), lscv (least-squares cross-validation), berman-diggle',
        'x-ogc-unit': 'm',
      }),
    edge: z.enum(['none', 'uniform', 'jones-diggle']).default('jones-diggle').meta({
      title: 'Edge correction',
      description: 'Give back what the kernel loses beyond the trench edge: not at all, at each place, or at each find',
    }),
    cell_m: z.number().positive().nullable().default(null).meta({
      title: 'Cell',
      description: 'Side of the cells of the surface; none = a sixth of the bandwidth, at most 512 to the longer side',
      'x-ogc-unit': 'm',
    }),
    contours: z.int().min(1).max(40).default(6).meta({
      title: 'Levels',
      description: 'How many levels at most part the density areas; the step is a round number',
    }),
    at: z
      .array(z.tuple([z.number(), z.number()]))
      .max(10_000)
      .nullable()
      .default(null)
      .meta({
        title: 'Places',
        description: 'Site-grid places [x, y] in metres at which the density is summed in full',
      }),
  }),
  result: z.strictObject({
    n: counted('Finds used'),
    total_weight: plain('Total weight: finds, pieces, vessels or grams'),
    window_area_m2: squareMetres('Window'),
    bandwidth_m: metres('Bandwidth'),
    bandwidth_rule: z.enum(['metres', ...bandwidthRules]).meta({ title: 'How the bandwidth was chosen' }),
    bandwidth_at_boundary: z.boolean().meta({ title: 'The rule stopped at the end of its range' }),
    edge: z.enum(['none', 'uniform', 'jones-diggle']).meta({ title: 'Edge correction' }),
    cell_m: metres('Cell of the surface'),
    integral: plain('What the surface holds over the window'),
    mean_per_m2: perSquareMetre('Total weight by window area'),
    peak_per_m2: perSquareMetre('Highest density'),
    peak_x_m: metres('Place of the highest density, local_x').nullable(),
    peak_y_m: metres('Place of the highest density, local_y').nullable(),
    peaks: counted('Peaks'),
    half_bandwidth: otherView.meta({ title: 'At half the bandwidth' }),
    double_bandwidth: otherView.meta({ title: 'At double the bandwidth' }),
    at: z.array(perSquareMetre('Density').nullable()).meta({ title: 'Density at the places asked' }),
    spread_finds: counted('Finds spread over their square or area'),
    sub_points: counted('Sub-points that stand for them'),
    coincident: counted('Finds that share their position'),
  }),
  layers: { features: 'area', coverage: true },
  squareOnly: 'spread',
  spreadsItself: true,
  withoutEffect: ['simulations', 'draws', 'seed'],
  defaultSimulations: 0,
  worked,
  // cells follow the map's axes and Scott's rule the grid's axes: a turned site has another raster
  laws: { movedAndTurned: false },
  run(sample, parameters, control) {
    const { edge } = parameters;
    if (sample.window.rings.length === 0 || !(sample.windowAreaM2 > 0)) {
      throw new Problem('no-window', 'a density needs a dug area to be a density of; this selection has none');
    }
    const n = sample.xy.length / 2 + sample.areas.length;
    const bandwidth = chooseBandwidth({
      asked: parameters.bandwidth,
      xy: sample.xy,
      areas: sample.areas,
      window: sample.window,
      progress: (share) => control.progress(0.5 * share, 'trying bandwidths'),
    });
    const rule: DensityAnswer['rule'] = typeof parameters.bandwidth === 'number' ? 'metres' : parameters.bandwidth;
    const spread = spreadAreas(sample.areas, bandwidth.sigmaM);
    const input: KernelInput = {
      xy: joined(sample.xy, spread.xy),
      weight: joined(sample.weight, spread.weight),
      window: sample.window,
      sigmaM: bandwidth.sigmaM,
      edge,
    };
    const cut = { azimuthDeg: sample.mapAzimuthDeg };
    control.progress(0.5, 'smoothing');
    const own = intensityView(input, cut);
    const half = viewOrNone(() => intensityView({ ...input, sigmaM: bandwidth.sigmaM / 2 }, cut));
    const double = viewOrNone(() => intensityView({ ...input, sigmaM: bandwidth.sigmaM * 2 }, cut));
    const surface = parameters.cell_m === null ? own.surface : own.onCells(parameters.cell_m);
    control.progress(0.7, 'drawing density areas');
    const peakPerM2 = own.peak?.perM2 ?? 0;
    const areas = densityAreas({ surface: own.surface, window: sample.window, peakPerM2, most: parameters.contours });
    control.progress(0.9, 'summing at the places asked');
    const at = parameters.at === null ? [] : intensityAt(input, parameters.at);
    const totalWeight = sum(input.weight);
    const answer: DensityAnswer = {
      sample,
      rule,
      bandwidth,
      edge,
      views: [half, own, double],
      areas,
      cellM: surface.frame.cellM,
      n,
      spreadFinds: sample.areas.length,
      subPoints: spread.weight.length,
      coincident: coincidentCount(sample.xy),
      placesOutside: at.filter((v) => v === null).length,
    };
    return {
      summary: {
        n,
        total_weight: totalWeight,
        window_area_m2: sample.windowAreaM2,
        bandwidth_m: bandwidth.sigmaM,
        bandwidth_rule: rule,
        bandwidth_at_boundary: bandwidth.atBoundary,
        edge,
        cell_m: answer.cellM,
        integral: own.integral,
        mean_per_m2: totalWeight / sample.windowAreaM2,
        peak_per_m2: peakPerM2,
        peak_x_m: own.peak?.x ?? null,
        peak_y_m: own.peak?.y ?? null,
        peaks: own.peaks,
        half_bandwidth: viewSummary(half),
        double_bandwidth: viewSummary(double),
        at,
        spread_finds: answer.spreadFinds,
        sub_points: answer.subPoints,
        coincident: answer.coincident,
      },
      table: tableOf(answer),
      features: areasLayer(areas),
      coverage: coverageOf(surface),
      figure: figureOf(answer),
      methods: methodsOf(answer),
      cautions: cautionsOf(answer),
    };
  },
});

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
  return view && { bandwidth_m: view.sigmaM, peak_per_m2: view.peak?.perM2 ?? 0, peaks: view.peaks };
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
