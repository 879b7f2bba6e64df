import { partsOf, shapes, tableOf } from '../../domain/columns.js';
import { squareShapes } from '../../domain/counting-squares.js';
import type { FeatureTable } from '../../domain/feature-table.js';
import type { Field } from '../../domain/fields.js';
import { ellipseRing } from '../../math/centre.js';
import type { Compared } from './answer.js';
import type { ComparedSeason } from './ground.js';

const fields: readonly Field[] = [
  { name: 'kind', title: 'square or deviational ellipse', type: 'text' },
  { name: 'season', title: 'Season', type: 'text' },
  { name: 'square', title: 'Square', type: 'text' },
  { name: 'n', title: 'Counted', type: 'number', unit: '1' },
  { name: 'dug_m2', title: 'Ground dug', type: 'number', unit: 'm2' },
  { name: 'volume_m3', title: 'Deposit dug', type: 'number', unit: 'm3' },
  { name: 'per_m2', title: 'Count per m²', type: 'number', unit: 'm-2' },
  { name: 'per_m3', title: 'Count per m³', type: 'number', unit: 'm-3' },
  { name: 'seasons', title: 'Seasons that dug the square', type: 'text' },
  { name: 'tool', title: 'Tool', type: 'text' },
  { name: 'mesh_mm', title: 'Sieve mesh', type: 'number', unit: 'mm' },
];

const over = (count: number, exposure: number | null) => (exposure !== null && exposure > 0 ? count / exposure : null);

/** Every square a season dug with its rate, one feature for each season, and the ellipse of each season with its rate. */
export function seasonsLayer(compared: Compared): FeatureTable {
  const { ground, counted, numbers, centres } = compared;
  const { squares, origin } = ground.ground;
  const seasonsOf = new Map<number, string[]>();
  for (const { name, squares: own } of ground.seasons) {
    for (const k of own) {
      const { tile } = ground.seasonSquares[k];
      seasonsOf.set(tile, [...(seasonsOf.get(tile) ?? []), name]);
    }
  }
  const squareRows = ground.seasons.flatMap((season) =>
    season.squares.map((k) => {
      const { tile, dugM2, volumeM3 } = ground.seasonSquares[k];
      return {
        kind: 'square',
        season: season.name,
        square: squares.label(tile),
        n: counted.bySquare[k],
        dug_m2: dugM2,
        volume_m3: volumeM3,
        per_m2: over(counted.bySquare[k], dugM2),
        per_m3: over(counted.bySquare[k], volumeM3),
        seasons: (seasonsOf.get(tile) ?? []).join(', '),
        tool: ground.dugWith[k].tool,
        mesh_mm: ground.dugWith[k].meshMm,
      };
    }),
  );
  const drawn = ground.seasons.flatMap((_, s) => {
    const { centre, ellipse } = centres[s];
    if (!centre || !ellipse || ellipse.semiMinorM <= 1e-9) return [];
    const ring = ellipseRing({ x: centre.x + origin[0], y: centre.y + origin[1] }, ellipse);
    return [{ row: numbers.seasons[s], ring }];
  });
  const ellipseRows = drawn.map(({ row }) => ({
    kind: 'deviational ellipse',
    season: row.season,
    square: null,
    n: row.n,
    dug_m2: row.dug_m2,
    volume_m3: row.volume_m3,
    per_m2: row.per_m2,
    per_m3: row.per_m3,
    seasons: row.season,
    tool: null,
    mesh_mm: null,
  }));
  return tableOf({
    name: 'season-comparison',
    fields,
    rows: [...squareRows, ...ellipseRows],
    geometry: shapes('area', [
      ...ground.seasons.flatMap((season) => squaresOf(compared, season)),
      ...drawn.map(({ ring }) => [{ ring }]),
    ]),
  });
}

/** The parts of each square of a season. */
function squaresOf({ ground }: Compared, season: ComparedSeason) {
  const { squares, bySeason, pooled, origin } = ground.ground;
  const { areaM2 } = bySeason[season.code - 1] ?? pooled;
  const geometry = squareShapes(
    squares,
    season.squares.map((k) => ground.seasonSquares[k].tile),
    { window: season.window, areaM2, origin },
  );
  if (geometry.type !== 'area') return [];
  return season.squares.map((_, f) =>
    partsOf(geometry, f).map(({ ring, hole }) => (hole ? { ring, hole: true as const } : { ring })),
  );
}
