import { fixedText, niceStep, numberText, stepDecimals, unitText } from './axes.js';
import { contourRows } from './contour-lines.js';
import { hatching } from './hatching.js';
import {
  cividis,
  classColours,
  classSymbols,
  day,
  differenceRamp,
  needsOutline,
  type Ramp,
  rampColour,
  thicknessRamp,
} from './palette.js';
import { outlineRows } from './plan-outlines.js';
import type { PlanPlot, PointGroup } from './plots.js';
import type { Mark, Stroke } from './scene.js';
import { fineLine, type LegendRow, lineMark, rectangle } from './sheet.js';

export const notDugLine: Stroke = { colour: day.hatch, widthMm: 0.12 };
export const windowLine: Stroke = { colour: day.quiet, widthMm: 0.2 };
export const hullLine: Stroke = { colour: day.ink, widthMm: 0.45 };

const ramps: Readonly<Record<NonNullable<PlanPlot['ramp']>, Ramp>> = {
  surface: cividis,
  thickness: thicknessRamp,
  difference: differenceRamp,
};

/** Symbol and colour of a kind of points. */
export function pointLook(
  style: PointGroup['style'],
): Pick<Extract<Mark, { kind: 'symbol' }>, 'symbol' | 'colour' | 'outline'> {
  if (style === 'ink') return { symbol: 'circle', colour: day.ink, outline: { colour: day.paper, widthMm: 0.1 } };
  const k = Number(style.slice('class'.length)) - 1;
  const colour = classColours[k];
  return {
    symbol: classSymbols[k],
    colour,
    outline: { colour: needsOutline(colour) ? day.ink : day.paper, widthMm: 0.12 },
  };
}

/** Colours of the bands from low to high; differences keep white where they part, at zero. */
export function bandColours(spec: PlanPlot): string[] {
  const ramped = rampColours(spec);
  return (spec.bands ?? []).map((band, i) => band.look?.colour ?? ramped[i]);
}

function rampColours(spec: PlanPlot): string[] {
  const levels = (spec.bands ?? []).map((b) => b.level);
  const ramp = ramps[spec.ramp ?? 'surface'];
  const low = Math.min(...levels);
  const high = Math.max(...levels);
  if (spec.ramp === 'difference') {
    const reach = Math.max(Math.abs(low), Math.abs(high)) || 1;
    return levels.map((level) => rampColour(ramp, 0.5 + level / (2 * reach)));
  }
  return levels.map((_, i) => rampColour(ramp, levels.length === 1 ? 1 : i / (levels.length - 1)));
}

/** Rows of a plan's legend, in the order of what lies on top. */
export function legendRows(spec: PlanPlot, groups: readonly PointGroup[]): LegendRow[] {
  const swatch = (x: number, y: number, widthMm: number) => rectangle(x, y - 1.3, widthMm, 2.6);
  const rows: LegendRow[] = groups.map((group) => ({
    name: `${group.name}, ${fixedText(group.points.length, 0)}`,
    sample: (x, y, widthMm) => [{ kind: 'symbol', at: [x + widthMm / 2, y], sizeMm: 1.6, ...pointLook(group.style) }],
  }));
  if (spec.hull !== undefined && spec.hull.length > 0) {
    rows.push({
      name: 'hull',
      sample: (x, y, widthMm) => [lineMark(hullLine, [x, y], [x + widthMm, y])],
    });
  }
  rows.push(...contourRows(spec.contours ?? [], spec.contourName ?? 'contours'));
  rows.push(...outlineRows(spec.outlines ?? []));
  const bands = spec.bands ?? [];
  const colours = bandColours(spec);
  const texts = levelTexts(bands.map((b) => b.level));
  const unit = unitText(spec.bandUnit ?? '');
  bands.forEach((band, i) => {
    const words = i + 1 < bands.length ? `${texts[i]} to ${texts[i + 1]}` : `${texts[i]} and more`;
    const what = i === 0 && spec.bandName !== undefined ? `${spec.bandName}, ` : '';
    rows.push({
      name: band.look?.name ?? `${what}${words}${i === 0 && unit !== '' ? ` ${unit}` : ''}`,
      sample: (x, y, widthMm) => [{ kind: 'area', rings: [swatch(x, y, widthMm)], fill: colours[i], stroke: fineLine }],
    });
  });
  if (spec.window.length > 0) {
    rows.push(
      {
        name: 'edge of the dug area',
        sample: (x, y, widthMm) => [lineMark(windowLine, [x, y], [x + widthMm, y])],
      },
      {
        name: 'not dug',
        sample: (x, y, widthMm) => [
          ...hatching([swatch(x, y, widthMm)], { spacingMm: 1.3, angleDeg: 45, stroke: notDugLine }),
          { kind: 'area', rings: [swatch(x, y, widthMm)], fill: null, stroke: notDugLine },
        ],
      },
    );
  }
  return rows;
}

/** Levels with the digits their spacing needs, or four significant ones when they are uneven. */
function levelTexts(levels: readonly number[]): string[] {
  const steps = levels.slice(1).map((v, i) => v - levels[i]);
  const smallest = Math.min(...steps);
  if (steps.length === 0 || !(smallest > 0)) return levels.map((v) => numberText(v, { digits: 3 }));
  const decimals = Math.min(6, stepDecimals(niceStep(smallest, 1)) + 1);
  const exact = levels.map((v) => fixedText(v, decimals));
  return exact.every((t) => !t.includes('.') || t.endsWith('0'))
    ? levels.map((v) => fixedText(v, decimals - 1))
    : exact;
}
