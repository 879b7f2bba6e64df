import { expect, test } from 'vitest';
import { plotPlan } from '../../src/figures/plots.js';
import { svgText } from '../../src/figures/svg.js';

const square = [
  [
    [0, 0],
    [10, 0],
    [10, 10],
    [0, 10],
  ],
] as const;

test('closed lines and symbols of their own size lie over the finds, and the legend names them once', () => {
  const outline = (x: number) => ({
    name: 'spread of a class',
    points: [[x, 1] as const, [x + 2, 1] as const, [x + 1, 3] as const],
    style: 'class2' as const,
  });
  const scene = plotPlan({
    title: 'Plan',
    window: square,
    points: [[5, 5]],
    groups: [{ name: 'mean centre', points: [[4, 4]], style: 'class1', sizeMm: 2.6 }],
    outlines: [outline(1), outline(6)],
    notes: [],
  });
  const names = scene.marks.map((mark) => (mark.kind === 'group' ? mark.name : mark.kind));
  expect(names.indexOf('finds')).toBeLessThan(names.indexOf('spread of a class'));
  expect(names.lastIndexOf('spread of a class')).toBeLessThan(names.indexOf('mean centre'));
  const drawn = scene.marks.find((mark) => mark.kind === 'group' && mark.name === 'spread of a class');
  const [line] = drawn?.kind === 'group' ? drawn.marks : [];
  if (line?.kind !== 'line') throw new Error('no outline');
  expect(line.points[0]).toEqual(line.points.at(-1));
  expect(svgText(scene).match(/>spread of a class</g)).toHaveLength(1);
});
