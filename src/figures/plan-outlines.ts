import { classColours, day } from './palette.js';
import type { PlanFrame } from './plan-frame.js';
import type { PlanOutline } from './plots.js';
import type { Mark, Stroke } from './scene.js';
import { type LegendRow, lineMark } from './sheet.js';

/** A broad pale line under a narrower one: it holds over hull and finds alike. */
function strokesOf({ style }: PlanOutline): Stroke[] {
  const colour = classColours[Number(style.slice('class'.length)) - 1];
  return [
    { colour: day.paper, widthMm: 1.1 },
    { colour, widthMm: 0.55, dashMm: [2.4, 0.9] },
  ];
}

/** Closed lines over the points of a plan. */
export function outlineMarks(outlines: readonly PlanOutline[], frame: PlanFrame): Mark[] {
  return outlines
    .filter((outline) => outline.points.length > 2)
    .map((outline): Mark => {
      const points = [...outline.points, outline.points[0]].map(([x, y]) => frame.place(x, y));
      return {
        kind: 'group',
        name: outline.name,
        marks: strokesOf(outline).map((stroke): Mark => ({ kind: 'line', points, stroke })),
      };
    });
}

/** One row of the legend for each name. */
export function outlineRows(outlines: readonly PlanOutline[]): LegendRow[] {
  const first = new Map(outlines.map((outline): [string, PlanOutline] => [outline.name, outline]));
  return [...first.values()].map((outline) => ({
    name: outline.name,
    sample: (x, y, widthMm) => strokesOf(outline).map((stroke) => lineMark(stroke, [x, y], [x + widthMm, y])),
  }));
}
