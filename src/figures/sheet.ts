import { day } from './palette.js';
import type { Mark, Stroke } from './scene.js';
import { textWidthMm, wrapText } from './text-width.js';

/** Widest sheet that stands between the margins of an A4 page, mm. */
export const sheetWidthMm = 180;
/** From the edge of the paper to the neatline, mm. */
export const edgeMm = 3;
/** From the neatline to what is drawn inside, mm. */
export const padMm = 5;

export const inkLine: Stroke = { colour: day.ink, widthMm: 0.25 };
export const fineLine: Stroke = { colour: day.quiet, widthMm: 0.12 };
const ruleLine: Stroke = { colour: day.rule, widthMm: 0.15 };

const titleSizeMm = 4.2;
const subtitleSizeMm = 3;
export const labelSizeMm = 2.6;
const noteSizeMm = 2.4;
const lineHeight = 1.35;
const sampleWidthMm = 9;

/** A row of the legend: its words and how its sample is drawn, in a place 9 mm wide. */
export interface LegendRow {
  readonly name: string;
  /** @param x left end, @param y middle of the row, @param widthMm of the sample */
  sample(x: number, y: number, widthMm: number): readonly Mark[];
}

/** A part of the sheet whose height is known before it is placed. */
export interface Placeable {
  readonly heightMm: number;
  place(x: number, y: number): Mark;
}

/** Text with its usual look: ink, label size, from its left end. `at` is the start of the baseline. */
export function textMark(
  text: string,
  at: readonly [number, number],
  look: Partial<Omit<Extract<Mark, { kind: 'text' }>, 'kind' | 'text' | 'at'>> = {},
): Mark {
  return { kind: 'text', at, text, sizeMm: labelSizeMm, colour: day.ink, anchor: 'start', ...look };
}

/** An open line through some points. */
export function lineMark(stroke: Stroke, ...points: (readonly [number, number])[]): Mark {
  return { kind: 'line', points, stroke };
}

/** A closed rectangle as corners. */
export function rectangle(x: number, y: number, widthMm: number, heightMm: number): [number, number][] {
  return [
    [x, y],
    [x + widthMm, y],
    [x + widthMm, y + heightMm],
    [x, y + heightMm],
  ];
}

/** The sentence that heads the sheet and the quieter line under it. */
export function heading(title: string, subtitle: string | undefined, widthMm: number): Placeable {
  const titleLines = wrapText(title, widthMm, titleSizeMm, 'bold');
  const subtitleLines = subtitle === undefined ? [] : wrapText(subtitle, widthMm, subtitleSizeMm);
  const titleHeight = titleLines.length * titleSizeMm * 1.25;
  return {
    heightMm: titleHeight + (subtitleLines.length > 0 ? 0.8 : 0) + subtitleLines.length * subtitleSizeMm * lineHeight,
    place: (x, y) => ({
      kind: 'group',
      name: 'heading',
      marks: [
        ...titleLines.map((line, i) =>
          textMark(line, [x, y + titleSizeMm * (0.85 + 1.25 * i)], { sizeMm: titleSizeMm, weight: 'bold' }),
        ),
        ...subtitleLines.map((line, i) =>
          textMark(line, [x, y + titleHeight + 0.8 + subtitleSizeMm * (0.85 + lineHeight * i)], {
            sizeMm: subtitleSizeMm,
            colour: day.quiet,
          }),
        ),
      ],
    }),
  };
}

/**
 * The title block: the legend, then one compartment for each note, below each other or (when wide) side by side. It
 * stands in the lower right corner of the neatline, so only its upper and left sides are drawn.
 */
export function titleBlock(legend: readonly LegendRow[], notes: readonly string[], widthMm: number): Placeable {
  const wide = widthMm >= 76 && legend.length > 0 && notes.length > 0;
  const columnMm = wide ? widthMm / 2 : widthMm;
  const rows = legendColumn(legend, columnMm);
  const texts = noteColumn(notes, columnMm);
  const heightMm = wide ? Math.max(rows.heightMm, texts.heightMm) : rows.heightMm + texts.heightMm;
  const place = (x: number, y: number): Mark => {
    const marks: Mark[] = [
      { kind: 'area', rings: [rectangle(x, y, widthMm, heightMm)], fill: day.paper },
      lineMark(inkLine, [x, y + heightMm], [x, y], [x + widthMm, y]),
      rows.place(x, y),
    ];
    if (wide)
      marks.push(lineMark(ruleLine, [x + columnMm, y], [x + columnMm, y + heightMm]), texts.place(x + columnMm, y));
    else {
      if (rows.heightMm > 0) marks.push(lineMark(ruleLine, [x, y + rows.heightMm], [x + widthMm, y + rows.heightMm]));
      marks.push(texts.place(x, y + rows.heightMm));
    }
    return { kind: 'group', name: 'title block', marks };
  };
  return { heightMm, place };
}

const blockPadMm = 2.4;

function legendColumn(legend: readonly LegendRow[], widthMm: number): Placeable {
  const step = labelSizeMm * lineHeight;
  const textMm = widthMm - 2 * blockPadMm - sampleWidthMm - 2;
  const rows = legend.map((row) => ({ row, lines: wrapText(row.name, textMm, labelSizeMm) }));
  const rowHeight = (lines: readonly string[]) => Math.max(1, lines.length) * step + 0.9;
  const heightMm = rows.length === 0 ? 0 : rows.reduce((sum, r) => sum + rowHeight(r.lines), 2 * 1.6 - 0.9);
  const place = (x: number, y: number): Mark => {
    const marks: Mark[] = [];
    let top = y + 1.6;
    for (const { row, lines } of rows) {
      marks.push(...row.sample(x + blockPadMm, top + step / 2, sampleWidthMm));
      lines.forEach((text, i) => {
        const baseline = top + step * (i + 0.5) + 0.36 * labelSizeMm;
        marks.push(textMark(text, [x + blockPadMm + sampleWidthMm + 2, baseline]));
      });
      top += rowHeight(lines);
    }
    return { kind: 'group', name: 'legend', marks };
  };
  return { heightMm, place };
}

/** The first note in ink, the others quieter, a rule between them. */
function noteColumn(notes: readonly string[], widthMm: number): Placeable {
  const step = noteSizeMm * lineHeight;
  const compartments = notes
    .map((note) => wrapText(note, widthMm - 2 * blockPadMm, noteSizeMm))
    .filter((lines) => lines.length > 0);
  const noteHeight = (lines: readonly string[]) => lines.length * step + 2 * 1.1;
  const place = (x: number, y: number): Mark => {
    const marks: Mark[] = [];
    let top = y;
    compartments.forEach((lines, k) => {
      if (k > 0) marks.push(lineMark(ruleLine, [x, top], [x + widthMm, top]));
      lines.forEach((text, i) => {
        const baseline = top + 1.1 + step * (i + 0.5) + 0.36 * noteSizeMm;
        const colour = k === 0 ? day.ink : day.quiet;
        marks.push(textMark(text, [x + blockPadMm, baseline], { sizeMm: noteSizeMm, colour }));
      });
      top += noteHeight(lines);
    });
    return { kind: 'group', name: 'notes', marks };
  };
  return { heightMm: compartments.reduce((sum, lines) => sum + noteHeight(lines), 0), place };
}

/** Paper and the line that frames the whole sheet. */
export function paper(heightMm: number): Mark[] {
  return [
    { kind: 'area', rings: [rectangle(0, 0, sheetWidthMm, heightMm)], fill: day.paper },
    {
      kind: 'area',
      rings: [rectangle(edgeMm, edgeMm, sheetWidthMm - 2 * edgeMm, heightMm - 2 * edgeMm)],
      fill: null,
      stroke: inkLine,
    },
  ];
}

/** Widest of some labels, mm. */
export function widestMm(texts: readonly string[], sizeMm = labelSizeMm): number {
  return texts.reduce((widest, text) => Math.max(widest, textWidthMm(text, sizeMm)), 0);
}
