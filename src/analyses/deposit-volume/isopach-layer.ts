import { tableOf as featuresOf, shapes } from '../../domain/columns.js';
import type { FeatureTable } from '../../domain/feature-table.js';
import { fixedText, stepDecimals } from '../../figures/axes.js';
import { isobands, isolines } from '../../math/isolines.js';
import { regionPolygons } from '../../math/overlay.js';
import { ringArea } from '../../math/rings.js';
import type { MeasuredGround } from './measured-ground.js';
import type { Summary } from './schemas.js';
import { thicknessMesh } from './thickness-field.js';

/** The measured ground, its isopachs, and what was taken off all coordinates. */
export interface IsopachDrawing {
  readonly report: { readonly ground: MeasuredGround };
  readonly summary: Pick<Summary, 'isopachs' | 'isopach_interval_m'>;
  readonly shift: readonly [number, number];
}

const thickness = (name: string, title: string) => ({ name, title, type: 'number' as const, unit: 'm' });

/** Ground between neighbouring isopachs, one feature for each patch, the thinnest first. */
export function isopachAreas({ report, summary, shift }: IsopachDrawing): FeatureTable {
  const levels = summary.isopachs.map((isopach) => isopach.level_m);
  const patches = isobands(thicknessMesh(report.ground), levels).flatMap(({ level, rings }, k) =>
    regionPolygons({ rings }).map((polygon) => {
      const parts = polygon.map((ring, part) => ({
        ring: Float64Array.from(ring.slice(0, -1).flat(), (v, i) => v + shift[i % 2]),
        ...(part === 0 ? {} : { hole: true as const }),
      }));
      return { level, upper: levels[k + 1] ?? null, parts };
    }),
  );
  return featuresOf({
    name: 'isopach-areas',
    fields: [
      thickness('thickness_from_m', 'Thickness at least'),
      thickness('thickness_to_m', 'Thickness below; none = the thickest ground'),
      { name: 'area_m2', title: 'Area of the patch as drawn', type: 'number', unit: 'm2' },
    ],
    rows: patches.map(({ level, upper, parts }) => ({
      thickness_from_m: level,
      thickness_to_m: upper,
      area_m2: parts.reduce((sum, { ring }) => sum + ringArea(ring), 0),
    })),
    geometry: shapes(
      'area',
      patches.map(({ parts }) => parts),
    ),
  });
}

/** Lines of equal thickness, the thinnest first. */
export function isopachLines({ report, summary, shift }: IsopachDrawing): FeatureTable {
  const levels = summary.isopachs.map((isopach) => isopach.level_m);
  const lines = isolines(thicknessMesh(report.ground), levels);
  return featuresOf({
    name: 'isopach-lines',
    fields: [thickness('thickness_m', 'Thickness'), { name: 'label', title: 'Label', type: 'text' }],
    rows: lines.map(({ level }) => ({
      thickness_m: level,
      label: fixedText(level, Math.min(6, stepDecimals(summary.isopach_interval_m))),
    })),
    geometry: shapes(
      'line',
      lines.map(({ points }) => [{ ring: points.map((v, i) => v + shift[i % 2]) }]),
    ),
  });
}
