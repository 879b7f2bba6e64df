import type { Sample } from '../../domain/sample.js';
import type { Scene } from '../../figures/scene.js';
import { plotSquares } from '../../figures/squares-plot.js';
import { tileBox } from '../../math/tiles.js';
import type { DigPlan } from './proposals.js';
import type { Summary } from './schemas.js';

type Corner = readonly [number, number];

const corners = (ring: Float64Array): Corner[] =>
  Array.from({ length: ring.length / 2 }, (_, i) => [ring[2 * i], ring[2 * i + 1]]);

/** Short enough for a square: 0.06 finds are said as 0.1, less as 0. */
function expectedText(expected: number | null): string {
  if (expected === null) return '?';
  if (expected >= 1) return String(Number(expected.toPrecision(2)));
  return expected < 0.05 ? '0' : expected.toFixed(1);
}

/** Plan of the proposed squares: the finds expected in each, how sure that is, and the hull that points there. */
export function proposalsFigure(summary: Summary, sample: Sample, { squares }: DigPlan): Scene {
  return plotSquares({
    title: 'Squares that could be dug next',
    subtitle: summary.sentence,
    dug: sample.window.rings.map(corners),
    squares: summary.squares.map((row) => ({
      box: tileBox(squares.tiles, squares.tileOfSquare(row.square)),
      value: row.per_m2,
      text: expectedText(row.expected),
      isUncertain: row.extrapolated,
      isMarked: row.hull_ends.length > 0,
    })),
    valueName: 'rate of the trend',
    unit: 'm-2',
    textName: 'number: count expected on the ground left',
    uncertainName: 'extrapolated',
    markName: 'hull stops at its edge',
    hull: sample.hull.flatMap((feature) =>
      feature.parts.map((part) => ({ closed: feature.type === 'area', points: corners(part) })),
    ),
    ...(sample.shipAxis ? { axis: [sample.shipAxis.after, sample.shipAxis.bow] } : {}),
    notes: [
      `n = ${summary.n} in ${summary.squares_dug} dug squares, window ${Number(summary.window_area_m2.toPrecision(6))} m², ${sample.windowSource}`,
      'permit and project design decide; preservation in place is considered first',
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
      ...sample.excluded.map(({ reason, count }) => `${count} left out: ${reason}`),
    ],
  });
}
