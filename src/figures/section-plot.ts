import { fixedText, niceTicks, tickTexts } from './axes.js';
import { day } from './palette.js';
import { pointLook } from './plan-legend.js';
import type { PointGroup } from './plots.js';
import type { Mark, Scene, Stroke } from './scene.js';
import {
  edgeMm,
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

type Point = readonly [number, number];

/** A surface cut by the section: elevations at places along it; a value that is not finite breaks the line. */
export interface SectionSurface {
  readonly name: string;
  readonly along: readonly number[];
  readonly elevation: readonly number[];
  readonly pattern: SectionPattern;
  /** half width of the 95 % interval at each place, where it is worth drawing */
  readonly half95?: readonly number[];
}

/** Surfaces are told apart by their line, not by colour: a section is often printed in black. */
export type SectionPattern = 'solid' | 'heavy' | 'dashed' | 'dotted' | 'chained' | 'sounded';

/** Finds of one kind carried onto the section. */
export interface SectionFinds extends PointGroup {
  /** [along, lowest, highest] of finds whose elevation is known as a range only */
  readonly ranges: readonly (readonly [number, number, number])[];
}

export interface SectionPlot {
  readonly title: string;
  readonly subtitle?: string;
  readonly lengthM: number;
  /** how many times heights are drawn larger than lengths */
  readonly exaggeration: number;
  readonly datumName: string;
  readonly surfaces: readonly SectionSurface[];
  /** ground between two of the surfaces, by their names: lightly filled */
  readonly fill?: { readonly name: string; readonly upper: string; readonly lower: string };
  readonly finds: readonly SectionFinds[];
  /** where the line bends, metres along it */
  readonly bends: readonly number[];
  readonly notes: readonly string[];
}

const strokes: Readonly<Record<SectionPattern, Stroke>> = {
  heavy: { colour: day.ink, widthMm: 0.55 },
  solid: { colour: day.ink, widthMm: 0.3 },
  dashed: { colour: day.ink, widthMm: 0.25, dashMm: [2, 1] },
  dotted: { colour: day.ink, widthMm: 0.3, dashMm: [0.3, 0.9] },
  chained: { colour: day.ink, widthMm: 0.25, dashMm: [3, 0.8, 0.5, 0.8] },
  sounded: { colour: day.accent, widthMm: 0.3, dashMm: [5, 1] },
};
const ruleStroke: Stroke = { colour: day.rule, widthMm: 0.12 };
const bendStroke: Stroke = { colour: day.quiet, widthMm: 0.15, dashMm: [0.8, 0.8] };
const tallestMm = 110;
const tickMm = 1.2;
const leads = [1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 7.5, 10];

/** A section at a round scale: surfaces by line pattern, finds by symbol, the exaggeration of heights stated. */
export function plotSection(spec: SectionPlot): Scene {
  const head = heading(spec.title, spec.subtitle, sheetWidthMm - 2 * (edgeMm + padMm));
  const [low, high] = heights(spec);
  const yTicks = niceTicks(low, high, 6);
  const yTexts = tickTexts(yTicks);
  const left = edgeMm + padMm + widestMm(yTexts) + tickMm + 1;
  const room = sheetWidthMm - edgeMm - padMm - left;
  const scale = roundScale(spec.lengthM, (high - low) * spec.exaggeration, room);
  const mmPerM = 1000 / scale;
  const upMmPerM = mmPerM * spec.exaggeration;
  const right = left + spec.lengthM * mmPerM;
  const top = edgeMm + padMm + head.heightMm + 3 + labelSizeMm + 2;
  const bottom = top + (high - low) * upMmPerM;
  const place = (along: number, elevation: number): Point => [
    left + along * mmPerM,
    bottom - (elevation - low) * upMmPerM,
  ];

  const block = titleBlock(legendRows(spec), notesOf(spec, scale), 104);
  const blockTop = bottom + tickMm + 2 * labelSizeMm + 5;
  const heightMm = blockTop + block.heightMm + edgeMm;
  return {
    widthMm: sheetWidthMm,
    heightMm,
    title: spec.subtitle === undefined ? spec.title : `${spec.title} ${spec.subtitle}`,
    marks: [
      ...paper(heightMm),
      head.place(edgeMm + padMm, edgeMm + padMm),
      { kind: 'group', name: 'axes', marks: axes({ spec, left, right, top, bottom, yTicks, yTexts, place, low }) },
      ...spec.surfaces.flatMap((surface) => bandMarks(surface, place)),
      ...fillMarks(spec, place),
      ...spec.surfaces.map(
        (surface): Mark => ({ kind: 'group', name: surface.name, marks: surfaceMarks(surface, place) }),
      ),
      ...spec.finds.map((finds): Mark => ({ kind: 'group', name: finds.name, marks: findMarks(finds, place) })),
      block.place(sheetWidthMm - edgeMm - 104, blockTop),
    ],
  };
}

/** Lowest and highest elevation drawn, with a little air. */
function heights(spec: SectionPlot): [number, number] {
  let low = Infinity;
  let high = -Infinity;
  const take = (v: number) => {
    if (!Number.isFinite(v)) return;
    low = Math.min(low, v);
    high = Math.max(high, v);
  };
  for (const { elevation, half95 } of spec.surfaces) {
    elevation.forEach((z, i) => {
      take(z - (half95?.[i] ?? 0));
      take(z + (half95?.[i] ?? 0));
    });
  }
  for (const finds of spec.finds) {
    for (const [, z] of finds.points) take(z);
    for (const [, from, to] of finds.ranges) {
      take(from);
      take(to);
    }
  }
  if (!(low <= high)) return [0, 1];
  const air = Math.max(0.05, 0.05 * (high - low));
  return [low - air, high + air];
}

/** Smallest round denominator at which the section fits its sheet. */
function roundScale(lengthM: number, heightM: number, roomMm: number): number {
  const needed = Math.max((lengthM * 1000) / roomMm, (heightM * 1000) / tallestMm, 1);
  const power = 10 ** Math.floor(Math.log10(needed));
  return power * (leads.find((lead) => lead * power >= needed - 1e-9) ?? 10);
}

function axes(at: {
  spec: SectionPlot;
  left: number;
  right: number;
  top: number;
  bottom: number;
  yTicks: readonly number[];
  yTexts: readonly string[];
  place: (along: number, elevation: number) => Point;
  low: number;
}): Mark[] {
  const { spec, left, right, top, bottom, yTicks, yTexts, place, low } = at;
  const xTicks = niceTicks(0, spec.lengthM, 8);
  const xTexts = tickTexts(xTicks);
  const x = (along: number) => place(along, low)[0];
  const y = (elevation: number) => place(0, elevation)[1];
  return [
    ...yTicks.map((t) => lineMark(ruleStroke, [left, y(t)], [right, y(t)])),
    ...spec.bends.map((along) => lineMark(bendStroke, [x(along), top], [x(along), bottom])),
    lineMark(inkLine, [left, top], [left, bottom], [right, bottom], [right, top], [left, top]),
    ...yTicks.map((t) => lineMark(inkLine, [left - tickMm, y(t)], [left, y(t)])),
    ...xTicks.map((t) => lineMark(inkLine, [x(t), bottom], [x(t), bottom + tickMm])),
    ...yTicks.map((t, i) => textMark(yTexts[i], [left - tickMm - 0.8, y(t) + 0.36 * labelSizeMm], { anchor: 'end' })),
    ...xTicks.map((t, i) => textMark(xTexts[i], [x(t), bottom + tickMm + labelSizeMm + 0.4], { anchor: 'middle' })),
    textMark(`elevation, m (${spec.datumName})`, [edgeMm + padMm, top - 2.2], { weight: 'bold' }),
    textMark('along the section, m', [left, bottom + tickMm + 2 * labelSizeMm + 1.8], { weight: 'bold' }),
  ];
}

function runsOf(along: readonly number[], elevation: readonly number[]): number[][] {
  const runs: number[][] = [];
  let run: number[] = [];
  along.forEach((_, i) => {
    if (Number.isFinite(elevation[i])) run.push(i);
    else if (run.length > 0) {
      runs.push(run);
      run = [];
    }
  });
  if (run.length > 0) runs.push(run);
  return runs;
}

function surfaceMarks({ along, elevation, pattern }: SectionSurface, place: (a: number, z: number) => Point): Mark[] {
  return runsOf(along, elevation).map((run): Mark => {
    const points = run.map((i) => place(along[i], elevation[i]));
    return points.length > 1
      ? { kind: 'line', points, stroke: strokes[pattern] }
      : { kind: 'symbol', symbol: 'circle', at: points[0], sizeMm: 0.9, colour: day.ink };
  });
}

/** The ground within which a surface lies with 95 % certainty, lightly filled. */
function bandMarks({ name, along, elevation, half95 }: SectionSurface, place: (a: number, z: number) => Point): Mark[] {
  if (!half95) return [];
  const rings = runsOf(
    along,
    elevation.map((z, i) => z + half95[i]),
  )
    .filter((run) => run.length > 1)
    .map((run) => [
      ...run.map((i) => place(along[i], elevation[i] + half95[i])),
      ...[...run].reverse().map((i) => place(along[i], elevation[i] - half95[i])),
    ]);
  if (rings.length === 0) return [];
  return [{ kind: 'group', name: `${name}, 95 %`, marks: [{ kind: 'area', rings, fill: day.accent, opacity: 0.1 }] }];
}

function fillMarks({ fill, surfaces }: SectionPlot, place: (a: number, z: number) => Point): Mark[] {
  const upper = surfaces.find((s) => s.name === fill?.upper);
  const lower = surfaces.find((s) => s.name === fill?.lower);
  if (!fill || !upper || !lower) return [];
  const both = upper.elevation.map((z, i) => z - lower.elevation[i]);
  const rings = runsOf(upper.along, both)
    .filter((run) => run.length > 1)
    .map((run) => [
      ...run.map((i) => place(upper.along[i], upper.elevation[i])),
      ...[...run].reverse().map((i) => place(lower.along[i], lower.elevation[i])),
    ]);
  if (rings.length === 0) return [];
  return [{ kind: 'group', name: fill.name, marks: [{ kind: 'area', rings, fill: day.quiet, opacity: 0.18 }] }];
}

function findMarks(finds: SectionFinds, place: (a: number, z: number) => Point): Mark[] {
  const look = pointLook(finds.style);
  return [
    ...finds.ranges.map(
      ([along, from, to]): Mark =>
        lineMark({ colour: look.colour, widthMm: 0.25 }, place(along, from), place(along, to)),
    ),
    ...finds.points.map(([along, z]): Mark => ({ kind: 'symbol', at: place(along, z), sizeMm: 1.4, ...look })),
  ];
}

function notesOf(spec: SectionPlot, scale: number): string[] {
  const [first, ...rest] = spec.notes;
  const times = Number.isInteger(spec.exaggeration) ? fixedText(spec.exaggeration, 0) : String(spec.exaggeration);
  const stated =
    spec.exaggeration === 1
      ? `1 : ${fixedText(scale, Number.isInteger(scale) ? 0 : 1)}, heights not exaggerated`
      : `lengths 1 : ${fixedText(scale, Number.isInteger(scale) ? 0 : 1)}, heights drawn ${times} times as large`;
  return [...(first === undefined ? [] : [first]), stated, ...rest];
}

function legendRows(spec: SectionPlot): LegendRow[] {
  const rows: LegendRow[] = spec.surfaces.map((surface) => ({
    name: surface.half95 ? `${surface.name}, with its 95 % band` : surface.name,
    sample: (x, y, widthMm) => [
      ...(surface.half95
        ? [{ kind: 'area', rings: [rectangle(x, y - 1.3, widthMm, 2.6)], fill: day.accent, opacity: 0.1 } as const]
        : []),
      lineMark(strokes[surface.pattern], [x, y], [x + widthMm, y]),
    ],
  }));
  if (spec.fill) {
    const { name } = spec.fill;
    rows.push({
      name,
      sample: (x, y, widthMm) => [
        { kind: 'area', rings: [rectangle(x, y - 1.3, widthMm, 2.6)], fill: day.quiet, opacity: 0.18 },
      ],
    });
  }
  for (const finds of spec.finds) {
    rows.push({
      name: `${finds.name}, ${fixedText(finds.points.length + finds.ranges.length, 0)}`,
      sample: (x, y, widthMm) => [{ kind: 'symbol', at: [x + widthMm / 2, y], sizeMm: 1.6, ...pointLook(finds.style) }],
    });
  }
  if (spec.bends.length > 0) {
    rows.push({
      name: 'bend of the line',
      sample: (x, y, widthMm) => [lineMark(bendStroke, [x + widthMm / 2, y - 1.5], [x + widthMm / 2, y + 1.5])],
    });
  }
  return rows;
}
