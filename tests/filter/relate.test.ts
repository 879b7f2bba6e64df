import { expect, test } from 'vitest';
import { FilterBuilder } from '../../src/filter/builder.js';
import { edge, inside, locatorOf, outside } from '../../src/filter/locate.js';
import { planeShape } from '../../src/filter/plane-shape.js';
import { relate, relationHolds } from '../../src/filter/relate.js';
import { TokenReader, tokensOf } from '../../src/filter/tokens.js';
import { readGeometry } from '../../src/filter/wkt.js';
import { readReferenceFile } from '../support/reference-file.js';

const { input, expected } = readReferenceFile<
  { pairs: readonly (readonly [string, string])[] },
  { matrices: readonly string[] }
>('shape_relations_geos');

function shape(text: string) {
  const builder = new FilterBuilder();
  return readGeometry(new TokenReader(tokensOf(text)), { plane: { axes: 'east-north', unit: 'metre' }, builder })[0];
}

const words = (matrix: Int8Array) => [...matrix].map((v) => (v < 0 ? 'F' : String(v))).join('');

/**
 * Pairs in which GEOS gives lines and the edge of an area a stretch in common (dimension 1). By hand: in both, two
 * lines of a MULTILINESTRING cross each other on the edge, at (4, 7/3) and at (3, 4), and none runs along an edge, so
 * what they share is a point (dimension 0).
 */
const byHand: Readonly<Record<string, string>> = {
  'POLYGON((0 0,4 0,4 4,0 4,0 0)) MULTILINESTRING((5 3,2 1,5 7),(6 5,3 1,3 3))': '1020F1102',
  'MULTILINESTRING((4 6,2 2),(1 6,5 2)) MULTIPOLYGON(((6 0,5 3,4 8,7 3,6 0)),((2 4,4 4,4 6,2 6,2 4)))': '101F00212',
};
const wanted = (a: string, b: string, k: number) => byHand[`${a} ${b}`] ?? expected.matrices[k];

test('of the pairs judged by hand, both are there and GEOS says otherwise', () => {
  const known = input.pairs.flatMap(([a, b], k) => (byHand[`${a} ${b}`] ? [expected.matrices[k]] : []));
  expect(known).toEqual(['1021F1102', '111F00212']);
});

test(`the matrices of ${input.pairs.length} pairs of shapes are those of GEOS, cell for cell, but for two`, () => {
  const wrong = input.pairs.flatMap(([a, b], k) => {
    const own = words(relate(locatorOf(shape(a)), locatorOf(shape(b))));
    return own === wanted(a, b, k) ? [] : [`${a} ${b}: ${own}, GEOS ${expected.matrices[k]}`];
  });
  expect(wrong).toEqual([]);
});

test('turned by 30° and moved to map coordinates, nothing changes', () => {
  const turned = (text: string) => {
    const { dimension, parts } = shape(text);
    const [c, s] = [Math.cos(Math.PI / 6), Math.sin(Math.PI / 6)];
    return planeShape(
      dimension,
      parts.map((part) => {
        const out = new Float64Array(part.length);
        for (let i = 0; i < part.length; i += 2) {
          out[i] = 412_037.4 + c * part[i] - s * part[i + 1];
          out[i + 1] = 4_984_118.25 + s * part[i] + c * part[i + 1];
        }
        return out;
      }),
    );
  };
  const wrong = input.pairs.flatMap(([a, b], k) => {
    const own = words(relate(locatorOf(turned(a)), locatorOf(turned(b))));
    return own === wanted(a, b, k) ? [] : [`${a} ${b}: ${own}, GEOS ${expected.matrices[k]}`];
  });
  expect(wrong).toEqual([]);
});

test('a place nearer than a tenth of a millimetre is the same place, one farther is not', () => {
  const square = locatorOf(shape('POLYGON((0 0,10 0,10 10,0 10,0 0))'));
  expect(square.place(10.000_09, 5)).toBe(edge);
  expect(square.place(10.000_11, 5)).toBe(outside);
  expect(square.place(9.999_8, 5)).toBe(inside);
  const star = locatorOf(shape('POLYGON((0 0,10 2,20 0,18 10,20 20,10 18,0 20,2 10,0 0))'));
  expect(star.place(5, 1 + 0.000_09)).toBe(edge);
  expect(star.place(5, 0.999)).toBe(outside);
  expect(star.place(5, 1.001)).toBe(inside);
});

test('a grid square and the one beside it touch, and do not overlap', () => {
  const [a, b] = ['POLYGON((0 0,1 0,1 1,0 1,0 0))', 'POLYGON((1 0,2 0,2 1,1 1,1 0))'].map((t) => locatorOf(shape(t)));
  const matrix = relate(a, b);
  expect(relationHolds('touches', matrix, [2, 2])).toBe(true);
  expect(relationHolds('overlaps', matrix, [2, 2])).toBe(false);
  expect(relationHolds('intersects', matrix, [2, 2])).toBe(true);
});
