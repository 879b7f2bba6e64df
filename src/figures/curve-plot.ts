import { niceTicks, tickTexts } from './axes.js';
import { hatching } from './hatching.js';
import { classColours, day, linePatterns, needsOutline } from './palette.js';
import type { Band, Curve, CurvePlot } from './plots.js';
import type { Mark, Scene, Stroke } from './scene.js';
import {
  edgeMm,
  fineLine,
  heading,
  inkLine,
  type LegendRow,
  labelSizeMm,
  lineMark,
  padMm,
  paper,
  rectangle,
  sheetWidthMm,
  textMark,
  titleBlock,
  widestMm,
} from './sheet.js';

const blockWidthMm = 54;
const plotHeightMm = 74;
const tickMm = 1.2;

type Point = readonly [number, number];

/**
 * Curves over a common axis on a sheet: observed in solid ink, what was to be expected dashed and quiet, envelopes
 * and intervals as light or hatched ground; the title block at the lower right is the legend.
 */
export function plotCurves(spec: CurvePlot): Scene {
  const head = heading(spec.title, spec.subtitle, sheetWidthMm - 2 * (edgeMm + padMm));
  const [xLow, xHigh] = extent(spec, 'x');
  const [yLow, yHigh] = extent(spec, 'y');
  const yTicks = niceTicks(yLow, yHigh, 6);
  const yTexts = tickTexts(yTicks);

  const left = edgeMm + padMm + widestMm(yTexts) + tickMm + 1;
  const right = sheetWidthMm - edgeMm - blockWidthMm - padMm;
  const block = titleBlock([...curveRows(spec.curves), ...bandRows(spec.bands ?? [])], spec.notes, blockWidthMm);
  const headBottom = edgeMm + padMm + head.heightMm;
  const axisNoteMm = tickMm + 2 * labelSizeMm + 4.2;
  const top = headBottom + 3 + labelSizeMm + 2;
  const heightMm = Math.max(top + plotHeightMm + axisNoteMm + edgeMm, headBottom + 4 + block.heightMm + edgeMm);
  const bottom = heightMm - edgeMm - axisNoteMm;

  const xAt = (x: number) => left + ((x - xLow) / (xHigh - xLow)) * (right - left);
  const yAt = (y: number) => bottom - ((y - yLow) / (yHigh - yLow)) * (bottom - top);
  const xTicks = niceTicks(xLow, xHigh, 7);
  const xTexts = tickTexts(xTicks);

  const axes: Mark[] = [
    ...yTicks.map((t) => lineMark(ruleStroke, [left, yAt(t)], [right, yAt(t)])),
    lineMark(inkLine, [left, top], [left, bottom], [right, bottom]),
    ...yTicks.map((t) => lineMark(fineInk, [left - tickMm, yAt(t)], [left, yAt(t)])),
    ...xTicks.map((t) => lineMark(fineInk, [xAt(t), bottom], [xAt(t), bottom + tickMm])),
    ...yTicks.map((t, i) => textMark(yTexts[i], [left - tickMm - 0.8, yAt(t) + 0.36 * labelSizeMm], { anchor: 'end' })),
    ...xTicks.map((t, i) => textMark(xTexts[i], [xAt(t), bottom + tickMm + labelSizeMm + 0.4], { anchor: 'middle' })),
    // axis titles stand upright: the y title over its axis, the x title at the axis' end
    textMark(spec.yTitle, [edgeMm + padMm, top - 2.2], { weight: 'bold' }),
    textMark(spec.xTitle, [right, bottom + tickMm + 2 * labelSizeMm + 1.8], { anchor: 'end', weight: 'bold' }),
  ];
  const place = (x: number, y: number): Point => [xAt(x), yAt(y)];
  return {
    widthMm: sheetWidthMm,
    heightMm,
    title: spec.subtitle === undefined ? spec.title : `${spec.title} ${spec.subtitle}`,
    marks: [
      ...paper(heightMm),
      head.place(edgeMm + padMm, edgeMm + padMm),
      { kind: 'group', name: 'axes', marks: axes },
      ...(spec.bands ?? []).map(
        (band, i): Mark => ({ kind: 'group', name: band.name, marks: bandMarks(band, i, place) }),
      ),
      // what is observed lies on top of what is expected
      ...[...spec.curves]
        .sort((a, b) => rank(a) - rank(b))
        .map((curve): Mark => ({ kind: 'group', name: curve.name, marks: curveMarks(curve, place) })),
      block.place(sheetWidthMm - edgeMm - blockWidthMm, heightMm - edgeMm - block.heightMm),
    ],
  };
}

const fineInk: Stroke = { colour: day.ink, widthMm: 0.15 };
const ruleStroke: Stroke = { colour: day.rule, widthMm: 0.12 };

function rank(curve: Curve): number {
  return curve.style === 'reference' ? 0 : curve.style === 'observed' ? 2 : 1;
}

/** Ends of an axis: all finite values, and a little air for y, zero when it is near; never of no length. */
function extent(spec: CurvePlot, axis: 'x' | 'y'): [number, number] {
  let low = Infinity;
  let high = -Infinity;
  const take = (values: readonly number[]) => {
    for (const v of values) {
      if (!Number.isFinite(v)) continue;
      low = Math.min(low, v);
      high = Math.max(high, v);
    }
  };
  for (const curve of spec.curves) take(axis === 'x' ? curve.x : curve.y);
  for (const band of spec.bands ?? []) {
    take(axis === 'x' ? band.x : band.low);
    if (axis === 'y') take(band.high);
  }
  if (!(low <= high)) return [0, 1];
  if (low === high) {
    const air = Math.abs(low) > 0 ? Math.abs(low) / 2 : 1;
    return [low - air, high + air];
  }
  if (axis === 'x') return [low > 0 && low < 0.1 * high ? 0 : low, high];
  const air = 0.04 * (high - low);
  const nearZero = low >= 0 && low < 0.3 * high;
  return [nearZero ? 0 : low - air, high + air];
}

function curveStrokes(style: Curve['style']): Stroke[] {
  if (style === 'observed') return [{ colour: day.ink, widthMm: 0.5 }];
  if (style === 'reference') return [{ colour: day.quiet, widthMm: 0.3, dashMm: [1.6, 1.1] }];
  const k = Number(style.slice('class'.length)) - 1;
  const colour = classColours[k];
  const dash = linePatterns[k].map((d) => d * 0.4);
  const stroke: Stroke = dash.length === 0 ? { colour, widthMm: 0.5 } : { colour, widthMm: 0.5, dashMm: dash };
  // a pale colour gets an ink casing, so that the line keeps its contrast on paper
  return needsOutline(colour) ? [{ ...stroke, colour: day.ink, widthMm: 0.75 }, stroke] : [stroke];
}

function curveMarks(curve: Curve, place: (x: number, y: number) => Point): Mark[] {
  sameLength(curve.name, curve.x, curve.y);
  const runs: Point[][] = [];
  let run: Point[] = [];
  for (let i = 0; i < curve.x.length; i++) {
    if (Number.isFinite(curve.x[i]) && Number.isFinite(curve.y[i])) {
      if (curve.steps && run.length > 0) run.push(place(curve.x[i], curve.y[i - 1]));
      run.push(place(curve.x[i], curve.y[i]));
    } else if (run.length > 0) {
      runs.push(run);
      run = [];
    }
  }
  if (run.length > 0) runs.push(run);
  const marks: Mark[] = [];
  for (const stroke of curveStrokes(curve.style)) {
    for (const points of runs) {
      if (points.length > 1) marks.push({ kind: 'line', points, stroke });
      else marks.push({ kind: 'symbol', symbol: 'circle', at: points[0], sizeMm: 1.2, colour: stroke.colour });
    }
  }
  return marks;
}

/** The first band is light ground, further ones are hatched each its own way: told apart in black and white. */
function bandLook(rings: readonly (readonly Point[])[], k: number): Mark[] {
  if (k === 0) return [{ kind: 'area', rings, fill: day.quiet, opacity: 0.2 }];
  const angleDeg = k % 2 === 1 ? 45 : -45;
  return hatching(rings, { spacingMm: 1 + 0.4 * k, angleDeg, stroke: fineLine });
}

function bandMarks(band: Band, k: number, place: (x: number, y: number) => Point): Mark[] {
  sameLength(band.name, band.x, band.low);
  sameLength(band.name, band.x, band.high);
  const rings: Point[][] = [];
  let from = 0;
  for (let i = 0; i <= band.x.length; i++) {
    const known = i < band.x.length && [band.x[i], band.low[i], band.high[i]].every(Number.isFinite);
    if (known) continue;
    if (i - from > 1) {
      const index = Array.from({ length: i - from }, (_, j) => from + j);
      rings.push([
        ...index.map((j) => place(band.x[j], band.high[j])),
        ...index.reverse().map((j) => place(band.x[j], band.low[j])),
      ]);
    }
    from = i + 1;
  }
  return rings.length === 0 ? [] : bandLook(rings, k);
}

function sameLength(name: string, x: readonly number[], y: readonly number[]): void {
  if (x.length !== y.length) throw new Error(`"${name}" has ${x.length} x values and ${y.length} y values`);
}

function curveRows(curves: readonly Curve[]): LegendRow[] {
  return curves.map((curve) => ({
    name: curve.name,
    sample: (x, y, widthMm) =>
      curveStrokes(curve.style).map(
        (stroke): Mark => ({
          kind: 'line',
          points: [
            [x, y],
            [x + widthMm, y],
          ],
          stroke,
        }),
      ),
  }));
}

function bandRows(bands: readonly Band[]): LegendRow[] {
  return bands.map((band, k) => ({
    name: band.name,
    sample: (x, y, widthMm) => bandLook([rectangle(x, y - 1.3, widthMm, 2.6)], k),
  }));
}
