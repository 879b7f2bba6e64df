import { type FeatureTable, numberColumn } from '../../domain/feature-table.js';
import { type ContourArea, contourAreas } from '../../math/contour-areas.js';
import { contourField } from '../../math/contour-field.js';
import { type Region, regionArea, ringArea } from '../../math/rings.js';
import type { IntensitySurface } from './intensity.js';

/**
 * Areas between round levels of a density, cut at the window's edge.
 * @param most  levels at most; the step is a round number, so there may be fewer
 */
export function densityAreas(spec: {
  readonly surface: IntensitySurface;
  readonly window: Region;
  readonly peak: number;
  readonly most: number;
}): ContourArea[] {
  const { surface, window, peak, most } = spec;
  if (!(peak > 0)) return [];
  const at = roundLevels(peak, most);
  return contourAreas(contourField(surface.frame, surface.values), window, { at, highest: peak });
}

const roundSteps = [1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10];

/** Levels in equal round steps from one step up to below the peak, at most so many. */
function roundLevels(peak: number, most: number): number[] {
  const least = peak / (most + 1);
  const power = 10 ** Math.floor(Math.log10(least));
  const step = power * (roundSteps.find((s) => s * power >= least) ?? 10);
  const at: number[] = [];
  for (let k = 1; k <= most && k * step < peak * (1 - 1e-9); k++) at.push(Number((k * step).toPrecision(12)));
  return at;
}

/** Contour areas as a layer: from, to and size of each. @param per  what the density is counted by */
export function areasLayer(areas: readonly ContourArea[], per: 'm2' | 'm3'): FeatureTable {
  const [from, to, unit] = [`level_per_${per}`, `level_to_per_${per}`, per === 'm2' ? 'm-2' : 'm-3'];
  const rings = areas.flatMap(({ region }) => region.rings);
  const coordinates = new Float64Array(rings.reduce((sum, ring) => sum + ring.length, 0));
  const partStart = new Uint32Array(rings.length + 1);
  const hole = new Uint8Array(rings.length);
  let corner = 0;
  rings.forEach((ring, part) => {
    coordinates.set(ring, 2 * corner);
    corner += ring.length / 2;
    partStart[part + 1] = corner;
    hole[part] = ringArea(ring) < 0 ? 1 : 0;
  });
  const featureStart = new Uint32Array(areas.length + 1);
  areas.forEach(({ region }, k) => {
    featureStart[k + 1] = featureStart[k] + region.rings.length;
  });
  return {
    name: 'density-areas',
    length: areas.length,
    fields: [
      { name: from, title: 'Density from', type: 'number', unit },
      { name: to, title: 'Density to', type: 'number', unit },
      { name: 'area_m2', title: 'Area', type: 'number', unit: 'm2' },
    ],
    columns: new Map([
      [from, numberColumn(areas.map((a) => a.level))],
      [to, numberColumn(areas.map((a) => a.levelTo))],
      ['area_m2', numberColumn(areas.map((a) => regionArea(a.region)))],
    ]),
    geometry: { type: 'area', coordinates, partStart, featureStart, hole },
    ids: Float64Array.from(areas, (_, k) => k + 1),
  };
}
