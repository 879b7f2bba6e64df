import { niceTicks, numberText, unitText } from './axes.js';
import { hatching } from './hatching.js';
import { day, rampColour, thicknessRamp } from './palette.js';
import { northMarks, northsWidthMm, type PlanFrame, planFrame, scaleBar } from './plan-frame.js';
import { hullLine, windowLine } from './plan-legend.js';
import type { Mark, Scene, Stroke } from './scene.js';
import {
  edgeMm,
  fineLine,
  heading,
  inkLine,
  type LegendRow,
  lineMark,
  padMm,
  paper,
  rectangle,
  sheetWidthMm,
  textMark,
  titleBlock,
} from './sheet.js';

type Point = readonly [number, number];

/** One square of a plan of squares. */
export interface PlanSquare {
  /** west, south, east, north, site-grid metres */
  readonly box: readonly [number, number, number, number];
  /** decides the colour; null = none */
  readonly value: number | null;
  /** written in the square where there is room */
  readonly text: string;
  /** hatched: to be read with doubt */
  readonly isUncertain: boolean;
  /** a heavy frame */
  readonly isMarked: boolean;
}

/** A plan of single squares amid dug ground. */
export interface SquaresPlot {
  readonly title: string;
  readonly subtitle?: string;
  /** outline of the dug area, [rings][corners], site-grid metres, y up */
  readonly dug: readonly (readonly Point[])[];
  readonly squares: readonly PlanSquare[];
  readonly valueName: string;
  /** UCUM */
  readonly unit: string;
  readonly textName: string;
  readonly uncertainName: string;
  readonly markName: string;
  readonly hull: readonly { readonly closed: boolean; readonly points: readonly Point[] }[];
  readonly axis?: readonly Point[];
  readonly notes: readonly string[];
}

const besideMm = 54;
const doubtLine: Stroke = { colour: day.warning, widthMm: 0.2 };
const markLine: Stroke = { colour: day.warning, widthMm: 0.7 };
const axisLine: Stroke = { colour: day.accent, widthMm: 0.35, dashMm: [3, 1, 0.6, 1] };
const dugFill = '#ece7da';

/**
 * Squares coloured by a value with a number in each, amid the dug area and the hull; what is to be doubted is hatched.
 */
export function plotSquares(spec: SquaresPlot): Scene {
  const head = heading(spec.title, spec.subtitle, sheetWidthMm - 2 * (edgeMm + padMm));
  const headBottom = edgeMm + padMm + head.heightMm;
  const frame = planFrame({ boxM: boxOf(spec), topMm: headBottom + 3.5, blockWidthMm: besideMm });
  const footTop = frame.bottomMm + 7;
  const footMm = 16;
  const norths: readonly never[] = [];
  const footWidth = northsWidthMm(norths) + 12 + frame.scaleBarMm;
  const isBeside = frame.layout === 'beside';
  const blockWidth = isBeside ? besideMm : Math.min(104, sheetWidthMm - 2 * edgeMm - padMm - footWidth - 6);
  const levels = levelsOf(spec);
  const block = titleBlock(legend(spec, levels), spec.notes, blockWidth);
  const heightMm = isBeside
    ? Math.max(footTop + footMm, headBottom + 4 + block.heightMm) + edgeMm
    : footTop + Math.max(footMm, block.heightMm) + edgeMm;
  const footBase = heightMm - edgeMm - 4;
  const footLeft = edgeMm + padMm;
  const placed = (points: readonly Point[]) => points.map(([x, y]) => frame.place(x, y));
  return {
    widthMm: sheetWidthMm,
    heightMm,
    title: spec.subtitle === undefined ? spec.title : `${spec.title} ${spec.subtitle}`,
    marks: [
      ...paper(heightMm),
      head.place(edgeMm + padMm, edgeMm + padMm),
      {
        kind: 'group',
        name: 'dug area',
        marks: [{ kind: 'area', rings: spec.dug.map(placed), fill: dugFill, stroke: windowLine }],
      },
      { kind: 'group', name: 'grid', marks: frame.gridMarks },
      { kind: 'group', name: 'squares', marks: spec.squares.flatMap((square) => squareMarks(square, frame, levels)) },
      {
        kind: 'group',
        name: 'hull',
        marks: [
          ...spec.hull
            .filter(({ points }) => points.length > 1)
            .map(({ closed, points }) => lineMark(hullLine, ...placed(closed ? [...points, points[0]] : points))),
          ...(spec.axis ? [lineMark(axisLine, ...placed(spec.axis))] : []),
        ],
      },
      { kind: 'group', name: 'numbers', marks: spec.squares.flatMap((square) => numberMarks(square, frame)) },
      { kind: 'group', name: 'frame', marks: frame.frameMarks },
      { kind: 'group', name: 'norths', marks: northMarks(norths, [footLeft, footBase]) },
      { kind: 'group', name: 'scale', marks: scaleBar(frame, [footLeft + northsWidthMm(norths) + 6, footBase]) },
      block.place(sheetWidthMm - edgeMm - blockWidth, heightMm - edgeMm - block.heightMm),
    ],
  };
}

function boxOf(spec: SquaresPlot): readonly [number, number, number, number] {
  const points = [
    ...spec.dug.flat(),
    ...spec.hull.flatMap(({ points: corners }) => corners),
    ...(spec.axis ?? []),
    ...spec.squares.flatMap(({ box }): Point[] => [
      [box[0], box[1]],
      [box[2], box[3]],
    ]),
  ];
  if (points.length === 0) return [0, 0, 1, 1];
  const least = (axis: 0 | 1) => points.reduce((low, p) => Math.min(low, p[axis]), Infinity);
  const most = (axis: 0 | 1) => points.reduce((high, p) => Math.max(high, p[axis]), -Infinity);
  return [Math.floor(least(0) - 0.5), Math.floor(least(1) - 0.5), Math.ceil(most(0) + 0.5), Math.ceil(most(1) + 0.5)];
}

/** Round levels that part the values into about five colours. */
function levelsOf(spec: SquaresPlot): number[] {
  const values = spec.squares.flatMap(({ value }) => (value === null ? [] : [value]));
  if (values.length === 0) return [];
  const low = values.reduce((least, v) => Math.min(least, v), Infinity);
  const high = values.reduce((most, v) => Math.max(most, v), -Infinity);
  const ticks = high > low ? niceTicks(low, high, 5).filter((t) => t > low && t < high) : [];
  return [low, ...ticks];
}

function colourOf(value: number, levels: readonly number[]): string {
  const band = Math.max(
    0,
    levels.findLastIndex((level) => value >= level),
  );
  // the darkest steps would swallow the number
  return rampColour(thicknessRamp, levels.length < 2 ? 0.3 : (0.55 * band) / (levels.length - 1));
}

const ringOf = ({ box }: PlanSquare, frame: PlanFrame): Point[] =>
  (
    [
      [box[0], box[1]],
      [box[2], box[1]],
      [box[2], box[3]],
      [box[0], box[3]],
    ] as const
  ).map(([x, y]) => frame.place(x, y));

function squareMarks(square: PlanSquare, frame: PlanFrame, levels: readonly number[]): Mark[] {
  const ring = ringOf(square, frame);
  const fill = square.value === null ? day.paper : colourOf(square.value, levels);
  return [
    { kind: 'area', rings: [ring], fill, stroke: inkLine },
    ...(square.isUncertain ? hatching([ring], { spacingMm: 1.3, angleDeg: -45, stroke: doubtLine }) : []),
    ...(square.isMarked ? [lineMark(markLine, ...ring, ring[0])] : []),
  ];
}

/** A number on a patch of paper, so that hull lines do not cross it out. */
function numberMarks({ box, text }: PlanSquare, frame: PlanFrame): Mark[] {
  const [left, bottom] = frame.place(box[0], box[1]);
  const [right, top] = frame.place(box[2], box[3]);
  const sizeMm = Math.min(2.4, (right - left) / (0.62 * text.length + 0.8));
  if (sizeMm < 1) return [];
  const middle: Point = [(left + right) / 2, (top + bottom) / 2];
  const width = sizeMm * (0.6 * text.length + 0.3);
  return [
    {
      kind: 'area',
      rings: [rectangle(middle[0] - width / 2, middle[1] - 0.55 * sizeMm, width, 1.1 * sizeMm)],
      fill: day.paper,
      opacity: 0.8,
    },
    textMark(text, [middle[0], middle[1] + 0.36 * sizeMm], { anchor: 'middle', sizeMm, weight: 'bold' }),
  ];
}

function legend(spec: SquaresPlot, levels: readonly number[]): LegendRow[] {
  const swatch = (x: number, y: number, widthMm: number) => rectangle(x, y - 1.3, widthMm, 2.6);
  const area = (name: string, fill: string, more: (ring: [number, number][]) => Mark[] = () => []): LegendRow => ({
    name,
    sample: (x, y, widthMm) => [
      { kind: 'area', rings: [swatch(x, y, widthMm)], fill, stroke: fineLine },
      ...more(swatch(x, y, widthMm)),
    ],
  });
  const line = (name: string, stroke: Stroke): LegendRow => ({
    name,
    sample: (x, y, widthMm) => [lineMark(stroke, [x, y], [x + widthMm, y])],
  });
  const text = (value: number) => numberText(value, { digits: 2 });
  return [
    ...levels.map((level, i) => {
      const range =
        i + 1 === levels.length
          ? `${text(level)} and more`
          : i === 0
            ? `below ${text(levels[1])}`
            : `${text(level)} to ${text(levels[i + 1])}`;
      return area(
        `${i === 0 ? `${spec.valueName}, ` : ''}${range}${i === 0 ? ` ${unitText(spec.unit)}` : ''}`,
        colourOf(level, levels),
      );
    }),
    { name: spec.textName, sample: (x, y) => [textMark('12', [x + 2.6, y + 0.9], { weight: 'bold' })] },
    ...(spec.squares.some(({ isUncertain }) => isUncertain)
      ? [
          area(spec.uncertainName, day.paper, (ring) =>
            hatching([ring], { spacingMm: 1.3, angleDeg: -45, stroke: doubtLine }),
          ),
        ]
      : []),
    ...(spec.squares.some(({ isMarked }) => isMarked) ? [line(spec.markName, markLine)] : []),
    ...(spec.hull.length > 0 ? [line('hull', hullLine)] : []),
    ...(spec.axis ? [line('ship axis', axisLine)] : []),
    area('dug area', dugFill, (ring) => [lineMark(windowLine, ...ring, ring[0])]),
  ];
}
