import { expect, test } from 'vitest';
import { valueAt } from '../../src/domain/feature-table.js';
import { box, smallSurvey } from '../support/small-site.js';

const level = (node: string, surface: string, value: number, more: Record<string, string | number> = {}) => ({
  node,
  season: 'S1',
  surface,
  value,
  kind: 'elevation',
  ...more,
});

const nodes = ['A1', 'B1', 'A2', 'B2'];

test('between the nodes the surface is bilinear, exact at the nodes', () => {
  const top = [1, 2, 3, 6];
  const survey = smallSurvey({ levels: nodes.map((node, i) => level(node, 'deposit_top', top[i])) });
  const at = (x: number, y: number) => survey.deposit.elevation('deposit_top', null, x, y);
  expect([at(0, 0), at(1, 0), at(0, 1), at(1, 1)]).toEqual(top);
  expect(at(0.5, 0.5)).toBeCloseTo(3, 12);
  expect(at(0.25, 0)).toBeCloseTo(1.25, 12);
});

test('past a missing node nothing is guessed', () => {
  const survey = smallSurvey({ levels: nodes.slice(0, 3).map((node) => level(node, 'deposit_top', 1)) });
  expect(survey.deposit.elevation('deposit_top', null, 0.5, 0.5)).toBeNaN();
});

test('depths are turned over, readings set aside do not count, several readings count with their mean', () => {
  const survey = smallSurvey({
    levels: [
      level('A1', 'deposit_top', 2, { kind: 'depth' }),
      level('A1', 'deposit_top', 3, { kind: 'depth' }),
      level('A1', 'deposit_top', 99, { state: 'set_aside' }),
    ],
  });
  expect(survey.deposit.node('deposit_top', null, 0, 0)).toBe(-2.5);
});

test('finds carry thickness and relative depth, and none where the deposit is unknown or inverted', () => {
  const survey = smallSurvey({
    areas: [{ season: 'S1', progress: 'part_dug', ring: box(0, 0, 4, 4) }],
    levels: [
      ...nodes.map((node) => level(node, 'deposit_top', 0)),
      ...nodes.map((node) => level(node, 'deposit_bottom', -0.5)),
      ...['C1', 'D1', 'C2', 'D2'].flatMap((node) => [
        level(node, 'deposit_top', -1),
        level(node, 'deposit_bottom', -0.5),
      ]),
    ],
    finds: [
      { find: '1', season: 'S1', position_kind: 'point', local_x: 0.5, local_y: 0.5, z_elevation: -0.1 },
      { find: '2', season: 'S1', position_kind: 'point', local_x: 2.5, local_y: 0.5, z_elevation: -0.1 },
      { find: '3', season: 'S1', position_kind: 'point', local_x: 3.5, local_y: 3.5, z_elevation: -0.1 },
    ],
  });
  const finds = survey.collection('finds');
  const column = (name: string) => [0, 1, 2].map((row) => valueAt(finds!.columns.get(name)!, row));
  expect(column('thickness_at_find')).toEqual([0.5, -0.5, null]);
  expect(column('relative_depth')).toEqual([0.2, null, null]);
  expect(column('depth_below_datum')).toEqual([0.1, 0.1, 0.1]);
});
