import type { Sample } from '../../domain/sample.js';
import type { SurfaceNodes } from '../../math/level-nodes.js';
import type { Parameters, Summary } from './schemas.js';

/** What the sentences speak about beside the summary. */
export interface Context {
  readonly sample: Sample;
  readonly nodes: SurfaceNodes;
  readonly own: Parameters;
}

const shown = (value: number, digits = 4) => String(Number(value.toPrecision(digits)));

/** The paragraph for a methods section. */
export function methodsOf(summary: Summary, { sample, nodes, own }: Context): string {
  const seasons = summary.seasons.filter((s) => s !== '');
  const rule =
    summary.node_value === 'newest'
      ? 'of several seasons at a node the newest counts'
      : 'of several seasons at a node the mean counts, each season alike';
  const sentences = [
    `Surface ${summary.surface} from ${summary.readings} level readings at ${summary.n} nodes${seasons.length > 0 ? ` (seasons ${seasons.join(', ')})` : ''}: readings of one node and season are averaged, ${rule}${nodes.setAside > 0 ? `; ${nodes.setAside} readings set aside do not count` : ''}.`,
  ];
  if (summary.surface === 'thickness') {
    sentences.push(
      `Thickness is vertical: deposit_top less deposit_bottom at the same node and season${nodes.mixedSeasons > 0 ? `; at ${nodes.mixedSeasons} nodes no season has both and two seasons were compared` : ''}.`,
    );
  }
  sentences.push(methodSentence(summary, own));
  if (summary.cell_m !== null) {
    sentences.push(
      `The raster has cells of ${shown(summary.cell_m)} m along ${own.cells_along === 'site_grid' ? 'the site grid' : 'the map’s axes'}; ${maskWords(own.mask, summary)}, ${shown(summary.area_m2 ?? 0, 5)} m² in all; contours every ${shown(summary.contour_interval_m ?? 0)} m cross the sides of ${summary.method === 'inverse-distance' || summary.method === 'ordinary-kriging' ? 'the raster’s cells' : 'the squares or triangles'} where the straight line between two values has the level.`,
    );
  }
  sentences.push(
    `Dug area of the selection: ${shown(sample.windowAreaM2, 5)} m², ${sample.windowSource}. Elevations are up-positive in the site datum.`,
  );
  return sentences.join(' ');
}

function methodSentence(summary: Summary, own: Parameters): string {
  switch (summary.method) {
    case 'bilinear':
      return `Between the four nodes of a square bilinearly (Press et al. 2007, section 3.6: exact at nodes, straight along grid lines); a square with a missing corner has ${own.missing_corner === 'none' ? 'no value' : 'the plane of its three nodes, inside their triangle only'}. σ is what the random errors of the nodes carry over.`;
    case 'tin':
      return 'Linear in the triangles of a Delaunay triangulation (1934), squares of the grid always cut from south-west to north-east. σ is what the random errors of the nodes carry over.';
    case 'inverse-distance':
      return `Inverse-distance weighting (Shepard 1968), power ${shown(own.exponent)}, ${own.neighbours === null ? 'all nodes' : `the nearest ${own.neighbours} nodes, ties included`}. σ is what the random errors of the nodes carry over, not the error of the guess between them.`;
    case 'ordinary-kriging': {
      const v = summary.variogram;
      if (v === null) return '';
      const fit =
        v.fitted.length === 0
          ? 'all given'
          : `${v.fitted.join(', ')} fitted by least squares to ${v.bins.length} distance classes (Matheron 1963) with weights pairs / distance² (Cressie 1985), sum ${shown(v.sse)}`;
      return `Ordinary kriging with all nodes (Matheron 1963; Cressie 1993), ${v.model} variogram with nugget ${shown(v.nugget)} m², partial sill ${shown(v.sill)} m², range parameter ${shown(v.range)} m (${fit}); γ(0) = 0, so nodes are given back. σ is the kriging standard deviation.${summary.leave_one_out ? ' Leave-one-out from one factorisation (Dubrule 1983).' : ''}`;
    }
  }
}

function maskWords(mask: Parameters['mask'], summary: Summary): string {
  const base =
    summary.node_spacing_m === null
      ? 'values within the outline of the levels'
      : 'values in squares with at least three nodes';
  if (mask === 'three_nodes') return base;
  return mask === 'window' ? `${base} that were dug` : 'values as far as the method reaches';
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(summary: Summary, { nodes, own }: Context): string[] {
  const out: string[] = [];
  if (summary.n < 4) {
    out.push(
      `${summary.n === 1 ? 'One node is' : `${summary.n} nodes are`} too few to tell a surface from its errors.`,
    );
  }
  if (summary.seasons.length > 1) {
    out.push(
      `Levels of ${summary.seasons.length} seasons are joined (${summary.node_value === 'newest' ? 'newest at each node' : 'their mean'}): a datum or tide error of one season shows as a step along its squares.`,
    );
  }
  if (nodes.repeated > 0) {
    out.push(
      `${nodes.repeated} nodes were levelled more than once in a season and averaged; their readings differ by up to ${shown(nodes.largestSpreadM, 2)} m.`,
    );
  }
  if (nodes.mixedSeasons > 0) {
    out.push(
      `At ${nodes.mixedSeasons} nodes top and bottom come from different seasons: their datum errors do not cancel.`,
    );
  }
  if (summary.surface === 'thickness') {
    const inverted = nodes.z.filter((z) => z < 0).length;
    if (inverted > 0) out.push(`${inverted} nodes have their bottom above their top; they are left as recorded.`);
  }
  if (nodes.sigma.some((s) => Number.isNaN(s)) && summary.method !== 'ordinary-kriging') {
    out.push('Some levels have no stated standard deviation: where they count, σ is not known.');
  }
  if ((summary.missing_nodes ?? 0) > 0) {
    out.push(
      `${summary.missing_nodes} nodes are missing beside ${summary.squares_three_nodes} squares with three of four${summary.method === 'bilinear' ? (own.missing_corner === 'none' ? ', which have no value' : ', which have a value in one half') : ''}.`,
    );
  }
  if (summary.beside_grid > 0 && summary.method === 'bilinear') {
    out.push(`${summary.beside_grid} levels lie beside every grid and are not used.`);
  }
  if ((summary.area_beyond_nodes_m2 ?? 0) > 0) {
    out.push(
      `${shown(summary.area_beyond_nodes_m2 ?? 0, 3)} m² of the surface lie beyond the ground that was levelled (beyond_nodes in the contours, the last band of the raster): there it is the method that speaks.`,
    );
  }
  const unanswered = summary.prediction.filter((v) => v === null).length;
  if (unanswered > 0)
    out.push(`${unanswered} of the places asked lie where the method ${summary.method} has no value.`);
  out.push(...krigingCautions(summary));
  return out;
}

function krigingCautions({ variogram, leave_one_out: left, n, method }: Summary): string[] {
  const out: string[] = [];
  if (method === 'inverse-distance') {
    out.push('Inverse distance has no variance: judge it by its leave-one-out errors.');
  }
  if (variogram === null) return out;
  if (variogram.fitted.length > 0 && n < 50) {
    out.push(`The variogram is fitted to ${n} nodes: with fewer than about 50 its parameters are a guess.`);
  }
  if (variogram.range_at_boundary) {
    out.push(
      'The fitted range ran to the end of what was searched: the levels go on becoming less alike as far as they reach, as on a slope. Compare a trend-surface, or give a range.',
    );
  }
  if (
    variogram.model === 'gaussian' &&
    variogram.fitted.includes('nugget') &&
    variogram.nugget <= 1.01e-6 * variogram.sill
  ) {
    out.push('The Gaussian model was fitted with the least nugget it can be solved with, a millionth of its sill.');
  }
  const ratio = left?.rms_standardised ?? null;
  if (ratio !== null && n >= 20 && (ratio > 1.3 || ratio < 0.7)) {
    out.push(
      `Leave-one-out errors are ${shown(ratio, 2)} times as large as their predicted standard deviations: the kriging variances are too ${ratio > 1 ? 'small' : 'large'}.`,
    );
  }
  return out;
}
