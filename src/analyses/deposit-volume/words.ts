import type { Sample } from '../../domain/sample.js';
import { fixedText, numberText } from '../../figures/axes.js';
import { generatorName } from '../../math/random.js';
import type { RunControl } from '../contract.js';
import { sigmaWhenUnstatedM } from './chosen-levels.js';
import type { MeasuredGround } from './measured-ground.js';
import type { Parameters, Summary } from './schemas.js';

const short = (value: number) => numberText(value, { digits: 4 });

/** The paragraph for a methods section. */
export function methodsOf(
  summary: Summary,
  context: { sample: Sample; own: Parameters; unstatedSigmas: number; control: RunControl },
): string {
  const { sample, own, control } = context;
  const ground =
    sample.window.rings.length > 0
      ? `inside the window of ${short(sample.windowAreaM2)} m² (${sample.windowSource})`
      : 'over all squares of the level file (no window)';
  const random =
    own.sigma_random_m === null
      ? `each reading's stated error${context.unstatedSigmas > 0 ? ` (${sigmaWhenUnstatedM} m where none is stated)` : ''}`
      : `${own.sigma_random_m} m a reading`;
  const shared =
    own.shared_error === 'cancels'
      ? 'An error shared by all levels is taken to be the same for top and bottom and to cancel.'
      : `An error shared by all levels of one surface against the other (datum, tide), σ ${own.sigma_shared_m} m, enters as σ × area, one shift for all ground.`;
  const seasons =
    own.node_value === 'newest'
      ? 'of several seasons at a node the newest with both surfaces'
      : 'of several seasons at a node their mean';
  const sentences = [
    `Volume between ${own.top} and ${own.bottom} at ${summary.n} nodes ${numberText(summary.column_step_m)} × ${numberText(summary.row_step_m)} m apart, ${ground}: bilinear squares, area × mean of four corner thicknesses (Bannister, Raymond & Baker 1998), part squares by the exact integral, split where the thickness is zero; ${summary.area_m2 > 0 ? short(summary.area_m2) : 'no'} m² measured, ${short(summary.unmeasured_m2)} m² without four nodes left out.`,
    `Readings of one node and season are averaged; ${seasons}; a season's own volume rests on its own levels where it has both.`,
    `Random error from ${random}, node by node with the ground each stands for; 95 % interval ± 1.96 σ. ${shared} (Lane, Westaway & Hicks 2003; Wheaton et al. 2010.)`,
  ];
  if (summary.keel) {
    sentences.push(
      `Thickness against distance from the keel: means of strips ${own.keel_bin_m} m wide of nodes abreast of the axis; 95 % band from ${control.simulations} draws of whole blocks of ${own.keel_block_m} m along the keel (Künsch 1989), seed ${control.seed}, generator ${generatorName}.`,
    );
  }
  if (summary.bathymetry) {
    sentences.push(
      `Bathymetry (${summary.bathymetry.vertical_datum}, ${summary.bathymetry.uncertainty}) against thickness at ${summary.bathymetry.n} nodes: heights above the plane through the bathymetry there, Spearman’s rank correlation (1904); highs are heights above the 95 % error of a sounding.`,
    );
  }
  return sentences.join(' ');
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(
  summary: Summary,
  context: { sample: Sample; own: Parameters; ground: MeasuredGround; unstatedSigmas: number },
): string[] {
  const { ground, own, sample } = context;
  const { nodes } = ground;
  const out: string[] = [];
  if (summary.squares === 0) out.push('No square has all four nodes levelled top and bottom: there is no volume.');
  if (summary.unmeasured_m2 > 0.005) {
    out.push(
      `${short(summary.unmeasured_m2)} m² have no volume because a node lacks its top or bottom; nothing is filled in, and the ground missed need not be like the ground measured${summary.whole_estimate ? ` (whole_estimate supposes it is: ${fixedText(summary.whole_estimate.volume_m3, 1)} ± ${fixedText(summary.whole_estimate.sigma_m3, 1)} m³)` : ''}.`,
    );
  }
  if (summary.inverted_nodes > 0) {
    out.push(
      `${summary.inverted_nodes} ${summary.inverted_nodes === 1 ? 'node has' : 'nodes have'} the bottom above the top (negative volume ${fixedText(summary.negative_m3, 3)} m³): swapped readings or another datum; they are used as written.`,
    );
  }
  if (nodes.mixedSeasons > 0) {
    out.push(
      `At ${nodes.mixedSeasons} nodes top and bottom come from different seasons: a shift of datum between them goes into the thickness.`,
    );
  }
  if (nodes.repeated > 0) {
    out.push(
      `${nodes.repeated} nodes were levelled more than once in the season used; their readings differ by up to ${fixedText(nodes.largestSpreadM, 3)} m and are averaged.`,
    );
  }
  if (nodes.setAside > 0) out.push(`${nodes.setAside} readings that were set aside are not used.`);
  if (ground.beside > 0) out.push(`${ground.beside} places with both levels lie between the nodes and are not used.`);
  if (ground.layers.length > 1) {
    out.push(
      `The levels lie on ${ground.layers.length} grids of nodes; the ground each season dug is measured on its own grid.`,
    );
  }
  if (context.unstatedSigmas > 0) {
    out.push(`${context.unstatedSigmas} readings state no error; ${sigmaWhenUnstatedM} m is supposed.`);
  }
  out.push(
    own.shared_error === 'cancels'
      ? 'The shared error is left out because top and bottom are said to share it; where they were levelled on different days or marks, ask for shared_error = separate.'
      : `The shared error of ${own.sigma_shared_m} m moves all ground one way; where top and bottom were levelled from one mark on one day it cancels (shared_error = cancels).`,
  );
  if (summary.left_m3 !== 0) {
    out.push('What is left in part-dug squares is their volume times the share not dug, not a measured volume.');
  }
  if (
    summary.undug &&
    summary.undug.estimate_m3 !== null &&
    summary.undug.measured_m2 < summary.undug.area_m2 - 0.005
  ) {
    out.push(
      `Ground planned or opened and not dug (${short(summary.undug.area_m2)} m²) is guessed at ${fixedText(summary.undug.estimate_m3, 1)} m³${summary.undug.sigma_m3 === null ? '' : ` ± ${fixedText(summary.undug.sigma_m3, 1)}`}: ${short(summary.undug.measured_m2)} m² of it are levelled top and bottom, the rest is supposed to be as thick as the ground measured.`,
    );
  }
  out.push(...bathymetryCautions(summary.bathymetry));
  if (summary.keel?.strips.every((s) => s.low_m === null)) {
    out.push('No band is given for thickness beside the keel: too few blocks, or no draws.');
  }
  if (summary.keel && sample.shipAxis?.bowEnd === 'unresolved') {
    out.push('Which end is the bow is not resolved: port and starboard may be the wrong way round.');
  }
  return out;
}

function bathymetryCautions(bathymetry: Summary['bathymetry']): string[] {
  if (bathymetry === null) return [];
  const { rank_correlation: rho, survey_sigma_m: survey, thickness_sigma_m: level } = bathymetry;
  const errors = `σ of the bathymetry ${fixedText(survey, 2)} m, of the thickness ${fixedText(level, 3)} m`;
  if (bathymetry.relief_sd_m <= survey) {
    return [
      `At the nodes the bathymetry varies by ${fixedText(bathymetry.relief_sd_m, 2)} m about its plane, no more than its own error (${errors}): it cannot tell where the deposit is thick.`,
    ];
  }
  const on = bathymetry.mean_thickness_on_highs_m;
  const elsewhere = bathymetry.mean_thickness_elsewhere_m;
  const means =
    on === null || elsewhere === null
      ? ''
      : `; ${bathymetry.highs} nodes on its highs have ${fixedText(on, 2)} m on average, the others ${fixedText(elsewhere, 2)} m`;
  return [
    `Highs of the bathymetry and thick deposit ${rho === null ? 'cannot be compared' : `agree with a rank correlation of ${fixedText(rho, 2)}`} at ${bathymetry.n} nodes (${errors})${means}.`,
  ];
}
