import { meshOfFrame } from '../../math/cell-mesh.js';
import { widerCells } from '../../math/cell-raster.js';
import { isolines } from '../../math/isolines.js';
import { niceStep, roundStepFrom } from '../../math/round-steps.js';
import { contourLevels } from '../../math/surface-grid.js';
import { sigmasOf95 } from '../../math/vertical-uncertainty.js';
import { type Bathymetry, combinedSigmaM, surveySigmaM, wayIntoGrid } from '../bathymetry.js';
import { shapes, tableOf } from '../columns.js';
import { projectionOf } from '../crs.js';
import type { FeatureTable } from '../feature-table.js';
import type { Field } from '../fields.js';
import type { Survey } from '../survey.js';
import { lineFields, linesTable, metres, rounded, word } from './contour-lines.js';

const errorFields: readonly Field[] = [
  word('vertical_datum', 'Vertical datum of the elevations, up-positive'),
  word('uncertainty', 'Error of the survey, as stated'),
  metres('sigma_m', 'Standard deviation of a value of the survey'),
  metres('offset_to_site_datum_m', 'Elevation of the site zero in that datum: take it off to come to the site datum'),
  metres('combined_sigma_m', 'Standard deviation once brought to the site datum: survey and tie together'),
];

function errorsAt(bathymetry: Bathymetry, elevationM: number) {
  const sigma = surveySigmaM(bathymetry.error, elevationM);
  const known = (v: number) => (Number.isNaN(v) ? null : rounded(v));
  return {
    vertical_datum: bathymetry.verticalDatum,
    uncertainty: bathymetry.errorInWords,
    sigma_m: known(sigma),
    offset_to_site_datum_m: bathymetry.tie?.offsetM ?? null,
    combined_sigma_m: bathymetry.tie === null ? null : known(combinedSigmaM(bathymetry, sigma)),
  };
}

/** The box of the bathymetry: the one polygon its collection answers beside the coverage. */
export function bathymetryFootprint(survey: Survey): FeatureTable | null {
  const surface = survey.surfaces.find(({ id }) => id === 'bathymetry');
  const { bathymetry, frame } = survey;
  if (!surface || !bathymetry) return null;
  const toGrid = wayIntoGrid(frame, projectionOf(surface.crs));
  const [west, south, east, north] = surface.projectedBox;
  const corners = [
    [west, south],
    [east, south],
    [east, north],
    [west, north],
  ].flatMap(([e, n]) => toGrid(e, n));
  return tableOf({
    name: surface.id,
    fields: [
      word('title', 'Surface'),
      word('unit', 'Unit of its values'),
      word('note', 'Vertical datum, sign, uncertainty, licence'),
      ...errorFields,
    ],
    rows: [
      {
        title: surface.title,
        unit: surface.unit,
        note: surface.note,
        // the error of an order grows with depth: told for the depth of the site
        ...errorsAt(bathymetry, bathymetry.tie?.offsetM ?? Number.NaN),
      },
    ],
    geometry: shapes('area', [[{ ring: Float64Array.from(corners) }]]),
  });
}

export const bathymetryContourFields = lineFields(metres('elevation_m', 'Elevation'), [
  metres('cell_m', 'Side of the cells the line was drawn through'),
  ...errorFields,
]);

/** lines through more cells than this show the noise of the sounder, not the ground */
const mostCellsDrawn = 40_000;

/**
 * Lines of equal elevation of the bathymetry in its own vertical datum. Drawn through means of neighbouring cells where
 * there are many, and never closer than the 95 % error of a value: lines nearer to each other would say nothing.
 */
export function bathymetryContours({ bathymetry }: Survey): FeatureTable {
  if (!bathymetry) throw new Error('contours of a bathymetry that is not there');
  const all = bathymetry.cells();
  const cells = widerCells(all, Math.ceil(Math.sqrt((all.columns * all.rows) / mostCellsDrawn)));
  const values = Float64Array.from(cells.values);
  let low = Infinity;
  let high = -Infinity;
  for (const v of values) {
    if (v < low) low = v;
    if (v > high) high = v;
  }
  const error95 = low <= high ? sigmasOf95 * surveySigmaM(bathymetry.error, (low + high) / 2) : 0;
  const intervalM = low < high ? Math.max(niceStep(high - low, 20), roundStepFrom(error95)) : 1;
  const levels = contourLevels(values, intervalM);
  const cellM = rounded(Math.hypot(...cells.columnStep));
  return linesTable('bathymetry-contours', {
    fields: bathymetryContourFields,
    contours: isolines(meshOfFrame(cells, values), levels),
    intervalM,
    row: (level) => ({ elevation_m: level, cell_m: cellM, ...errorsAt(bathymetry, level) }),
  });
}

/** The box of the bathymetry in metres of the first grid, [8]. */
export function bathymetryReach(survey: Survey): Float64Array {
  return survey.collection('bathymetry')?.geometry?.coordinates ?? new Float64Array(0);
}
