import { fixedText, numberText, withUnit } from './axes.js';
import { day } from './palette.js';
import { northMarks, northsWidthMm, type PlanFrame, planFrame, scaleBar } from './plan-frame.js';
import type { Mark, Scene, Stroke } from './scene.js';
import {
  edgeMm,
  heading,
  type LegendRow,
  lineMark,
  padMm,
  paper,
  sheetWidthMm,
  textMark,
  titleBlock,
} from './sheet.js';
import { textWidthMm } from './text-width.js';

type Point = readonly [number, number];

/** A survey on a plan: points, the readings between them, and how well each point is known or how far it is off. */
export interface NetworkPlot {
  readonly title: string;
  readonly subtitle?: string;
  readonly points: readonly {
    readonly at: Point;
    readonly name: string;
    /** fixed: held; found: adjusted; weak: adjusted, and to be measured again; compared: known in two ways */
    readonly kind: 'fixed' | 'found' | 'weak' | 'compared';
  }[];
  readonly lines: readonly { readonly from: Point; readonly to: Point; readonly kind: 'reading' | 'suspect' }[];
  /** half axes in metres on the ground, azimuth clockwise from site_north */
  readonly ellipses: readonly {
    readonly at: Point;
    readonly semiMajorM: number;
    readonly semiMinorM: number;
    readonly azimuthDeg: number;
  }[];
  /** metres on the ground */
  readonly arrows: readonly { readonly at: Point; readonly dx: number; readonly dy: number }[];
  /** what ellipses and arrows show, for the legend */
  readonly enlargedName: string;
  readonly norths?: readonly { readonly name: string; readonly fromSiteNorthDeg: number }[];
  readonly notes: readonly string[];
}

const besideMm = 54;
/** Longest ellipse axis or arrow on the sheet, mm; most of the others are then still seen. */
const longestMm = 9;
const readingLine: Stroke = { colour: day.hatch, widthMm: 0.15 };
const suspectLine: Stroke = { colour: day.warning, widthMm: 0.35, dashMm: [1.6, 0.8] };
const enlargedLine: Stroke = { colour: day.accent, widthMm: 0.25 };
const mostNames = 80;

/** Plan of a survey network. Ellipses and arrows are enlarged so that they can be seen; the legend says how much. */
export function plotNetwork(spec: NetworkPlot): Scene {
  const head = heading(spec.title, spec.subtitle, sheetWidthMm - 2 * (edgeMm + padMm));
  const norths = spec.norths ?? [];
  const headBottom = edgeMm + padMm + head.heightMm;
  const frame = planFrame({ boxM: networkBox(spec), topMm: headBottom + 3.5, blockWidthMm: besideMm });
  const times = enlargement(spec, frame);
  const foot = { top: frame.bottomMm + 7, left: edgeMm + padMm, heightMm: 16 };
  const footWidth = northsWidthMm(norths) + 12 + frame.scaleBarMm;
  const blockWidth =
    frame.layout === 'beside' ? besideMm : Math.min(104, sheetWidthMm - 2 * edgeMm - padMm - footWidth - 6);
  const block = titleBlock(legendRows(spec, times), spec.notes, blockWidth);
  const heightMm =
    frame.layout === 'beside'
      ? Math.max(foot.top + foot.heightMm, headBottom + 4 + block.heightMm) + edgeMm
      : foot.top + Math.max(foot.heightMm, block.heightMm) + edgeMm;
  const footBase = heightMm - edgeMm - 4;
  return {
    widthMm: sheetWidthMm,
    heightMm,
    title: spec.subtitle === undefined ? spec.title : `${spec.title} ${spec.subtitle}`,
    marks: [
      ...paper(heightMm),
      head.place(edgeMm + padMm, edgeMm + padMm),
      { kind: 'group', name: 'grid', marks: frame.gridMarks },
      { kind: 'group', name: 'readings', marks: readingMarks(spec, frame) },
      { kind: 'group', name: spec.enlargedName, marks: enlargedMarks(spec, frame, times) },
      { kind: 'group', name: 'points', marks: pointMarks(spec, frame) },
      { kind: 'group', name: 'frame', marks: frame.frameMarks },
      { kind: 'group', name: 'norths', marks: northMarks(norths, [foot.left, footBase]) },
      { kind: 'group', name: 'scale', marks: scaleBar(frame, [foot.left + northsWidthMm(norths) + 6, footBase]) },
      block.place(sheetWidthMm - edgeMm - blockWidth, heightMm - edgeMm - block.heightMm),
    ],
  };
}

/** Box of all points in whole metres, with room for ellipses and names. */
function networkBox(spec: NetworkPlot): readonly [number, number, number, number] {
  const xs = spec.points.map(({ at }) => at[0]);
  const ys = spec.points.map(({ at }) => at[1]);
  if (xs.length === 0) return [0, 0, 1, 1];
  const [west, east] = [Math.min(...xs), Math.max(...xs)];
  const [south, north] = [Math.min(...ys), Math.max(...ys)];
  const air = Math.max(0.06 * Math.max(east - west, north - south), 0.5);
  return [Math.floor(west - air), Math.floor(south - air), Math.ceil(east + air), Math.ceil(north + air)];
}

/** The round number (1, 2, 5, 10 …) by which the longest ellipse or arrow still fits its room. */
function enlargement(spec: NetworkPlot, frame: PlanFrame): number {
  const longest = Math.max(
    0,
    ...spec.ellipses.map((ellipse) => ellipse.semiMajorM),
    ...spec.arrows.map(({ dx, dy }) => Math.hypot(dx, dy)),
  );
  if (!(longest > 0)) return 1;
  const room = longestMm / ((longest * 1000) / frame.scale);
  const power = 10 ** Math.floor(Math.log10(room));
  const lead = [5, 2, 1].find((v) => v * power <= room) ?? 1;
  return Math.min(1000, Math.max(1, Math.round(lead * power)));
}

function readingMarks(spec: NetworkPlot, frame: PlanFrame): Mark[] {
  // suspects last, so that they lie on top
  return ['reading', 'suspect'].flatMap((kind) =>
    spec.lines
      .filter((line) => line.kind === kind)
      .map((line) =>
        lineMark(kind === 'suspect' ? suspectLine : readingLine, frame.place(...line.from), frame.place(...line.to)),
      ),
  );
}

function enlargedMarks(spec: NetworkPlot, frame: PlanFrame, times: number): Mark[] {
  const mmPerM = (1000 / frame.scale) * times;
  const ellipses = spec.ellipses.map(({ at, semiMajorM, semiMinorM, azimuthDeg }): Mark => {
    const [cx, cy] = frame.place(...at);
    const turn = (azimuthDeg * Math.PI) / 180;
    const corners = Array.from({ length: 37 }, (_, i): Point => {
      const t = (i * Math.PI) / 18;
      const along = semiMajorM * mmPerM * Math.cos(t);
      const across = semiMinorM * mmPerM * Math.sin(t);
      return [
        cx + along * Math.sin(turn) + across * Math.cos(turn),
        cy - along * Math.cos(turn) + across * Math.sin(turn),
      ];
    });
    return { kind: 'line', points: corners, stroke: enlargedLine };
  });
  const arrows = spec.arrows.flatMap(({ at, dx, dy }): Mark[] => {
    const [x, y] = frame.place(...at);
    const [vx, vy] = [dx * mmPerM, -dy * mmPerM];
    const length = Math.hypot(vx, vy);
    if (!(length > 0.05)) return [];
    const tip: Point = [x + vx, y + vy];
    const barb = (side: number): Point => [
      tip[0] - (1.1 * vx) / length + (side * 0.5 * vy) / length,
      tip[1] - (1.1 * vy) / length - (side * 0.5 * vx) / length,
    ];
    return [lineMark(enlargedLine, [x, y], tip), lineMark(enlargedLine, barb(1), tip, barb(-1))];
  });
  return [...ellipses, ...arrows];
}

const symbols = { fixed: 'triangle-up', found: 'circle', weak: 'ring', compared: 'triangle-up' } as const;
const symbolColours = { fixed: day.ink, found: day.ink, weak: day.warning, compared: day.ink } as const;
const symbolSizes = { fixed: 2.2, found: 1, weak: 1.6, compared: 2.2 } as const;
const nameSizeMm = 1.9;

function pointMarks(spec: NetworkPlot, frame: PlanFrame): Mark[] {
  const marks = spec.points.map(
    ({ at, kind }): Mark => ({
      kind: 'symbol',
      symbol: symbols[kind],
      at: frame.place(...at),
      sizeMm: symbolSizes[kind],
      colour: symbolColours[kind],
    }),
  );
  if (spec.points.length > mostNames) return marks;
  // a name that would lie on another is left out: the layer and the table have them all
  const taken: { readonly x: number; readonly y: number; readonly widthMm: number }[] = [];
  for (const { at, name } of spec.points) {
    const [px, py] = frame.place(...at);
    const own = { x: px + 1.3, y: py - 0.9, widthMm: textWidthMm(name, nameSizeMm) };
    const isFree = taken.every(
      (other) =>
        Math.abs(other.y - own.y) > nameSizeMm || other.x + other.widthMm < own.x || own.x + own.widthMm < other.x,
    );
    if (!isFree) continue;
    taken.push(own);
    marks.push(textMark(name, [own.x, own.y], { sizeMm: nameSizeMm, colour: day.quiet }));
  }
  return marks;
}

function legendRows(spec: NetworkPlot, times: number): LegendRow[] {
  const rows: LegendRow[] = [];
  const names = {
    fixed: 'held fixed',
    found: 'found',
    weak: 'found, to be measured again',
    compared: 'compared',
  } as const;
  for (const kind of ['fixed', 'found', 'weak', 'compared'] as const) {
    const count = spec.points.filter((point) => point.kind === kind).length;
    if (count === 0) continue;
    rows.push({
      name: `${names[kind]}, ${fixedText(count, 0)}`,
      sample: (x, y, widthMm) => [
        {
          kind: 'symbol',
          symbol: symbols[kind],
          at: [x + widthMm / 2, y],
          sizeMm: symbolSizes[kind],
          colour: symbolColours[kind],
        },
      ],
    });
  }
  for (const [kind, stroke, name] of [
    ['reading', readingLine, 'reading'],
    ['suspect', suspectLine, 'suspect reading'],
  ] as const) {
    const count = spec.lines.filter((line) => line.kind === kind).length;
    if (count > 0)
      rows.push({
        name: `${name}, ${fixedText(count, 0)}`,
        sample: (x, y, widthMm) => [lineMark(stroke, [x, y], [x + widthMm, y])],
      });
  }
  if (spec.ellipses.length + spec.arrows.length > 0) {
    const longest = Math.max(
      ...spec.ellipses.map((ellipse) => ellipse.semiMajorM),
      ...spec.arrows.map(({ dx, dy }) => Math.hypot(dx, dy)),
    );
    rows.push({
      name: `${spec.enlargedName}, drawn ${fixedText(times, 0)} times their size; longest ${withUnit(numberText(longest, { digits: 2 }), 'm')}`,
      sample: (x, y, widthMm) => [lineMark(enlargedLine, [x, y], [x + widthMm, y])],
    });
  }
  return rows;
}
