import { expect, test } from 'vitest';
import { type MatrixCell, type MatrixPlot, plotMatrix } from '../../src/figures/matrix-plot.js';
import { contrast } from '../../src/figures/palette.js';
import type { Mark } from '../../src/figures/scene.js';
import { svgText } from '../../src/figures/svg.js';

const cellOf = (more: Partial<MatrixCell> = {}): MatrixCell => ({
  share: 0.5,
  ramp: 'difference',
  text: '1.0',
  strength: 'clear',
  ...more,
});

const spec = (more: Partial<MatrixPlot> = {}): MatrixPlot => ({
  title: 'Classes',
  labels: ['jar', 'nail', 'glass'],
  cell: (row, column) => cellOf({ text: `${row}${column}` }),
  parts: [{ name: 'ratio', ramp: 'difference' }],
  notes: ['n = 3'],
  ...more,
});

const groupOf = (marks: readonly Mark[], name: string): readonly Mark[] => {
  const found = marks.find((mark) => mark.kind === 'group' && mark.name === name);
  return found?.kind === 'group' ? found.marks : [];
};
const texts = (marks: readonly Mark[]) => marks.flatMap((mark) => (mark.kind === 'text' ? [mark] : []));
const fills = (marks: readonly Mark[]) => marks.flatMap((mark) => (mark.kind === 'area' && mark.fill ? [mark] : []));

test('every cell stands in its row and column, rows down and columns to the right', () => {
  const written = texts(groupOf(plotMatrix(spec()).marks, 'matrix'));
  expect(written.map((mark) => mark.text)).toEqual(['00', '01', '02', '10', '11', '12', '20', '21', '22']);
  const at = (text: string) => written.find((mark) => mark.text === text)?.at ?? [Number.NaN, Number.NaN];
  expect(at('02')[0]).toBeGreaterThan(at('01')[0]);
  expect(at('02')[1]).toBe(at('01')[1]);
  expect(at('20')[1]).toBeGreaterThan(at('10')[1]);
  expect(at('20')[0]).toBe(at('10')[0]);
});

test('labels stand beside their row and above their column', () => {
  const { marks } = plotMatrix(spec());
  const labels = texts(groupOf(marks, 'labels'));
  expect(labels.filter((mark) => mark.text === 'nail')).toHaveLength(2);
  const [beside, above] = labels.filter((mark) => mark.text === 'nail');
  const middle = texts(groupOf(marks, 'matrix'))[4].at;
  expect(Math.abs(beside.at[1] - middle[1])).toBeLessThan(1.5);
  expect(Math.abs(above.at[0] - middle[0])).toBeLessThan(1.5);
  expect(above.turnDeg).toBe(-90);
});

test('what may be chance is paler, what is not known has no colour, and every text can be read on its cell', () => {
  const looks: MatrixCell[] = [0, 0.2, 0.5, 0.8, 1].flatMap((share) =>
    (['difference', 'amount'] as const).flatMap((ramp) =>
      (['clear', 'faint'] as const).map((strength) => cellOf({ share, ramp, strength, text: 'x' })),
    ),
  );
  const labels = looks.map((_, k) => String(k));
  const marks = groupOf(plotMatrix(spec({ labels, cell: (row) => looks[row] })).marks, 'matrix');
  const colours = fills(marks).map((mark) => mark.fill ?? '');
  for (const [k, text] of texts(marks).entries()) expect(contrast(text.colour, colours[k])).toBeGreaterThan(3.9);
  const unknown = plotMatrix(spec({ cell: () => cellOf({ share: null }) }));
  const [paper] = fills(unknown.marks);
  for (const cell of fills(groupOf(unknown.marks, 'matrix'))) expect(cell.fill).toBe(paper.fill);
});

test('the tree joins rows at their middles, later joinings from earlier ones, and never crosses the sheet', () => {
  const tree = [
    { left: 0, right: 1, share: 0.2 },
    { left: 3, right: 2, share: 0.9 },
  ];
  const { marks, widthMm } = plotMatrix(spec({ tree }));
  const lines = groupOf(marks, 'tree').flatMap((mark) => (mark.kind === 'line' ? [mark.points] : []));
  expect(lines).toHaveLength(2);
  const [first, second] = lines;
  // the second starts where the first ends, midway between its rows
  expect(second[0][0]).toBeCloseTo(first[1][0], 9);
  expect(second[0][1]).toBeCloseTo((first[0][1] + first[3][1]) / 2, 9);
  expect(second[1][0]).toBeGreaterThan(first[1][0]);
  for (const points of lines) for (const [x] of points) expect(x).toBeLessThan(widthMm - 3);
});

test('forty classes with long names still fit the sheet; none at all draw a sheet', () => {
  const labels = Array.from({ length: 40 }, (_, k) => `a class with a very long name indeed, number ${k}`);
  const many = plotMatrix(spec({ labels, tree: [{ left: 0, right: 1, share: 1 }] }));
  for (const cell of fills(groupOf(many.marks, 'matrix'))) {
    for (const [x] of cell.rings[0]) expect(x).toBeLessThan(many.widthMm - 3);
  }
  expect(texts(groupOf(many.marks, 'labels'))[0].text).toMatch(/…$/);
  for (const scene of [many, plotMatrix(spec({ labels: [], tree: [] }))])
    expect(svgText(scene)).not.toMatch(/NaN|undefined|Infinity/);
});
