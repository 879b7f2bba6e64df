import { niceTicks, numberText, tickTexts } from './axes.js';
import { classColours, day } from './palette.js';
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

/** A value with its interval; null = not known, and left out. */
export interface IntervalRow {
  readonly name: string;
  readonly value: number | null;
  readonly low: number | null;
  /** null where `low` is known: the interval has no end */
  readonly high: number | null;
  /** a second, shorter interval drawn as a bar over the first */
  readonly inner?: { readonly low: number | null; readonly high: number | null };
}

/** Rows that share one axis. */
export interface IntervalPanel {
  readonly title: string;
  readonly rows: readonly IntervalRow[];
  /** ratio: a logarithmic axis with a line at 1; amount: from 0 */
  readonly scale: 'ratio' | 'amount';
}

/** Values with intervals, panel below panel. */
export interface IntervalPlot {
  readonly title: string;
  readonly subtitle?: string;
  readonly panels: readonly IntervalPanel[];
  /** what the intervals are, for the legend */
  readonly intervalName: string;
  readonly innerName?: string;
  readonly notes: readonly string[];
}

const blockWidthMm = 54;
const rowMm = 6.2;
const ruleStroke: Stroke = { colour: day.rule, widthMm: 0.12 };
const intervalStroke: Stroke = { colour: day.ink, widthMm: 0.35 };
const oneStroke: Stroke = { colour: day.quiet, widthMm: 0.3, dashMm: [1.6, 1.1] };
const innerColour = classColours[4];
const innerMm = 1.8;

/** Values as points on a line each, their intervals beside them, with the number written at the end of the row. */
export function plotIntervals(spec: IntervalPlot): Scene {
  const head = heading(spec.title, spec.subtitle, sheetWidthMm - 2 * (edgeMm + padMm));
  const block = titleBlock(legendRows(spec), spec.notes, blockWidthMm);
  const names = spec.panels.flatMap((panel) => panel.rows.map((row) => row.name));
  const left = edgeMm + padMm + Math.min(44, widestMm(names)) + 2.5;
  const right = sheetWidthMm - edgeMm - blockWidthMm - padMm;
  let y = edgeMm + padMm + head.heightMm + 4;
  const marks: Mark[] = [];
  for (const panel of spec.panels) {
    const drawn = panelMarks(panel, { left, right, top: y });
    marks.push({ kind: 'group', name: panel.title, marks: drawn.marks });
    y += drawn.heightMm + 4;
  }
  const heightMm = Math.max(y, edgeMm + padMm + head.heightMm + 4 + block.heightMm) + edgeMm;
  return {
    widthMm: sheetWidthMm,
    heightMm,
    title: spec.subtitle === undefined ? spec.title : `${spec.title} ${spec.subtitle}`,
    marks: [
      ...paper(heightMm),
      head.place(edgeMm + padMm, edgeMm + padMm),
      ...marks,
      block.place(sheetWidthMm - edgeMm - blockWidthMm, heightMm - edgeMm - block.heightMm),
    ],
  };
}

/** How values of a panel become millimetres. */
interface Axis {
  readonly ticks: readonly number[];
  readonly texts: readonly string[];
  at(value: number): number;
  readonly low: number;
  readonly high: number;
}

const isKnown = (v: number | null | undefined): v is number => typeof v === 'number' && Number.isFinite(v);

function axisOf({ rows, scale }: IntervalPanel, left: number, right: number): Axis {
  const values = rows.flatMap((row) => [row.value, row.low, row.high, row.inner?.low, row.inner?.high]).filter(isKnown);
  if (scale === 'amount') {
    const high = Math.max(0, ...values);
    const top = high > 0 ? 1.04 * high : 1;
    const ticks = niceTicks(0, top, 5);
    return {
      ticks,
      texts: tickTexts(ticks),
      at: (v) => left + (Math.min(v, top) / top) * (right - left),
      low: 0,
      high: top,
    };
  }
  const positive = values.filter((v) => v > 0);
  // at least from a half to two, at most a thousandfold to either side: a ratio without end would leave no room
  const low = Math.max(1e-3, Math.min(0.5, ...positive) / 1.08);
  const high = Math.min(1e3, Math.max(2, ...positive) * 1.08);
  const ticks = roundRatios(low, high);
  const span = Math.log(high / low);
  return {
    ticks,
    texts: ticks.map((t) => numberText(t)),
    at: (v) => left + (Math.log(Math.min(high, Math.max(low, v)) / low) / span) * (right - left),
    low,
    high,
  };
}

/** Ratios that read well: 1, 2, 5 times powers of ten, or only powers where they would crowd. */
function roundRatios(low: number, high: number): number[] {
  const steps = Math.log10(high / low) > 2.2 ? [1] : [1, 2, 5];
  const out: number[] = [];
  for (let k = -3; k <= 3; k++) {
    for (const step of steps) {
      const value = Number((step * 10 ** k).toPrecision(1));
      if (value >= low && value <= high) out.push(value);
    }
  }
  return out;
}

function panelMarks(
  panel: IntervalPanel,
  { left, right, top }: { readonly left: number; readonly right: number; readonly top: number },
): { readonly marks: Mark[]; readonly heightMm: number } {
  const widestValue = 13;
  const end = right - widestValue;
  const axis = axisOf(panel, left, end);
  const first = top + labelSizeMm + 2.4;
  const bottom = first + panel.rows.length * rowMm;
  const marks: Mark[] = [
    textMark(panel.title, [edgeMm + padMm, top + labelSizeMm], { weight: 'bold' }),
    ...axis.ticks.map((t) => lineMark(ruleStroke, [axis.at(t), first], [axis.at(t), bottom])),
    lineMark(inkLine, [left, bottom], [end, bottom]),
    ...axis.ticks.map((t, i) => textMark(axis.texts[i], [axis.at(t), bottom + labelSizeMm + 1], { anchor: 'middle' })),
    ...(panel.scale === 'ratio' ? [lineMark(oneStroke, [axis.at(1), first], [axis.at(1), bottom])] : []),
  ];
  panel.rows.forEach((row, k) => {
    marks.push(...rowMarks(row, axis, { left, end, right, y: first + (k + 0.5) * rowMm }));
  });
  return { marks, heightMm: bottom + labelSizeMm + 1 - top };
}

function rowMarks(
  row: IntervalRow,
  axis: Axis,
  { left, end, right, y }: { readonly left: number; readonly end: number; readonly right: number; readonly y: number },
): Mark[] {
  const baseline = y + 0.36 * labelSizeMm;
  const marks: Mark[] = [
    textMark(row.name, [left - 2, baseline], { anchor: 'end' }),
    textMark(isKnown(row.value) ? numberText(row.value, { digits: 3 }) : 'not known', [right, baseline], {
      anchor: 'end',
    }),
  ];
  if (isKnown(row.low)) {
    const from = axis.at(row.low);
    const to = isKnown(row.high) ? axis.at(row.high) : end;
    marks.push(lineMark(intervalStroke, [from, y], [to, y]));
    marks.push(lineMark(intervalStroke, [from, y - 0.9], [from, y + 0.9]));
    // an interval without end, or beyond the axis, ends in an arrow instead of a stop
    const isOpen = !isKnown(row.high) || row.high > axis.high;
    marks.push(
      isOpen
        ? lineMark(intervalStroke, [to - 1, y - 0.9], [to, y], [to - 1, y + 0.9])
        : lineMark(intervalStroke, [to, y - 0.9], [to, y + 0.9]),
    );
  }
  const { inner } = row;
  if (inner && isKnown(inner.low)) {
    const from = axis.at(inner.low);
    const to = isKnown(inner.high) ? axis.at(inner.high) : end;
    marks.push({
      kind: 'area',
      rings: [rectangle(from, y - innerMm / 2, Math.max(0.2, to - from), innerMm)],
      fill: innerColour,
      opacity: 0.55,
    });
  }
  if (isKnown(row.value)) {
    marks.push({ kind: 'symbol', symbol: 'circle', at: [axis.at(row.value), y], sizeMm: 2, colour: day.ink });
  }
  return marks;
}

function legendRows(spec: IntervalPlot): LegendRow[] {
  const { innerName } = spec;
  return [
    {
      name: spec.intervalName,
      sample: (x, y, widthMm) => [
        lineMark(intervalStroke, [x, y], [x + widthMm, y]),
        lineMark(intervalStroke, [x, y - 0.9], [x, y + 0.9]),
        lineMark(intervalStroke, [x + widthMm, y - 0.9], [x + widthMm, y + 0.9]),
        { kind: 'symbol', symbol: 'circle', at: [x + widthMm / 2, y], sizeMm: 2, colour: day.ink },
      ],
    },
    ...(innerName === undefined
      ? []
      : [
          {
            name: innerName,
            sample: (x: number, y: number, widthMm: number): Mark[] => [
              {
                kind: 'area',
                rings: [rectangle(x, y - innerMm / 2, widthMm, innerMm)],
                fill: innerColour,
                opacity: 0.55,
                stroke: fineLine,
              },
            ],
          },
        ]),
    ...(spec.panels.some((panel) => panel.scale === 'ratio')
      ? [
          {
            name: '1: equal rates',
            sample: (x: number, y: number, widthMm: number) => [lineMark(oneStroke, [x, y], [x + widthMm, y])],
          },
        ]
      : []),
  ];
}
