import { partsOf } from '../../domain/columns.js';
import type { FeatureTable } from '../../domain/feature-table.js';
import type { Sample } from '../../domain/sample.js';
import { type PointGroup, plotPlan } from '../../figures/plots.js';
import type { Scene } from '../../figures/scene.js';
import { quantile } from '../../math/quantiles.js';
import { tileBox } from '../../math/tiles.js';
import type { Summary } from './schemas.js';
import { kindOf, type SquareKind, type SquareRows } from './table.js';

type Corner = readonly [number, number];

const corners = (ring: Float64Array): Corner[] =>
  Array.from({ length: ring.length / 2 }, (_, i) => [ring[2 * i], ring[2 * i + 1]]);

const groups: readonly (readonly [SquareKind, PointGroup['style']])[] = [
  ['high amid high', 'class2'],
  ['low amid low', 'class1'],
  ['high amid low', 'class5'],
  ['low amid high', 'class3'],
];

const bandNames: Readonly<Record<Summary['value'], string>> = {
  rate: 'count per m² dug',
  count: 'count',
  standardised_rate: 'standardised rate',
  mean_sherd_weight: 'grams a sherd',
  sherds_per_vessel: 'sherds a pot vessel',
};

/** The squares coloured by their value, those that stand out marked. */
export function squaresFigure(
  summary: Summary,
  rows: SquareRows,
  drawn: { sample: Sample; layer: FeatureTable },
): Scene {
  const { sample, layer } = drawn;
  const { values, lattice } = rows;
  const levels = valueLevels(values);
  const bandOf = (v: number) => levels.findLastIndex((level) => v >= level);
  const rings = (i: number) =>
    layer.geometry?.type === 'area' ? partsOf(layer.geometry, i).map(({ ring }) => corners(ring)) : [];
  const centre = (i: number): Corner => {
    const [west, south, east, north] = tileBox(lattice.counted.squares.tiles, lattice.tiles[i]);
    const [x, y] = lattice.counted.origin;
    return [(west + east) / 2 + x, (south + north) / 2 + y];
  };
  const squares = Array.from(values, (_, i) => i);
  return plotPlan({
    title: 'Squares and their neighbours',
    subtitle: summary.sentence,
    window: sample.window.rings.map(corners),
    bands: levels.map((level, k) => ({
      level,
      rings: squares.filter((i) => Math.max(0, bandOf(values[i])) === k).flatMap(rings),
    })),
    bandName: bandNames[summary.value],
    ramp: 'thickness',
    bandUnit: summary.value === 'rate' ? 'm-2' : summary.value === 'mean_sherd_weight' ? 'g' : '1',
    groups: groups.flatMap(([kind, style]) => {
      const points = squares.filter((i) => kindOf(rows, i) === kind).map(centre);
      return points.length === 0 ? [] : [{ name: kind, points, style }];
    }),
    hull: sample.hull.flatMap((feature) =>
      feature.parts.map((part) => ({ closed: feature.type === 'area', points: corners(part) })),
    ),
    notes: [
      `n = ${summary.n}, window ${Number(summary.window_area_m2.toPrecision(6))} m², ${sample.windowSource}`,
      'marks: after false-discovery control at 5 %',
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
      ...sample.excluded.map(({ reason, count }) => `${count} left out: ${reason}`),
    ],
  });
}

/** Levels that part the squares into shares: counts are so skewed that even steps would leave one colour. */
function valueLevels(values: Float64Array): number[] {
  const at = (share: number) => quantile(values, share) ?? 0;
  const rounded = [0.25, 0.5, 0.75, 0.9, 0.97].map((share) => Number(at(share).toPrecision(2)));
  const levels = [...new Set([at(0), ...rounded])].sort((a, b) => a - b);
  return values.length === 0 ? [] : levels.filter((level) => level >= at(0) && level <= at(1));
}
