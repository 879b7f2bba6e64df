import { expect, test } from 'vitest';
import type { Mark, Scene } from '../../src/figures/scene.js';
import { stackScenes } from '../../src/figures/stacked-scenes.js';

const marks: Mark[] = [
  {
    kind: 'line',
    points: [
      [1, 2],
      [3, 4],
    ],
    stroke: { colour: '#000', widthMm: 1 },
  },
  {
    kind: 'area',
    rings: [
      [
        [0, 0],
        [1, 0],
        [0, 1],
      ],
    ],
    fill: '#000',
  },
  { kind: 'symbol', symbol: 'ring', at: [5, 6], sizeMm: 1, colour: '#000' },
  { kind: 'text', at: [7, 8], text: 'a', sizeMm: 2, colour: '#000', anchor: 'start' },
];
const sheet = (heightMm: number, widthMm = 180): Scene => ({
  widthMm,
  heightMm,
  title: 'one',
  marks: [{ kind: 'group', name: 'all', marks }],
});

test('the second sheet lies below the first, every kind of mark moved down by its height', () => {
  const stacked = stackScenes([sheet(30), sheet(20, 150)], 'two');
  expect([stacked.widthMm, stacked.heightMm, stacked.title]).toEqual([180, 50, 'two']);
  const group = (k: number) => (stacked.marks[k] as Extract<Mark, { kind: 'group' }>).marks;
  expect(group(0)).toEqual(marks);
  expect(group(1)).toMatchObject([
    {
      points: [
        [1, 32],
        [3, 34],
      ],
    },
    {
      rings: [
        [
          [0, 30],
          [1, 30],
          [0, 31],
        ],
      ],
    },
    { at: [5, 36] },
    { at: [7, 38], text: 'a' },
  ]);
});

test('nothing stacked is an empty drawing', () => {
  expect(stackScenes([], 'none')).toEqual({ widthMm: 0, heightMm: 0, title: 'none', marks: [] });
});
