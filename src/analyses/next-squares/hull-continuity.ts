import type { Shape } from '../../math/hull-distance.js';
import { type Box, boundaryDistance, insideEvenOdd, type Region } from '../../math/rings.js';
import { boxDistance, straightThrough, type TimberEnd, timberEnds } from '../../math/straight-continuation.js';

/** A hull feature with its name, as far as continuity asks. */
export interface NamedTimber extends Shape {
  readonly name: string;
}

/** What the known hull says of one square. */
export interface HullContinuity {
  /** features that stop at its edge where the digging stopped, and point into it */
  readonly endsAtEdge: readonly string[];
  /** features that stop further off where the digging stopped, and would run through it if they went on straight */
  readonly pointsAt: readonly { readonly name: string; readonly afterM: number }[];
  /** features seen in it already */
  readonly seen: readonly string[];
  /** features drawn in it where the hull is thought to have been */
  readonly projected: readonly string[];
  /** the ship axis runs through it, inside its length or so far beyond an end; null = it does not */
  readonly axis: { readonly beyondM: number; readonly end: 'after' | 'bow' | null } | null;
}

/** Where the hull may go on. */
export interface HullQuestion {
  /** seen, articulated, in place */
  readonly surviving: readonly NamedTimber[];
  readonly projected: readonly NamedTimber[];
  readonly axis: { readonly after: readonly [number, number]; readonly bow: readonly [number, number] } | null;
  /** ground dug to its end */
  readonly finished: Region;
  /** an end this near to the edge was cut off by it, metres */
  readonly edgeM: number;
  /** hull is drawn on so far beyond its ends, metres */
  readonly continueM: number;
}

/**
 * Which known hull ends at the edge of a square or would run into it if it went on as straight as it ends.
 *
 * Only ends that lie where the digging stopped count: a timber that ends amid dug ground has ended. Frames curve and
 * planks break: a straight continuation is a reason to look, not a find.
 *
 * @returns a reader of squares: box in site-grid metres → what the hull says
 */
export function hullContinuity(question: HullQuestion): (square: Box) => HullContinuity {
  const { edgeM, continueM, finished } = question;
  const cut = question.surviving.flatMap((timber) =>
    timberEnds(timber)
      .filter(({ x, y }) => !insideEvenOdd(finished, x, y) || boundaryDistance(finished, x, y) <= edgeM)
      .map((end) => ({ name: timber.name, end })),
  );
  return (square) => {
    const endsAtEdge: string[] = [];
    const pointsAt = new Map<string, number>();
    for (const { name, end } of cut) {
      const through = straightThrough(end, square);
      if (through === null) continue;
      if (boxDistance(end.x, end.y, square) <= edgeM) endsAtEdge.push(name);
      else if (through.entersM <= continueM) {
        pointsAt.set(name, Math.min(through.entersM, pointsAt.get(name) ?? Infinity));
      }
    }
    const atEdge = [...new Set(endsAtEdge)];
    return {
      endsAtEdge: atEdge,
      pointsAt: [...pointsAt]
        .filter(([name]) => !atEdge.includes(name))
        .map(([name, afterM]) => ({ name, afterM }))
        .sort((a, b) => a.afterM - b.afterM),
      seen: question.surviving.filter((timber) => runsThrough(timber, square)).map(({ name }) => name),
      projected: question.projected.filter((timber) => runsThrough(timber, square)).map(({ name }) => name),
      axis: axisThrough(question, square),
    };
  };
}

/** Whether a line, or the outline of an area, crosses a square. */
function runsThrough(shape: Shape, square: Box): boolean {
  return shape.parts.some((part) => {
    const m = part.length / 2;
    const pieces = shape.type === 'area' ? m : m - 1;
    for (let i = 0; i < pieces; i++) {
      const j = (i + 1) % m;
      const dx = part[2 * j] - part[2 * i];
      const dy = part[2 * j + 1] - part[2 * i + 1];
      const length = Math.hypot(dx, dy);
      if (!(length > 0)) continue;
      const through = straightThrough({ x: part[2 * i], y: part[2 * i + 1], dx: dx / length, dy: dy / length }, square);
      if (through && through.entersM < length * (1 - 1e-9)) return true;
    }
    return false;
  });
}

function axisThrough({ axis, continueM }: HullQuestion, square: Box): HullContinuity['axis'] {
  if (axis === null) return null;
  const [x, y] = axis.after;
  const dx = axis.bow[0] - x;
  const dy = axis.bow[1] - y;
  const length = Math.hypot(dx, dy);
  const bowward: TimberEnd = { x, y, dx: dx / length, dy: dy / length };
  const ahead = straightThrough(bowward, square);
  if (ahead) {
    const beyondM = Math.max(0, ahead.entersM - length);
    return beyondM > continueM ? null : { beyondM, end: beyondM > 0 ? 'bow' : null };
  }
  const abaft = straightThrough({ x, y, dx: -bowward.dx, dy: -bowward.dy }, square);
  return abaft && abaft.entersM <= continueM ? { beyondM: abaft.entersM, end: 'after' } : null;
}
