import { type FeatureTable, numberColumn } from '../../domain/feature-table.js';
import { type CellFrame, framePlace } from '../../math/cell-frame.js';
import { type ContourArea, contourAreas } from '../../math/contour-areas.js';
import { type Region, regionArea, ringArea } from '../../math/rings.js';
import type { IntensitySurface } from './intensity.js';

/**
 * Areas between round levels of a density, cut at the window's edge.
 * @param most  levels at most; the step is a round number, so there may be fewer
 */
export function densityAreas(spec: {
  readonly surface: IntensitySurface;
  readonly window: Region;
  readonly peakPerM2: number;
  readonly most: number;
}): ContourArea[] {
  const { surface, window, peakPerM2, most } = spec;
  if (!(peakPerM2 > 0)) return [];
  const at = roundLevels(peakPerM2, most);
  const { frame, values } = withRing(surface);
  const field = {
    values,
    columns: frame.columns,
    rows: frame.rows,
    place: (column: number, row: number) => framePlace(frame, column, row),
  };
  return contourAreas(field, window, { at, highest: peakPerM2 });
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

/** One more ring of cells, holding its neighbours' values: lines then run on beyond the window until they are cut. */
function withRing({ frame, values }: IntensitySurface): { frame: CellFrame; values: Float64Array } {
  const columns = frame.columns + 2;
  const rows = frame.rows + 2;
  const wider = new Float64Array(columns * rows);
  for (let r = 0; r < rows; r++) {
    const from = Math.min(frame.rows - 1, Math.max(0, r - 1)) * frame.columns;
    for (let c = 0; c < columns; c++) {
      wider[r * columns + c] = values[from + Math.min(frame.columns - 1, Math.max(0, c - 1))];
    }
  }
  const corner: [number, number] = [
    frame.corner[0] - frame.columnStep[0] - frame.rowStep[0],
    frame.corner[1] - frame.columnStep[1] - frame.rowStep[1],
  ];
  return { frame: { ...frame, columns, rows, corner }, values: wider };
}

/** Contour areas as a layer: from, to and size of each. */
export function areasLayer(areas: readonly ContourArea[]): FeatureTable {
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
      { name: 'level_per_m2', title: 'Density from', type: 'number', unit: 'm-2' },
      { name: 'level_to_per_m2', title: 'Density to', type: 'number', unit: 'm-2' },
      { name: 'area_m2', title: 'Area', type: 'number', unit: 'm2' },
    ],
    columns: new Map([
      ['level_per_m2', numberColumn(areas.map((a) => a.level))],
      ['level_to_per_m2', numberColumn(areas.map((a) => a.levelTo))],
      ['area_m2', numberColumn(areas.map((a) => regionArea(a.region)))],
    ]),
    geometry: { type: 'area', coordinates, partStart, featureStart, hole },
    ids: Float64Array.from(areas, (_, k) => k + 1),
  };
}
