import { expect, test } from 'vitest';
import type { Mark } from '../../src/figures/scene.js';
import { type PlanSquare, plotSquares, type SquaresPlot } from '../../src/figures/squares-plot.js';
import { svgText } from '../../src/figures/svg.js';

const square = (x: number, more: Partial<PlanSquare> = {}): PlanSquare => ({
  box: [x, 0, x + 1, 1],
  value: x,
  text: String(x),
  isUncertain: false,
  isMarked: false,
  ...more,
});
const spec = (more: Partial<SquaresPlot> = {}): SquaresPlot => ({
  title: 'Squares',
  dug: [
    [
      [0, 0],
      [6, 0],
      [6, 4],
      [0, 4],
    ],
  ],
  squares: [square(6), square(7), square(8)],
  valueName: 'rate',
  unit: 'm-2',
  textName: 'count',
  uncertainName: 'doubtful',
  markName: 'marked',
  hull: [
    {
      closed: false,
      points: [
        [1, 1],
        [5, 3],
      ],
    },
  ],
  notes: ['n = 3'],
  ...more,
});
const groupOf = (marks: readonly Mark[], name: string): readonly Mark[] => {
  const found = marks.find((mark) => mark.kind === 'group' && mark.name === name);
  return found?.kind === 'group' ? found.marks : [];
};
const fills = (marks: readonly Mark[]) => marks.flatMap((mark) => (mark.kind === 'area' ? [mark.fill] : []));

test('each square has its colour by value and its number, larger values darker', () => {
  const { marks } = plotSquares(spec());
  const colours = fills(groupOf(marks, 'squares'));
  expect(new Set(colours).size).toBe(3);
  const green = colours.map((fill) => Number.parseInt(String(fill).slice(3, 5), 16));
  expect(green).toEqual([...green].sort((a, b) => b - a));
  const texts = groupOf(marks, 'numbers').flatMap((mark) => (mark.kind === 'text' ? [mark.text] : []));
  expect(texts).toEqual(['6', '7', '8']);
});

test('a doubtful square is hatched, a marked one framed, and the legend says so', () => {
  const plain = groupOf(plotSquares(spec()).marks, 'squares').length;
  const doubt = plotSquares(spec({ squares: [square(6, { isUncertain: true }), square(7), square(8)] }));
  expect(groupOf(doubt.marks, 'squares').length).toBeGreaterThan(plain + 2);
  expect(svgText(doubt)).toContain('doubtful');
  expect(svgText(plotSquares(spec()))).not.toContain('doubtful');
  const marked = plotSquares(spec({ squares: [square(6, { isMarked: true })] }));
  expect(svgText(marked)).toContain('marked');
});

test('squares all alike, without a value, or none at all still draw', () => {
  for (const squares of [[square(6, { value: 2 }), square(7, { value: 2 })], [square(6, { value: null })], []]) {
    const svg = svgText(
      plotSquares(
        spec({
          squares,
          axis: [
            [0, 0],
            [6, 4],
          ],
        }),
      ),
    );
    expect(svg).not.toMatch(/NaN|undefined|Infinity/);
    expect(svg).toContain('ship axis');
  }
});

test('hull beyond the dug ground stays inside the frame', () => {
  const { marks } = plotSquares(
    spec({
      hull: [
        {
          closed: false,
          points: [
            [-6, 2],
            [12, 2],
          ],
        },
      ],
    }),
  );
  const xs = (name: string) =>
    groupOf(marks, name).flatMap((mark) => (mark.kind === 'line' ? mark.points.map(([x]) => x) : []));
  expect(Math.min(...xs('hull'))).toBeGreaterThan(Math.min(...xs('frame')));
  expect(Math.max(...xs('hull'))).toBeLessThan(Math.max(...xs('frame')));
});
