import type { Sample } from '../../domain/sample.js';
import { plotNetwork } from '../../figures/network-plot.js';
import type { Scene } from '../../figures/scene.js';
import { halfCircle } from '../../math/norths.js';
import { Problem } from '../../problems.js';
import { type Answer, defineAnalysis } from '../contract.js';
import { fitGrid } from './fit-grid.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { type ComparedPoint, comparedPoints, pointsLayer, tableOf } from './table.js';
import { answerLine, cautionsOf, methodsOf } from './words.js';
import { worked } from './worked.js';

export default defineAnalysis({
  id: 'grid-fit',
  title: 'Grid fit',
  version: '2',
  summary:
    'How does the site grid lie on the map, and a grid laid anew to the one before; do scale, handedness and norths hold?',
  cautions: [
    'Two common points always fit exactly: without a third nothing is checked.',
    'A taped grid has scale 1, the map its point scale; a scale away from both means stretched tapes or wrong points.',
    'A grid tied to the map by one fix of metre order swamps its own centimetres: keep relative and absolute accuracy apart.',
    'Common points in one line fit mirrored as well as straight.',
    'Magnetic bearings near iron are not magnetic_north.',
  ],
  formula:
    'E = a x − b y + tx, N = b x + a y + ty, a = s cos θ, b = s sin θ; about the means: a = Σ(xE + yN) / Σ(x² + y²), b = Σ(xN − yE) / Σ(x² + y²); s0² = Σv² / (2n − 4). Convergence γ: azimuth from map_grid_north = azimuth from true_north − γ.',
  sources: [
    'Wolf & Ghilani 1997, Adjustment Computations, 3rd edition, New York, chapter 18',
    'IOGP Geomatics Guidance Note 7-2, similarity transformation, EPSG method 9621',
    'Krüger 1912, Konforme Abbildung des Erdellipsoids in der Ebene, doi:10.2312/GFZ.b103-krueger28',
    'Karney 2011, Journal of Geodesy 85, 475–485, doi:10.1007/s00190-011-0445-3',
  ],
  parameters,
  result,
  layers: { features: 'point' },
  squareOnly: 'exclude',
  spreadsItself: true,
  withoutEffect: [
    'season',
    'artefact_class',
    'identified_as_of',
    'window',
    'count_unit',
    'spot',
    'square_only',
    'draws',
    'simulations',
    'seed',
  ],
  needsWindow: false,
  defaultSimulations: 0,
  worked,
  laws: { movedAndTurned: false },
  run: runGridFit,
});

function runGridFit(sample: Sample, own: Parameters): Answer<Summary> {
  if (!sample.readings) {
    throw new Problem(
      'cannot-answer',
      'grid-fit needs common points (name, local_x, local_y, easting, northing), or control points observed in two seasons; this sample has neither',
    );
  }
  const grid = fitGrid(sample, own);
  const points = comparedPoints(grid, sample.readings.control);
  return {
    summary: grid.summary,
    table: tableOf(points),
    features: pointsLayer(points),
    figure: fitFigure(grid.summary, points, sample),
    methods: methodsOf(grid, own, sample),
    cautions: cautionsOf(grid, own),
  };
}

function fitFigure(summary: Summary, points: readonly ComparedPoint[], sample: Sample): Scene {
  const { norths } = summary;
  const fromSite = (degrees: number | null, name: string) =>
    degrees === null || norths.site_north_deg === null
      ? []
      : [{ name, fromSiteNorthDeg: halfCircle(degrees - norths.site_north_deg) }];
  return plotNetwork({
    title: 'Grid fit: where the common points lie, and how far they are off',
    subtitle: answerLine(summary),
    points: points.map(({ name, at }) => ({ at, name, kind: 'compared' })),
    lines: [],
    ellipses: [],
    arrows: points.map(({ at, offset }) => ({ at, dx: offset[0], dy: offset[1] })),
    enlargedName: 'offsets from the given place',
    norths: [
      ...fromSite(0, 'map_grid_north'),
      ...fromSite(norths.true_north_deg, 'true_north'),
      ...fromSite(
        norths.magnetic_north_deg,
        `magnetic_north${norths.declination_date === null ? '' : ` ${norths.declination_date}`}`,
      ),
    ],
    notes: [
      `common points with the map: ${summary.n}`,
      ...summary.season_shifts.map(
        (shift) => `${shift.from_season} against ${shift.to_season}: ${shift.n} control points`,
      ),
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
    ],
  });
}
