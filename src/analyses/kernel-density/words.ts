import type { EdgeCorrection } from '../../math/kernels.js';
import { median } from '../../math/quantiles.js';
import type { DensityAnswer } from './answer.js';
import type { BandwidthRule } from './bandwidth-rule.js';
import type { IntensityView } from './intensity.js';

const short = (value: number, digits = 3): string => Number(value.toPrecision(digits)).toString();

/** How a bandwidth was found, in words. */
export function ruleWords(rule: BandwidthRule | 'metres'): string {
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
  const { sample, bandwidth, rule, own, n, views } = answer;
  const { kernels } = views[1];
  const sentences = [
    `Density of ${n} finds per m² by a Gaussian kernel of standard deviation ${short(bandwidth.sigmaM, 4)} m, ${edgeWords[own.edge]}.`,
    rule === 'metres'
      ? 'The bandwidth was given.'
      : `The bandwidth was chosen by ${ruleWords(rule)}${rule === 'scott' ? ' (geometric mean of both axes)' : ' from the finds known by a point'} (${ruleSources[rule]})${bandwidth.atBoundary ? '; the criterion had no optimum inside the range searched, the end of the range was taken' : ''}.`,
    `Window: ${sample.windowSource}, ${short(sample.windowAreaM2, 5)} m²; nothing is said outside it.`,
    kernels ? adaptiveWords(answer, kernels) : '',
    `The surface${own.per === 'm3' ? ' per m²' : ''} integrates to ${short(views[1].integral, 6)} over the window. It is drawn in cells of ${short(answer.cellM)} m along the map's axes, and ${kernels ? 'summed directly with kernels cut at eight bandwidths' : 'read off a lattice of eight nodes to a bandwidth that strays from the full sum by less than 0.0002 of the peak'}; values at single places are the full sum.`,
    'Peaks are tops above half of the highest that stand a twentieth of the highest above the saddle to higher ground; they are counted at half, once and twice the bandwidth. A peak persists when both other bandwidths have a top of its own (above a tenth of their highest) within two of the wider bandwidth, the distance at which two heaps melt into one.',
    answer.volume
      ? `Finds per m³: the density per m² divided by the thickness of the deposit at the place, the oldest top levelled in the seasons chosen less the newest bottom, bilinear between nodes; no value where the thickness is below three standard deviations of its random error (readings without one: ${short(own.level_sigma_m)} m). ${short(answer.volume.area_m2, 4)} m² with ${short(answer.volume.volume_m3, 4)} m³ have a value.`
      : '',
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
  return sentences.filter((sentence) => sentence !== '').join(' ');
}

function adaptiveWords({ bandwidth }: DensityAnswer, kernels: NonNullable<IntensityView['kernels']>): string {
  return `Each find has a kernel of its own, in inverse proportion to the square root of a pilot density at the find (fixed bandwidth ${short(bandwidth.sigmaM, 4)} m, uniform edge correction, the find itself counted), with the pilot's bandwidth as geometric mean and held at five times the middle one (Abramson 1982, doi:10.1214/aos/1176345986; Davies & Hazelton 2010, doi:10.1002/sim.3995): ${short(kernels.smallestM)} to ${short(kernels.largestM)} m, middle ${short(kernels.medianM)} m. Edges are corrected with the find's own bandwidth.`;
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(answer: DensityAnswer): string[] {
  const { sample, bandwidth, rule, n, views, coincident, own: asked } = answer;
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
  if (own.peaks > 0) out.push(persistenceWords(answer));
  if (n < 20) out.push(`${n} finds: with fewer than 20 a peak may be one or two finds.`);
  if (bandwidth.atBoundary) {
    out.push(
      `The rule ${rule} found no best bandwidth in its range and stopped at its end, ${short(bandwidth.sigmaM)} m: the finds give it little to go by.`,
    );
  }
  if (coincident > 0)
    out.push(`${coincident} finds share their position with another one; they make a peak of their own.`);
  const sigma = median(sample.sigmaXy.filter((v) => !Number.isNaN(v)));
  if (sigma !== null && bandwidth.sigmaM < 3 * sigma) {
    out.push(
      `The bandwidth of ${short(bandwidth.sigmaM)} m is below three times the median standard deviation of the positions (${short(sigma)} m): smaller features are noise of the survey.`,
    );
  }
  if (answer.spreadFinds > 0 && 2 * answer.spreadFinds > n) {
    out.push(`${answer.spreadFinds} of ${n} finds are known by square only: detail inside a square is not observed.`);
  }
  if (asked.edge === 'none')
    out.push(
      'Without edge correction densities sink towards the trench edge and the surface holds fewer finds than were counted.',
    );
  if (half === null)
    out.push('Half the bandwidth needs more nodes than are drawn for a window of this size; it is left out.');
  out.push(...adaptiveCautions(answer, sigma), ...volumeCautions(answer));
  if (answer.placesOutside > 0) {
    out.push(`${answer.placesOutside} of the places asked lie outside the window and have no density.`);
  }
  return out;
}

function persistenceWords({ peaks }: DensityAnswer): string {
  const known = peaks.filter((peak) => peak.persists !== null);
  if (known.length === 0) return 'Whether a peak persists is not known: half or double the bandwidth was not drawn.';
  const lasting = known.filter((peak) => peak.persists);
  const places = lasting.slice(0, 4).map((peak) => `(${peak.x_m.toFixed(1)}, ${peak.y_m.toFixed(1)})`);
  const which = places.length === 0 ? '' : `: at ${places.join(', ')}${lasting.length > 4 ? ' …' : ''} in local metres`;
  return `${lasting.length} of ${known.length} peaks persist over half, once and twice the bandwidth${which}.`;
}

function adaptiveCautions({ views, sample }: DensityAnswer, sigma: number | null): string[] {
  const { kernels } = views[1];
  if (!kernels) return [];
  const out = [
    'Adaptive kernels sharpen heaps and flatten what is sparse: a height can be compared with a fixed density only through the finds it holds.',
  ];
  if (kernels.capped > 0) {
    out.push(
      `${kernels.capped} finds lie so far from most others that their kernel was held at five times the middle one.`,
    );
  }
  const blurred = sigma === null ? 0 : kernels.sigmaM.filter((h) => h < 3 * sigma).length;
  if (sigma !== null && blurred > 0) {
    out.push(
      `${blurred} of ${kernels.sigmaM.length} kernels are narrower than three times the median position error (${short(sigma)} m): the tops they make may be noise of the survey.`,
    );
  }
  if (sample.areas.length > 0)
    out.push('Finds spread over a square widen their own kernels: the square looks thinner than it is.');
  return out;
}

function volumeCautions({ volume, sample }: DensityAnswer): string[] {
  if (!volume) return [];
  const share = (area: number) => `${((100 * area) / sample.windowAreaM2).toFixed(0)} %`;
  const out = [
    'Finds per m³ rise where the deposit is thin: a thickness known to a third of itself makes the value uncertain by as much. Read it beside finds per m².',
  ];
  const blank = volume.thin_area_m2 + volume.unknown_area_m2;
  if (blank > 0.005 * sample.windowAreaM2) {
    out.push(
      `${share(blank)} of the window is blank: ${share(volume.thin_area_m2)} too thin for its error, ${share(volume.unknown_area_m2)} not levelled at top and bottom.`,
    );
  }
  if (sample.dug.some((area) => area.dugFraction < 1 || area.progress === 'part_dug')) {
    out.push(
      'Some ground was not dug down to the deposit bottom: the thickness counts what is still there, so finds per m³ are too low.',
    );
  }
  return out;
}
