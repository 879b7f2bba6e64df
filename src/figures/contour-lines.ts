import { day } from './palette.js';
import type { PlanFrame } from './plan-frame.js';
import type { ContourLine } from './plots.js';
import type { Mark, Stroke } from './scene.js';
import { type LegendRow, lineMark, rectangle, textMark } from './sheet.js';
import { textWidthMm } from './text-width.js';

type Point = readonly [number, number];

const labelSizeMm = 1.9;
const dashMm = [1.2, 0.8];

function strokeOf({ weight, isBeyond }: Pick<ContourLine, 'weight' | 'isBeyond'>): Stroke {
  const stroke: Stroke = { colour: day.ink, widthMm: weight === 'major' ? 0.3 : 0.14 };
  return isBeyond ? { ...stroke, dashMm } : stroke;
}

/** Lines of equal value on a plan, each with its value written along its straightest stretch if it has room for it. */
export function contourMarks(contours: readonly ContourLine[], frame: PlanFrame): Mark[] {
  if (contours.length === 0) return [];
  const lines = contours
    .filter((line) => line.points.length > 1)
    .map((line) => ({ line, points: line.points.map(([x, y]) => frame.place(x, y)) }));
  return [
    {
      kind: 'group',
      name: 'contours',
      marks: lines.map(({ line, points }): Mark => ({ kind: 'line', points, stroke: strokeOf(line) })),
    },
    { kind: 'group', name: 'contour labels', marks: lines.flatMap(({ line, points }) => labelMarks(line, points)) },
  ];
}

function labelMarks({ label }: ContourLine, points: readonly Point[]): Mark[] {
  if (label === undefined || label === '') return [];
  const widthMm = textWidthMm(label, labelSizeMm) + 0.8;
  const stretch = straightest(points, widthMm);
  if (stretch === null) return [];
  const { at, turnDeg } = stretch;
  const turn = (turnDeg * Math.PI) / 180;
  const [cos, sin] = [Math.cos(turn), Math.sin(turn)];
  const around = (dx: number, dy: number): [number, number] => [
    at[0] + dx * cos - dy * sin,
    at[1] + dx * sin + dy * cos,
  ];
  const box = rectangle(-widthMm / 2, -0.55 * labelSizeMm, widthMm, 1.1 * labelSizeMm);
  return [
    // the line is broken where its value stands
    { kind: 'area', rings: [box.map(([dx, dy]) => around(dx, dy))], fill: day.paper, opacity: 0.85 },
    textMark(label, around(0, 0.36 * labelSizeMm), { sizeMm: labelSizeMm, anchor: 'middle', turnDeg }),
  ];
}

/** The stretch of a label's length whose ends lie farthest apart; null when the line is hardly longer than that. */
function straightest(points: readonly Point[], widthMm: number): { at: Point; turnDeg: number } | null {
  const along = [0];
  for (let i = 1; i < points.length; i++) {
    along.push(along[i - 1] + Math.hypot(points[i][0] - points[i - 1][0], points[i][1] - points[i - 1][1]));
  }
  const length = along[along.length - 1];
  if (length < 2.5 * widthMm) return null;
  const at = (s: number): Point => {
    const i = Math.max(
      1,
      along.findIndex((v) => v >= s),
    );
    const share = along[i] > along[i - 1] ? (s - along[i - 1]) / (along[i] - along[i - 1]) : 0;
    const [a, b] = [points[i - 1], points[i]];
    return [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])];
  };
  let best: { at: Point; turnDeg: number } | null = null;
  let farthest = 0.9 * widthMm;
  const steps = 9;
  for (let k = 0; k < steps; k++) {
    // from the middle outwards, so that of equally straight stretches the middle one is taken
    const share = 0.5 + ((k % 2 === 0 ? 1 : -1) * Math.ceil(k / 2)) / (steps + 1);
    const from = at(Math.max(0, share * length - widthMm / 2));
    const to = at(Math.min(length, share * length + widthMm / 2));
    const apart = Math.hypot(to[0] - from[0], to[1] - from[1]);
    if (!(apart > farthest * (1 + 1e-9))) continue;
    farthest = apart;
    const turnDeg = (Math.atan2(to[1] - from[1], to[0] - from[0]) * 180) / Math.PI;
    // never upside down
    const upright = turnDeg > 90 ? turnDeg - 180 : turnDeg <= -90 ? turnDeg + 180 : turnDeg;
    best = { at: [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2], turnDeg: upright };
  }
  return best;
}

/** Legend rows of the lines: what they are, and what dashed ones mean. */
export function contourRows(contours: readonly ContourLine[], name: string): LegendRow[] {
  const row = (text: string, look: Pick<ContourLine, 'weight' | 'isBeyond'>): LegendRow => ({
    name: text,
    sample: (x, y, widthMm) => [lineMark(strokeOf(look), [x, y], [x + widthMm, y])],
  });
  const rows: LegendRow[] = [];
  if (contours.some((line) => !line.isBeyond)) rows.push(row(name, { weight: 'major' }));
  if (contours.some((line) => line.isBeyond)) {
    rows.push(row(`${name}, beyond the nodes`, { weight: 'major', isBeyond: true }));
  }
  return rows;
}
