import { describe, expect, test } from 'vitest';
import { boxSquares, evenSquares, gridSquares } from '../../src/domain/counting-squares.js';
import { squareAt, squareBox, squareLabel } from '../../src/domain/grid.js';
import { tileAreaM2, tileBox } from '../../src/math/tiles.js';
import { smallSite } from '../support/small-site.js';

const gridWith = (changes: Record<string, unknown>) =>
  smallSite({ grids: [{ ...smallSite().grids[0], ...changes }] }).grids[0];

describe.each(['south-west', 'north-west', 'south-east', 'north-east'])(
  'squares named by their %s corner',
  (corner) => {
    const grid = gridWith({ corner });
    const squares = gridSquares(grid, [2, 1, 7, 6], 1);
    test('a label names the tile on its own ground, and a tile goes by that label', () => {
      for (let tile = 0; tile < squares.tiles.columns * squares.tiles.rows; tile++) {
        const [west, south, east, north] = tileBox(squares.tiles, tile);
        const label = squareAt(grid, (west + east) / 2, (south + north) / 2) ?? '';
        expect(squares.label(tile)).toBe(label);
        expect(squares.tileOfSquare(label)).toBe(tile);
        expect(squares.tileOf((west + east) / 2, (south + north) / 2)).toBe(tile);
      }
      const named = squareLabel(grid, 5, 4);
      expect(tileBox(squares.tiles, squares.tileOfSquare(named))).toEqual(squareBox(grid, 5, 4));
    });
  },
);

test('a place on a line goes by the boundary rule of the grid', () => {
  const of = (rule: string) => {
    const squares = gridSquares(gridWith({ boundary_rule: rule }), [0, 0, 4, 4], 1);
    return squares.label(squares.tileOf(2, 1.5));
  };
  expect([of('lower'), of('upper')]).toEqual(['B2', 'C2']);
});

test('a box that starts inside a block takes the whole block; names nobody knows have no tile', () => {
  const squares = gridSquares(gridWith({}), [1, 1, 5, 3], 2);
  expect(squares.tiles).toMatchObject({ west: 0, south: 0, east: 6, north: 4, columns: 3, rows: 2 });
  expect(squares.label(0)).toBe('A1–B2');
  expect(squares.tileOfSquare('C3')).toBe(4);
  expect([squares.tileOfSquare('J8'), squares.tileOfSquare('?'), squares.tileOf(9.5, 7.5)]).toEqual([-1, -1, -1]);
});

test('plain windows: tiles over the box, or squares of one side from its lower-left corner', () => {
  expect(boxSquares([0, 0, 6, 3], 3, 2)).toMatchObject({ widthM: 2, heightM: 1.5 });
  const even = evenSquares([0, 0, 2.5, 1], 1);
  expect(even.tiles).toMatchObject({ east: 3, north: 1, columns: 3, rows: 1 });
  expect([tileAreaM2(even.tiles), even.label(2)]).toEqual([1, '3,1']);
});

test('too many tiles are refused with what would fit', () => {
  expect(() => evenSquares([0, 0, 9000, 9000], 1)).toThrow(/at most 250000 can be counted: choose larger ones/);
});
