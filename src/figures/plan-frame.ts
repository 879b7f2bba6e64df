import { fixedText, niceStep, niceTicks, numberText, thinSpace, tickTexts } from './axes.js';
import { day } from './palette.js';
import type { PlanPlot } from './plots.js';
import type { Mark, Stroke } from './scene.js';
import { edgeMm, inkLine, labelSizeMm, lineMark, padMm, sheetWidthMm, textMark } from './sheet.js';
import { textWidthMm } from './text-width.js';

type Point = readonly [number, number];

const crossLine: Stroke = { colour: day.quiet, widthMm: 0.1 };
const tickLine: Stroke = { colour: day.ink, widthMm: 0.15 };
const northLine: Stroke = { colour: day.ink, widthMm: 0.3 };
const tallestMm = 125;
const leads = [1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 7.5];

/** Where a plan stands on its sheet, and at which scale. */
export interface PlanFrame {
  /** beside: title block right of the plan; below: under it */
  readonly layout: 'beside' | 'below';
  /** 100 means 1 : 100 */
  readonly scale: number;
  readonly leftMm: number;
  readonly topMm: number;
  readonly rightMm: number;
  readonly bottomMm: number;
  readonly scaleBarM: number;
  readonly scaleBarMm: number;
  readonly gridMarks: readonly Mark[];
  readonly frameMarks: readonly Mark[];
  /** site-grid metres → millimetres on the sheet */
  place(x: number, y: number): Point;
}

/**
 * The largest round scale at which a plan fits its sheet, with the title block beside or below it.
 *
 * @param request.boxM          west, south, east, north of the plan, site-grid metres
 * @param request.topMm         top of the frame on the sheet
 * @param request.blockWidthMm  width of a title block that stands beside
 */
export function planFrame(request: {
  readonly boxM: readonly [number, number, number, number];
  readonly topMm: number;
  readonly blockWidthMm: number;
}): PlanFrame {
  const [west, south, east, north] = request.boxM;
  const widthM = east - west;
  const heightM = north - south;
  const labelMm = Math.max(
    textWidthMm(fixedText(south, 0), labelSizeMm),
    textWidthMm(fixedText(north, 0), labelSizeMm),
  );
  const leftMm = edgeMm + padMm + labelMm + 2;
  const room = sheetWidthMm - edgeMm - padMm - leftMm;
  const besideScale = roundScale(widthM, heightM, room - request.blockWidthMm);
  const belowScale = roundScale(widthM, heightM, room);
  // a title block beside makes the calmer sheet: worth a somewhat smaller plan
  const layout = besideScale <= 1.3 * belowScale ? 'beside' : 'below';
  const scale = layout === 'beside' ? besideScale : belowScale;
  const mmPerM = 1000 / scale;
  const rightMm = leftMm + widthM * mmPerM;
  const topMm = request.topMm;
  const bottomMm = topMm + heightM * mmPerM;
  const place = (x: number, y: number): Point => [leftMm + (x - west) * mmPerM, bottomMm - (y - south) * mmPerM];

  const step = niceStep(12 / mmPerM, 1);
  const ticks = (low: number, high: number) => niceTicks(low, high, (high - low) / step);
  const xTicks = ticks(west, east);
  const yTicks = ticks(south, north);
  const xTexts = tickTexts(xTicks);
  const yTexts = tickTexts(yTicks);
  const out = 1.2;

  const gridMarks = xTicks.flatMap((x) =>
    yTicks.flatMap((y) => {
      const [px, py] = place(x, y);
      return [lineMark(crossLine, [px - 0.7, py], [px + 0.7, py]), lineMark(crossLine, [px, py - 0.7], [px, py + 0.7])];
    }),
  );
  const frameMarks: Mark[] = [
    lineMark(inkLine, [leftMm, topMm], [rightMm, topMm], [rightMm, bottomMm], [leftMm, bottomMm], [leftMm, topMm]),
    ...xTicks.flatMap((x) => {
      const [px] = place(x, south);
      return [
        lineMark(tickLine, [px, bottomMm], [px, bottomMm + out]),
        lineMark(tickLine, [px, topMm - out], [px, topMm]),
      ];
    }),
    ...yTicks.flatMap((y) => {
      const [, py] = place(west, y);
      return [
        lineMark(tickLine, [leftMm - out, py], [leftMm, py]),
        lineMark(tickLine, [rightMm, py], [rightMm + out, py]),
      ];
    }),
    ...xTicks.map((x, i) =>
      textMark(
        i === xTicks.length - 1 ? `${xTexts[i]}${thinSpace}m` : xTexts[i],
        [place(x, south)[0], bottomMm + out + labelSizeMm],
        {
          anchor: 'middle',
        },
      ),
    ),
    ...yTicks.map((y, i) =>
      textMark(yTexts[i], [leftMm - out - 0.7, place(west, y)[1] + 0.36 * labelSizeMm], { anchor: 'end' }),
    ),
  ];
  const scaleBarM = niceStep(25 / mmPerM, 1);
  const scaleBarMm = scaleBarM * mmPerM;
  return { layout, scale, leftMm, topMm, rightMm, bottomMm, scaleBarM, scaleBarMm, gridMarks, frameMarks, place };
}

/** Smallest round denominator at which so many metres fit a width in mm. */
function roundScale(widthM: number, heightM: number, roomMm: number): number {
  const needed = Math.max((widthM * 1000) / roomMm, (heightM * 1000) / tallestMm, 1);
  const power = 10 ** Math.floor(Math.log10(needed));
  const lead = leads.find((l) => l * power >= needed - 1e-9);
  return lead === undefined ? 10 * power : lead * power;
}

/** Scale bar in two fields and the scale in figures; `at` is its lower left end. */
export function scaleBar(frame: PlanFrame, [x, y]: Point): Mark[] {
  const half = frame.scaleBarMm / 2;
  const barTop = y - 1.2;
  const number = (m: number) => (Number.isInteger(m) ? fixedText(m, 0) : String(m));
  const field = (from: number, fill: string | null): Mark => ({
    kind: 'area',
    rings: [
      [
        [from, barTop],
        [from + half, barTop],
        [from + half, y],
        [from, y],
      ],
    ],
    fill,
    stroke: tickLine,
  });
  return [
    field(x, day.ink),
    field(x + half, null),
    textMark('0', [x, barTop - 1], { anchor: 'middle' }),
    textMark(number(frame.scaleBarM / 2), [x + half, barTop - 1], { anchor: 'middle' }),
    textMark(`${number(frame.scaleBarM)}${thinSpace}m`, [x + frame.scaleBarMm, barTop - 1], { anchor: 'middle' }),
    textMark(`1 : ${fixedText(frame.scale, Number.isInteger(frame.scale) ? 0 : 1)}`, [x, barTop - 5], {
      weight: 'bold',
    }),
  ];
}

const northSizeMm = 2.4;
const arrowMm = 10;
const northTexts = (norths: NonNullable<PlanPlot['norths']>) => [
  'site_north',
  ...norths.map((n) => `${n.name} ${numberText(n.fromSiteNorthDeg)}°`),
];

/** Room left of the arrow's foot: strokes to norths west of site_north lean that way. */
function leanMm(norths: NonNullable<PlanPlot['norths']>): number {
  return 1 + Math.max(0, ...norths.map((n) => -0.9 * arrowMm * Math.sin((n.fromSiteNorthDeg * Math.PI) / 180)));
}

/** Width that the arrow and the names of the norths take, mm. */
export function northsWidthMm(norths: NonNullable<PlanPlot['norths']>): number {
  return leanMm(norths) + 5 + Math.max(...northTexts(norths).map((t) => textWidthMm(t, northSizeMm)));
}

/** The arrow of site_north, the other norths as plain strokes from the same foot, all named. `at` is the lower left end. */
export function northMarks(norths: NonNullable<PlanPlot['norths']>, [left, y]: Point): Mark[] {
  const x = left + leanMm(norths);
  const tip = y - arrowMm;
  const marks: Mark[] = [
    lineMark(northLine, [x, y], [x, tip]),
    {
      kind: 'area',
      rings: [
        [
          [x, tip],
          [x + 1.3, tip + 3.4],
          [x, tip + 2.8],
        ],
      ],
      fill: day.ink,
    },
  ];
  for (const north of norths) {
    const turn = (north.fromSiteNorthDeg * Math.PI) / 180;
    const end: Point = [x + 0.9 * arrowMm * Math.sin(turn), y - 0.9 * arrowMm * Math.cos(turn)];
    marks.push({ kind: 'line', points: [[x, y], end], stroke: crossLine });
  }
  northTexts(norths).forEach((text, i) => {
    marks.push(
      textMark(text, [x + 4, tip + 2 + i * northSizeMm * 1.35], {
        sizeMm: northSizeMm,
        colour: i === 0 ? day.ink : day.quiet,
        weight: i === 0 ? 'bold' : 'normal',
      }),
    );
  });
  return marks;
}
