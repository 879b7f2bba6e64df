import { contrast, day, differenceRamp, type Ramp, rampColour, thicknessRamp } from './palette.js';
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
import { textWidthMm } from './text-width.js';

/** How a value of a matrix looks. */
export interface MatrixCell {
  /** place on its ramp, 0 to 1; null = not known: left empty */
  readonly share: number | null;
  /** difference: two hues that part in the middle; amount: one hue, light to dark */
  readonly ramp: 'difference' | 'amount';
  /** written into the cell where there is room */
  readonly text: string;
  /** clear: full colour and bold; faint: may be chance, colour thinned */
  readonly strength: 'clear' | 'faint';
}

/** One joining of the tree beside a matrix: numbers below the number of labels are labels, others earlier joinings. */
export interface MatrixJoining {
  readonly left: number;
  readonly right: number;
  /** 0 alike in everything, 1 in nothing */
  readonly share: number;
}

/** Things compared with each other, all by all. */
export interface MatrixPlot {
  readonly title: string;
  readonly subtitle?: string;
  /** in the order of rows and columns */
  readonly labels: readonly string[];
  cell(row: number, column: number): MatrixCell;
  /** what the parts of the matrix show, with a ramp each, for the legend */
  readonly parts: readonly { readonly name: string; readonly ramp: MatrixCell['ramp'] }[];
  /** joinings of the labels, whose order lets no branches cross */
  readonly tree?: readonly MatrixJoining[];
  readonly notes: readonly string[];
}

const ramps: Readonly<Record<MatrixCell['ramp'], Ramp>> = { difference: differenceRamp, amount: thicknessRamp };
const treeWidthMm = 20;
const widestLabelMm = 34;
const largestCellMm = 11;
/** colour left in a cell that may be chance */
const faintShare = 0.3;
const gridLine: Stroke = { colour: day.paper, widthMm: 0.3 };
const treeLine: Stroke = { colour: day.quiet, widthMm: 0.25 };

type Point = readonly [number, number];

/** A matrix of things against each other, with the tree that sets their order, on a sheet. */
export function plotMatrix(spec: MatrixPlot): Scene {
  const n = spec.labels.length;
  const innerMm = sheetWidthMm - 2 * (edgeMm + padMm);
  const head = heading(spec.title, spec.subtitle, innerMm);
  const block = titleBlock(legendRows(spec), spec.notes, sheetWidthMm - 2 * edgeMm);
  const labels = spec.labels.map((label) => cutTo(label, widestLabelMm));
  const labelMm = widestMm(labels);
  const treeMm = spec.tree && n > 1 ? treeWidthMm + 2 : 0;
  const cellMm = Math.min(largestCellMm, (innerMm - labelMm - 2 - treeMm) / Math.max(1, n));
  const left = edgeMm + padMm + labelMm + 2;
  const top = edgeMm + padMm + head.heightMm + 5 + labelMm + 1.5;
  const bottom = top + n * cellMm;
  const heightMm = bottom + 5 + block.heightMm + edgeMm;
  return {
    widthMm: sheetWidthMm,
    heightMm,
    title: spec.subtitle === undefined ? spec.title : `${spec.title} ${spec.subtitle}`,
    marks: [
      ...paper(heightMm),
      head.place(edgeMm + padMm, edgeMm + padMm),
      { kind: 'group', name: 'labels', marks: labelMarks(labels, [left, top], cellMm) },
      { kind: 'group', name: 'matrix', marks: matrixMarks(spec, [left, top], cellMm) },
      ...(spec.tree && n > 1
        ? [
            {
              kind: 'group',
              name: 'tree',
              marks: treeMarks(spec.tree, n, { at: [left + n * cellMm + 1.5, top], cellMm }),
            } satisfies Mark,
          ]
        : []),
      block.place(edgeMm, heightMm - edgeMm - block.heightMm),
    ],
  };
}

function cutTo(label: string, widthMm: number): string {
  if (textWidthMm(label, labelSizeMm) <= widthMm) return label;
  let kept = label;
  while (kept.length > 1 && textWidthMm(`${kept}…`, labelSizeMm) > widthMm) kept = kept.slice(0, -1);
  return `${kept}…`;
}

function labelMarks(labels: readonly string[], [left, top]: Point, cellMm: number): Mark[] {
  const sizeMm = Math.min(labelSizeMm, 0.9 * cellMm);
  return labels.flatMap((label, k) => {
    const middle = (k + 0.5) * cellMm + 0.36 * sizeMm;
    return [
      textMark(label, [left - 1.5, top + middle], { anchor: 'end', sizeMm }),
      textMark(label, [left + middle, top - 1.5], { turnDeg: -90, sizeMm }),
    ];
  });
}

/** Colour of a cell on paper; thinned when it may be chance. */
function cellColour(cell: MatrixCell): string {
  if (cell.share === null) return day.paper;
  const full = rampColour(ramps[cell.ramp], cell.share);
  if (cell.strength === 'clear') return full;
  return rampColour(
    [
      [0, day.paper],
      [1, full],
    ],
    faintShare,
  );
}

function matrixMarks(spec: MatrixPlot, [left, top]: Point, cellMm: number): Mark[] {
  const n = spec.labels.length;
  const marks: Mark[] = [];
  for (let row = 0; row < n; row++) {
    for (let column = 0; column < n; column++) {
      const cell = spec.cell(row, column);
      const [x, y] = [left + column * cellMm, top + row * cellMm];
      const colour = cellColour(cell);
      marks.push({ kind: 'area', rings: [rectangle(x, y, cellMm, cellMm)], fill: colour, stroke: gridLine });
      const weight = cell.strength === 'clear' ? 'bold' : 'normal';
      const sizeMm = Math.min(labelSizeMm, (0.86 * cellMm) / Math.max(1, textWidthMm(cell.text, 1, weight)));
      // smaller than this nobody reads it on paper
      if (cell.text === '' || sizeMm < 1.2) continue;
      marks.push(
        textMark(cell.text, [x + cellMm / 2, y + cellMm / 2 + 0.36 * sizeMm], {
          anchor: 'middle',
          sizeMm,
          weight,
          colour: contrast(day.ink, colour) >= contrast(day.paper, colour) ? day.ink : day.paper,
        }),
      );
    }
  }
  if (n > 0) {
    const side = n * cellMm;
    marks.push({ kind: 'area', rings: [rectangle(left, top, side, side)], fill: null, stroke: inkLine });
    for (let k = 0; k < n; k++) {
      marks.push({
        kind: 'area',
        rings: [rectangle(left + k * cellMm, top + k * cellMm, cellMm, cellMm)],
        fill: null,
        stroke: fineLine,
      });
    }
  }
  return marks;
}

/** Branches from the rows of the matrix to the right: what is joined near the matrix is alike. */
function treeMarks(
  tree: readonly MatrixJoining[],
  n: number,
  { at, cellMm }: { readonly at: Point; readonly cellMm: number },
): Mark[] {
  const [left, top] = at;
  const ends: Point[] = Array.from({ length: n }, (_, k) => [left, top + (k + 0.5) * cellMm]);
  return tree.flatMap(({ left: one, right: other, share }): Mark[] => {
    const x = left + treeWidthMm * Math.min(1, Math.max(0, share));
    const [a, b] = [ends[one], ends[other]];
    ends.push([x, (a[1] + b[1]) / 2]);
    return [lineMark(treeLine, a, [x, a[1]], [x, b[1]], b)];
  });
}

function legendRows(spec: MatrixPlot): LegendRow[] {
  const steps = 9;
  return [
    ...spec.parts.map(
      ({ name, ramp }): LegendRow => ({
        name,
        sample: (x, y, widthMm) =>
          Array.from({ length: steps }, (_, k) => ({
            kind: 'area',
            rings: [rectangle(x + (k * widthMm) / steps, y - 1.3, widthMm / steps, 2.6)],
            fill: rampColour(ramps[ramp], k / (steps - 1)),
          })),
      }),
    ),
    ...(spec.tree
      ? [
          {
            name: 'tree: joined near the matrix = alike, at its far end = nothing in common',
            sample: (x: number, y: number, widthMm: number) => [lineMark(treeLine, [x, y], [x + widthMm, y])],
          },
        ]
      : []),
  ];
}
