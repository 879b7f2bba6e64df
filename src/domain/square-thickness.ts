import { cellLattices, cellParts } from '../math/level-cells.js';
import { surfaceNodes } from '../math/level-nodes.js';
import { thicknessVolume } from '../math/thickness-volume.js';
import { type TileGrid, tileBox } from '../math/tiles.js';
import type { Sample } from './sample.js';

/** share of a square that must lie between nodes with top and bottom */
const leastMeasured = 0.75;

/**
 * Mean thickness of the deposit in each square with ground, from the top and bottom levelled in one season: bilinear
 * between nodes, meaned over the square.
 *
 * @param areaM2  [tiles] ground of the season
 * @returns       [tiles] metres; NaN where less than three quarters of the square are levelled top and bottom
 */
export function squareThickness(
  sample: Sample,
  of: { readonly season: string; readonly tiles: TileGrid; readonly areaM2: Float64Array },
): Float64Array {
  const means = new Float64Array(of.areaM2.length).fill(Number.NaN);
  const levels = seasonLevels(sample.levels, of.season);
  if (levels === null) return means;
  const nodes = surfaceNodes(levels, { surface: 'thickness', nodeValue: 'newest', seasons: [of.season] });
  const { lattices } = cellLattices(nodes, sample.grid?.node_spacing ?? null);
  for (let tile = 0; tile < means.length; tile++) {
    if (!(of.areaM2[tile] > 0)) continue;
    const [west, south, east, north] = tileBox(of.tiles, tile);
    const square = [west, south, east, south, east, north, west, north];
    for (const lattice of lattices) {
      const sums = thicknessVolume({ lattice, thickness: nodes.z }, cellParts(lattice, [square]));
      if (sums.measuredM2 >= leastMeasured * (east - west) * (north - south)) {
        means[tile] = sums.volumeM3 / sums.measuredM2;
        break;
      }
    }
  }
  return means;
}

/** Readings of one season; null when it did not level both surfaces at one place. */
function seasonLevels(levels: Sample['levels'], season: string): Sample['levels'] {
  if (levels === null) return null;
  const rows = levels.season.flatMap((s, i) => (s === season ? [i] : []));
  const placesOf = (surface: string) =>
    new Set(
      rows.flatMap((i) =>
        levels.surface[i] === surface && levels.state[i] !== 'set_aside' && Number.isFinite(levels.elevation[i])
          ? [`${Math.round(levels.x[i] * 1e4)} ${Math.round(levels.y[i] * 1e4)}`]
          : [],
      ),
    );
  const bottoms = placesOf('deposit_bottom');
  if (![...placesOf('deposit_top')].some((place) => bottoms.has(place))) return null;
  const numbers = (column: Float64Array) => Float64Array.from(rows, (i) => column[i]);
  const pick = <T>(column: readonly T[]) => rows.map((i) => column[i]);
  return {
    x: numbers(levels.x),
    y: numbers(levels.y),
    elevation: numbers(levels.elevation),
    sigma: numbers(levels.sigma),
    surface: pick(levels.surface),
    season: pick(levels.season),
    node: pick(levels.node),
    series: pick(levels.series),
    state: pick(levels.state),
  };
}
