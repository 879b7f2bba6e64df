import { describe, expect, test } from 'vitest';
import { contourMarks, contourRows } from '../../src/figures/contour-lines.js';
import { type ContourLine, plotPlan } from '../../src/figures/plots.js';
import type { Mark } from '../../src/figures/scene.js';
import { svgText } from '../../src/figures/svg.js';

const window = [
  [
    [0, 0],
    [12, 0],
    [12, 8],
    [0, 8],
  ] as [number, number][],
];
const straight: ContourLine = {
  points: [
    [0, 1],
    [12, 1],
  ],
  label: '−0.25',
  weight: 'major',
};
const steep: ContourLine = {
  points: [
    [9, 0],
    [9, 8],
  ],
  label: '1.5',
  weight: 'minor',
  isBeyond: true,
};
const short: ContourLine = {
  points: [
    [3, 3],
    [3.2, 3],
  ],
  label: '0.5',
  weight: 'minor',
};

const texts = (marks: readonly Mark[]): Extract<Mark, { kind: 'text' }>[] =>
  marks.flatMap((mark) => (mark.kind === 'group' ? texts(mark.marks) : mark.kind === 'text' ? [mark] : []));
const lines = (marks: readonly Mark[]): Extract<Mark, { kind: 'line' }>[] =>
  marks.flatMap((mark) => (mark.kind === 'group' ? lines(mark.marks) : mark.kind === 'line' ? [mark] : []));
const group = (marks: readonly Mark[], name: string) => marks.filter((m) => m.kind === 'group' && m.name === name);

describe('contours on a plan', () => {
  const plan = plotPlan({ title: 'Top of the deposit', window, contours: [straight, steep, short], notes: [] });

  test('every line is drawn, major ones heavier, those beyond the nodes dashed', () => {
    const drawn = lines(group(plan.marks, 'contours'));
    expect(drawn).toHaveLength(3);
    expect(drawn[0].stroke.widthMm).toBeGreaterThan(drawn[1].stroke.widthMm);
    expect(drawn.map((line) => line.stroke.dashMm !== undefined)).toEqual([false, true, false]);
  });

  test('a long line carries its value along it, never upside down; a short one none', () => {
    const labels = texts(group(plan.marks, 'contour labels'));
    expect(labels.map((label) => label.text)).toEqual(['−0.25', '1.5']);
    expect(labels[0].turnDeg).toBe(0);
    expect(Math.abs(labels[1].turnDeg ?? 0)).toBe(90);
    const reversed = contourMarks([{ ...straight, points: [...straight.points].reverse() }], {
      place: (x: number, y: number) => [10 * x, -10 * y],
    } as never);
    expect(texts(reversed)[0].turnDeg).toBeCloseTo(0, 12);
  });

  test('the legend tells levelled ground from what lies beyond it', () => {
    expect(contourRows([straight, steep], 'contours every 0.25 m').map((row) => row.name)).toEqual([
      'contours every 0.25 m',
      'contours every 0.25 m, beyond the nodes',
    ]);
    expect(contourRows([], 'contours')).toEqual([]);
    expect(svgText(plan)).toContain('beyond the nodes');
  });

  test('a plan without contours is what it was', () => {
    const bare = plotPlan({ title: 'Plan', window, notes: [] });
    expect(plotPlan({ title: 'Plan', window, contours: [], notes: [] })).toEqual(bare);
    expect(contourMarks([], undefined as never)).toEqual([]);
  });
});
