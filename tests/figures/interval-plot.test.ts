import { expect, test } from 'vitest';
import { type IntervalPlot, plotIntervals } from '../../src/figures/interval-plot.js';
import type { Mark } from '../../src/figures/scene.js';
import { svgText } from '../../src/figures/svg.js';

const plot: IntervalPlot = {
  title: 'Seasons',
  panels: [
    {
      title: 'finds per m² dug',
      scale: 'amount',
      rows: [
        { name: 'S1', value: 2, low: 1, high: 4, inner: { low: 1.5, high: 3 } },
        { name: 'S2', value: null, low: null, high: null },
      ],
    },
    {
      title: 'ratio',
      scale: 'ratio',
      rows: [
        { name: 'S2 to S1', value: 0.5, low: 0.25, high: 1 },
        { name: 'S3 to S1', value: null, low: 2, high: null },
      ],
    },
  ],
  intervalName: '95 % interval',
  innerName: 'if one by one',
  notes: ['n = 3'],
};

const flat = (marks: readonly Mark[]): Mark[] =>
  marks.flatMap((mark) => (mark.kind === 'group' ? flat(mark.marks) : [mark]));
const panel = (name: string) => {
  const group = plotIntervals(plot).marks.find((mark) => mark.kind === 'group' && mark.name === name);
  return group?.kind === 'group' ? flat(group.marks) : [];
};
const points = (name: string) => panel(name).flatMap((mark) => (mark.kind === 'symbol' ? [mark.at] : []));

test('every known value is a point, an unknown one is said to be not known', () => {
  expect(points('finds per m² dug')).toHaveLength(1);
  expect(points('ratio')).toHaveLength(1);
  expect(svgText(plotIntervals(plot)).match(/not known/g)).toHaveLength(2);
});

test('amounts start at 0; on the axis of ratios equal factors are equally far', () => {
  const placeOf = (name: string, text: string) =>
    panel(name).flatMap((mark) => (mark.kind === 'text' && mark.text === text ? [mark.at[0]] : []))[0];
  const [zero, four] = ['0', '4'].map((text) => placeOf('finds per m² dug', text));
  const [[two]] = points('finds per m² dug');
  expect(two - zero).toBeCloseTo((four - zero) / 2, 6);
  const [half, one, twice] = ['0.5', '1', '2'].map((text) => placeOf('ratio', text));
  expect(one - half).toBeCloseTo(twice - one, 6);
  expect(points('ratio')[0][0]).toBeCloseTo(half, 6);
});

test('an interval without end ends in an arrow at the end of the axis', () => {
  const arrows = panel('ratio').filter((mark) => mark.kind === 'line' && mark.points.length === 3);
  expect(arrows).toHaveLength(1);
});

test('nothing known draws an empty sheet without a number that is none', () => {
  const empty = plotIntervals({ ...plot, panels: [{ title: 'none', scale: 'ratio', rows: [] }] });
  expect(svgText(empty)).not.toMatch(/NaN|Infinity|undefined/);
});
