import { isRectangle } from '../math/rings.js';
import type { SpatialRelation } from './expression.js';
import { type Locator, outside, sameM } from './locate.js';
import { type BlockRows, no, type Truth, truthRoom, unknown, yes } from './operands.js';
import type { RowShapes } from './row-shapes.js';

/** Where a point lies, beside inside, edge and outside: nowhere. */
const nowhere = 3;

/** Writes where the point of each row of a block lies in a shape. */
type PlaceWriter = (out: Uint8Array, rows: BlockRows) => void;

/** What a relation of a point says of where it lies: inside, on the edge, outside, nowhere. */
function answersOf(relation: SpatialRelation, locators: readonly Locator[]): Uint8Array {
  switch (relation) {
    case 'intersects':
      return Uint8Array.of(yes, yes, no, unknown);
    case 'disjoint':
      return Uint8Array.of(no, no, yes, unknown);
    case 'within':
      return Uint8Array.of(yes, no, no, unknown);
    case 'touches':
      return Uint8Array.of(no, yes, no, unknown);
    case 'contains':
    case 'equals': {
      const { dimension, box } = locators[0].shape;
      // all of the other must be this one place
      const single = dimension === 0 && box[2] - box[0] <= sameM && box[3] - box[1] <= sameM;
      return Uint8Array.of(single ? yes : no, no, no, unknown);
    }
    default:
      // a point has no part inside and another outside
      return Uint8Array.of(no, no, no, unknown);
  }
}

/** A relation of points to shapes, from where they lie: no matrix is needed. Several shapes are a collection. */
export function pointTruth(relation: SpatialRelation, locators: readonly Locator[], rows: RowShapes): Truth {
  const answers = answersOf(relation, locators);
  const writers = locators.map((locator) =>
    locator.shape.dimension === 2 && isRectangle({ rings: locator.shape.parts })
      ? inRectangle(locator, rows)
      : inShape(locator, rows),
  );
  const nextRoom = truthRoom();
  return {
    type: 'truth',
    cost: 20,
    fill(out, block) {
      const n = block.to - block.from;
      writers[0](out, block);
      for (let w = 1; w < writers.length; w++) {
        const next = nextRoom(n);
        writers[w](next, block);
        // the place that is farther in; nowhere stays nowhere
        for (let i = 0; i < n; i++) out[i] = Math.min(out[i], next[i]);
      }
      for (let i = 0; i < n; i++) out[i] = answers[out[i]];
    },
  };
}

/** A box with sides along the axes, the commonest shape of all: no branch, so nothing to guess wrong. */
function inRectangle({ shape }: Locator, rows: RowShapes): PlaceWriter {
  const { places, originX, originY, scaleX, scaleY } = rows.frame;
  const [west, south, east, north] = shape.box;
  const [west0, south0, east0, north0] = [west - sameM, south - sameM, east + sameM, north + sameM];
  const [west1, south1, east1, north1] = [west + sameM, south + sameM, east - sameM, north - sameM];
  return (out, { from, to }) => {
    for (let row = from; row < to; row++) {
      const x = (places[2 * row] - originX) * scaleX;
      const y = (places[2 * row + 1] - originY) * scaleY;
      const touches = Number(x >= west0) & Number(x <= east0) & Number(y >= south0) & Number(y <= north0);
      const deep = Number(x > west1) & Number(x < east1) & Number(y > south1) & Number(y < north1);
      // 0 inside, 1 edge, 2 outside, 3 nowhere
      out[row - from] = 2 - touches - deep + Number(Number.isNaN(x));
    }
  };
}

function inShape(locator: Locator, rows: RowShapes): PlaceWriter {
  const { places, originX, originY, scaleX, scaleY } = rows.frame;
  const [west, south, east, north] = locator.shape.box.map((v, k) => v + (k < 2 ? -sameM : sameM));
  return (out, { from, to, wanted }) => {
    for (let row = from; row < to; row++) {
      const x = (places[2 * row] - originX) * scaleX;
      const y = (places[2 * row + 1] - originY) * scaleY;
      if (x >= west && x <= east && y >= south && y <= north) {
        out[row - from] = wanted !== null && wanted[row - from] === 0 ? outside : locator.place(x, y);
      } else out[row - from] = Number.isNaN(x) ? nowhere : outside;
    }
  };
}
