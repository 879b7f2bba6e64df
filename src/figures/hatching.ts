import type { Mark, Stroke } from './scene.js';

type Point = readonly [number, number];

/**
 * Parallel lines inside rings (even-odd: holes stay free), for ground that is not dug and for bands.
 *
 * @param rings      [rings][corners] mm on paper
 * @param look       `spacingMm` between lines, `angleDeg` of the lines, anticlockwise from the reading direction
 * @returns          one line mark for each run, from one side to the other, always in the same order
 */
export function hatching(
  rings: readonly (readonly Point[])[],
  look: { readonly spacingMm: number; readonly angleDeg: number; readonly stroke: Stroke },
): Mark[] {
  const turn = (look.angleDeg * Math.PI) / 180;
  const cos = Math.cos(turn);
  const sin = Math.sin(turn);
  // along: on the line; across: from line to line; paper's y runs down
  const turned = rings.map((ring) => ring.map(([x, y]): Point => [x * cos - y * sin, x * sin + y * cos]));
  let low = Infinity;
  let high = -Infinity;
  for (const ring of turned) {
    for (const [, across] of ring) {
      low = Math.min(low, across);
      high = Math.max(high, across);
    }
  }
  const marks: Mark[] = [];
  if (!(high > low)) return marks;
  // lines at whole multiples (and a half) of the spacing: neighbouring areas hatch in one run
  for (let k = Math.ceil(low / look.spacingMm - 0.5); (k + 0.5) * look.spacingMm < high; k++) {
    const level = (k + 0.5) * look.spacingMm;
    const cuts = crossings(turned, level);
    for (let i = 0; i + 1 < cuts.length; i += 2) {
      if (cuts[i + 1] - cuts[i] < 1e-6) continue;
      const points = [cuts[i], cuts[i + 1]].map((a): Point => [a * cos + level * sin, level * cos - a * sin]);
      marks.push({ kind: 'line', points, stroke: look.stroke });
    }
  }
  return marks;
}

function crossings(rings: readonly (readonly Point[])[], level: number): number[] {
  const at: number[] = [];
  for (const ring of rings) {
    for (let i = 0; i < ring.length; i++) {
      const [x1, y1] = ring[i];
      const [x2, y2] = ring[(i + 1) % ring.length];
      if (y1 > level !== y2 > level) at.push(x1 + ((level - y1) / (y2 - y1)) * (x2 - x1));
    }
  }
  return at.sort((a, b) => a - b);
}
