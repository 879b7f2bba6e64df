import type { Raster } from '../../domain/raster.js';
import type { Sample } from '../../domain/sample.js';
import { plotPlan } from '../../figures/plots.js';
import type { Scene } from '../../figures/scene.js';
import type { ChosenBandwidth } from '../../math/bandwidth.js';
import type { ContourArea } from '../../math/contour-areas.js';
import type { EdgeCorrection } from '../../math/kernels.js';
import { regionArea } from '../../math/rings.js';
import type { AnswerTable } from '../contract.js';
import type { BandwidthRule } from './bandwidth-rule.js';
import type { IntensitySurface, IntensityView } from './intensity.js';

/** Everything the words, the table and the drawing of one answer are made from. */
export interface DensityAnswer {
  readonly sample: Sample;
  readonly rule: BandwidthRule | 'metres';
  readonly bandwidth: ChosenBandwidth;
  readonly edge: EdgeCorrection;
  /** half, as asked, double; views that could not be drawn are null */
  readonly views: readonly [IntensityView | null, IntensityView, IntensityView | null];
  readonly areas: readonly ContourArea[];
  readonly cellM: number;
  readonly n: number;
  readonly spreadFinds: number;
  readonly subPoints: number;
  readonly coincident: number;
  readonly placesOutside: number;
}

const short = (value: number, digits = 3): string => Number(value.toPrecision(digits)).toString();

/** The surface as published: no value where the cell's centre was not dug. */
export function coverageOf(surface: IntensitySurface): Raster {
  const { frame, values, inside } = surface;
  return {
    title: 'Density per m²',
    unit: 'm-2',
    columns: frame.columns,
    rows: frame.rows,
    corner: frame.corner,
    columnStep: frame.columnStep,
    rowStep: frame.rowStep,
    space: 'site-grid',
    values: Float32Array.from(values, (v, k) => (inside[k] === 1 ? v : Number.NaN)),
  };
}

/** Three bandwidths with their peaks, then the areas between levels with their share of the window. */
export function tableOf({ views, areas, sample }: DensityAnswer): AnswerTable {
  const words = ['half bandwidth', 'bandwidth', 'double bandwidth'];
  const rows: (string | number | null)[][] = [];
  views.forEach((view, k) => {
    if (view) rows.push([words[k], view.sigmaM, view.peak?.perM2 ?? 0, view.peaks, null, null, null, null]);
  });
  for (const { level, levelTo, region } of areas) {
    const area = regionArea(region);
    rows.push(['area between levels', null, null, null, level, levelTo, area, area / sample.windowAreaM2]);
  }
  return {
    columns: [
      { name: 'row', title: 'Row' },
      { name: 'bandwidth_m', title: 'Bandwidth', unit: 'm' },
      { name: 'peak_per_m2', title: 'Highest density', unit: 'm-2' },
      { name: 'peaks', title: 'Peaks', unit: '1' },
      { name: 'level_per_m2', title: 'Density from', unit: 'm-2' },
      { name: 'level_to_per_m2', title: 'Density to', unit: 'm-2' },
      { name: 'area_m2', title: 'Area', unit: 'm2' },
      { name: 'window_share', title: 'Share of the window', unit: '1' },
    ],
    rows,
  };
}

const corners = (ring: Float64Array): [number, number][] =>
  Array.from({ length: ring.length / 2 }, (_, i) => [ring[2 * i], ring[2 * i + 1]]);

/** The plan: window, density areas, hull and finds. */
export function figureOf(answer: DensityAnswer): Scene {
  const { sample, areas, bandwidth, n, spreadFinds } = answer;
  const leftOut = sample.excluded.reduce((sum, e) => sum + e.count, 0);
  return plotPlan({
    title: 'Density of finds',
    subtitle: `Gaussian kernel, bandwidth ${short(bandwidth.sigmaM)} m (${ruleWords(answer)}), edge correction ${answer.edge}`,
    window: sample.window.rings.map(corners),
    bands: areas.map(({ level, region }) => ({ level, rings: region.rings.map(corners) })),
    bandName: 'density',
    bandUnit: 'm-2',
    points: corners(sample.xy),
    hull: sample.hull.flatMap((element) =>
      element.parts.map((part) => ({ closed: element.type === 'area', points: corners(part) })),
    ),
    ...(sample.mapAzimuthDeg === 0
      ? {}
      : { norths: [{ name: 'map_grid_north', fromSiteNorthDeg: -sample.mapAzimuthDeg }] }),
    notes: [
      `n ${n}${spreadFinds > 0 ? `, of them ${spreadFinds} spread over their square` : ''}${leftOut > 0 ? `; ${leftOut} left out` : ''}`,
      `window ${short(sample.windowAreaM2, 4)} m²: ${sample.windowSource}`,
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
    ],
  });
}

function ruleWords({ rule }: Pick<DensityAnswer, 'rule'>): string {
  switch (rule) {
    case 'metres':
      return 'as given';
    case 'scott':
      return "Scott's rule";
    case 'lcv':
      return 'likelihood cross-validation';
    case 'lscv':
      return 'least-squares cross-validation';
    case 'berman-diggle':
      return 'Berman and Diggle';
  }
}

const ruleSources: Readonly<Record<BandwidthRule, string>> = {
  scott: 'Scott 1992, doi:10.1002/9780470316849',
  lcv: 'Loader 1999, Local Regression and Likelihood',
  lscv: 'Rudemo 1982; Bowman 1984, doi:10.1093/biomet/71.2.353',
  'berman-diggle': 'Berman & Diggle 1989, Journal of the Royal Statistical Society B 51, 81–92',
};

const edgeWords: Readonly<Record<EdgeCorrection, string>> = {
  none: 'without edge correction, so that densities sink towards the trench edge',
  uniform:
    'divided at each place by the share of the kernel that falls inside the window (Diggle 1985, doi:10.2307/2347366)',
  'jones-diggle':
    'each find divided by the share of its own kernel that falls inside the window, so that the surface holds as many as were counted (Jones 1993, doi:10.1007/BF00147776)',
};

/** A paragraph for the methods section. */
export function methodsOf(answer: DensityAnswer): string {
  const { sample, bandwidth, rule, edge, n, views } = answer;
  const sentences = [
    `Density of ${n} finds per m² by a Gaussian kernel of standard deviation ${short(bandwidth.sigmaM, 4)} m, ${edgeWords[edge]}.`,
    rule === 'metres'
      ? 'The bandwidth was given.'
      : `The bandwidth was chosen by ${ruleWords(answer)}${rule === 'scott' ? ' (geometric mean of both axes)' : ' from the finds known by a point'} (${ruleSources[rule]})${bandwidth.atBoundary ? '; the criterion had no optimum inside the range searched, the end of the range was taken' : ''}.`,
    `Window: ${sample.windowSource}, ${short(sample.windowAreaM2, 5)} m²; nothing is said outside it.`,
    `The surface integrates to ${short(views[1].integral, 6)} over the window. It is drawn in cells of ${short(answer.cellM)} m along the map's axes, and read off a lattice of eight nodes to a bandwidth that strays from the full sum by less than 0.0002 of the peak; values at single places are the full sum.`,
    'Peaks are tops above half of the highest that stand a twentieth of the highest above the saddle to higher ground; they are counted at half, once and twice the bandwidth.',
  ];
  if (answer.spreadFinds > 0) {
    sentences.push(
      `${answer.spreadFinds} finds known only by square or area were spread evenly over it (${answer.subPoints} sub-points on regular lattices).`,
    );
  }
  if (sample.weight.some((w) => w !== 1)) {
    sentences.push(
      'Each position counts with its weight (pieces, vessels or grams, as chosen), so that the density is weight per m².',
    );
  }
  return sentences.join(' ');
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(answer: DensityAnswer): string[] {
  const { sample, bandwidth, rule, n, views, coincident } = answer;
  const out: string[] = [];
  const [half, own, double] = views;
  const counts = [half, own, double].map((view) => view?.peaks ?? null);
  if (n === 0) {
    return ['No find of this selection lies in the window: the density is 0 where it was dug, and unknown elsewhere.'];
  }
  out.push(
    counts.every((c) => c === own.peaks)
      ? `The bandwidth decides the picture; here ${own.peaks === 1 ? 'one peak stands' : `${own.peaks} peaks stand`} at half, once and twice the bandwidth.`
      : `The bandwidth decides the picture: ${half ? `${counts[0]} at half` : 'not drawn at half'}, ${counts[1]} at once and ${double ? counts[2] : 'none drawn'} at twice the bandwidth are the numbers of peaks. Only a peak that lasts is worth a sentence.`,
  );
  if (n < 20) out.push(`${n} finds: with fewer than 20 a peak may be one or two finds.`);
  if (bandwidth.atBoundary) {
    out.push(
      `The rule ${rule} found no best bandwidth in its range and stopped at its end, ${short(bandwidth.sigmaM)} m: the finds give it little to go by.`,
    );
  }
  if (coincident > 0)
    out.push(`${coincident} finds share their position with another one; they make a peak of their own.`);
  const sigma = medianKnown(sample.sigmaXy);
  if (sigma !== null && bandwidth.sigmaM < 3 * sigma) {
    out.push(
      `The bandwidth of ${short(bandwidth.sigmaM)} m is below three times the median standard deviation of the positions (${short(sigma)} m): smaller features are noise of the survey.`,
    );
  }
  if (answer.spreadFinds > 0 && 2 * answer.spreadFinds > n) {
    out.push(`${answer.spreadFinds} of ${n} finds are known by square only: detail inside a square is not observed.`);
  }
  if (answer.edge === 'none')
    out.push(
      'Without edge correction densities sink towards the trench edge and the surface holds fewer finds than were counted.',
    );
  if (half === null)
    out.push('Half the bandwidth needs more nodes than are drawn for a window of this size; it is left out.');
  if (answer.placesOutside > 0) {
    out.push(`${answer.placesOutside} of the places asked lie outside the window and have no density.`);
  }
  return out;
}

function medianKnown(values: Float64Array): number | null {
  const known = values.filter((v) => !Number.isNaN(v)).sort();
  if (known.length === 0) return null;
  const middle = known.length >> 1;
  return known.length % 2 === 1 ? known[middle] : (known[middle - 1] + known[middle]) / 2;
}
