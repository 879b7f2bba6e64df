import type { SpatialRelation } from './expression.js';
import { boxesApart, type Locator, locatorOf } from './locate.js';
import { constantTruth, type GeometryOperand, no, type Truth, unknown, yes } from './operands.js';
import type { PlaneShape } from './plane-shape.js';
import { pointTruth } from './point-places.js';
import { filterProblem } from './refusal.js';
import { relate, relationHolds } from './relate.js';
import type { RowShapes } from './row-shapes.js';

/** The relation with its sides changed over. */
function turned(relation: SpatialRelation): SpatialRelation {
  return relation === 'within' ? 'contains' : relation === 'contains' ? 'within' : relation;
}

/** A spatial comparison as it was written. */
export interface SpatialQuestion {
  readonly relation: SpatialRelation;
  readonly left: GeometryOperand;
  readonly right: GeometryOperand;
  readonly at: string;
}

/**
 * Compares geometries. A row without geometry is unknown.
 * @param shapes  the geometries of the rows, asked for only where rows take part
 * @throws Problem bad-filter when a collection of mixed kinds is asked for more than whether it is met
 */
export function spatialTruth({ relation, left, right, at }: SpatialQuestion, shapes: () => RowShapes): Truth {
  for (const { source, shapes: members } of [left, right] as { source: string; shapes?: readonly PlaneShape[] }[]) {
    if (source === 'literal' && members && members.length > 1 && relation !== 'intersects' && relation !== 'disjoint') {
      throw filterProblem(
        at,
        `S_${relation.toUpperCase()} does not take a GEOMETRYCOLLECTION; ask for each of its members`,
      );
    }
  }
  if (left.source === 'literal') {
    if (right.source === 'rows') return againstLiteral(turned(relation), left.shapes, shapes());
    return constantTruth(anyHolds(relation, left.shapes.map(locatorOf), right.shapes.map(locatorOf)) ? yes : no);
  }
  if (right.source === 'literal') return againstLiteral(relation, right.shapes, shapes());
  return perRow(shapes(), (own) => holdsFor(relation, own, own));
}

/** One relation between two shapes. */
function holdsFor(relation: SpatialRelation, a: Locator, b: Locator): boolean {
  // apart, nothing holds but that they are apart
  if (boxesApart(a.shape.box, b.shape.box)) return relation === 'disjoint';
  return relationHolds(relation, relate(a, b), [a.shape.dimension, b.shape.dimension]);
}

/** A collection is met where a member is met, and disjoint where none is. */
function anyHolds(relation: SpatialRelation, some: readonly Locator[], others: readonly Locator[]): boolean {
  if (relation === 'disjoint') return !anyHolds('intersects', some, others);
  return some.some((a) => others.some((b) => holdsFor(relation, a, b)));
}

function againstLiteral(relation: SpatialRelation, literal: readonly PlaneShape[], rows: RowShapes): Truth {
  const locators = literal.map((shape) => locatorOf(rows.literal(shape)));
  if (rows.arePoints) return pointTruth(relation, locators, rows);
  return perRow(rows, (own) => anyHolds(relation, [own], locators));
}

function perRow(rows: RowShapes, test: (own: Locator) => boolean): Truth {
  return {
    type: 'truth',
    cost: 100,
    fill(out, { from, to, wanted }) {
      for (let row = from; row < to; row++) {
        if (wanted !== null && wanted[row - from] === 0) continue;
        const own = rows.locator(row);
        out[row - from] = own === null ? unknown : test(own) ? yes : no;
      }
    },
  };
}
