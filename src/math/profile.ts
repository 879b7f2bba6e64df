import { Problem } from '../problems.js';

type Place = readonly [number, number];

/** A place on a section line. */
export interface Station {
  /** along the line from its first corner, metres */
  readonly alongM: number;
  readonly x: number;
  readonly y: number;
}

const mostStations = 20_000;

/**
 * Places along a line at equal steps, and at each of its corners, so that no bend is cut.
 *
 * @param line  two corners or more, metres
 * @throws Problem bad-parameter when the line has no length, or more than 20 000 places were needed
 */
export function stationsAlong(line: readonly Place[], stepM: number): Station[] {
  const length = lineLength(line);
  if (!(length > 0)) throw new Problem('bad-parameter', 'the section line has no length: give two places or more');
  if (length / stepM > mostStations) {
    throw new Problem(
      'bad-parameter',
      `step_m ${stepM} makes ${Math.ceil(length / stepM)} places along ${length.toFixed(1)} m; at most ${mostStations} are read, ask for a longer step`,
    );
  }
  const out: Station[] = [];
  let before = 0;
  let next = 0;
  eachLeg(line, ([ax, ay], [bx, by], legM) => {
    const at = (alongM: number): Station => {
      const share = (alongM - before) / legM;
      return { alongM, x: ax + share * (bx - ax), y: ay + share * (by - ay) };
    };
    if (out.length === 0) out.push({ alongM: 0, x: ax, y: ay });
    // counted in whole steps: a sum of steps would drift off the last corner
    for (next = Math.max(next, 1); next * stepM < before + legM - 1e-9 * length; next++) {
      if (next * stepM > before + 1e-9 * length) out.push(at(next * stepM));
    }
    before += legM;
    out.push({ alongM: before, x: bx, y: by });
  });
  return out;
}

/** Length of a line, metres. */
export function lineLength(line: readonly Place[]): number {
  let sum = 0;
  eachLeg(line, (_a, _b, legM) => {
    sum += legM;
  });
  return sum;
}

function eachLeg(line: readonly Place[], visit: (a: Place, b: Place, legM: number) => void): void {
  for (let i = 0; i + 1 < line.length; i++) {
    const legM = Math.hypot(line[i + 1][0] - line[i][0], line[i + 1][1] - line[i][1]);
    if (legM > 0) visit(line[i], line[i + 1], legM);
  }
}

/** A place carried square onto a section line. */
export interface Projected {
  readonly alongM: number;
  /** from the line, positive to the left of one who walks along it */
  readonly offM: number;
}

/**
 * The nearest spot of a line for each place within a band beside it. Beyond its two ends nothing is projected; at a
 * bend a place on the outer side goes to the corner.
 *
 * @param xy     [2n] metres; left untouched
 * @param bandM  greatest distance from the line; a place exactly as far belongs to the band
 * @returns      [n] null = outside the band
 */
export function projectOnLine(line: readonly Place[], xy: Float64Array, bandM: number): (Projected | null)[] {
  const legs: { a: Place; b: Place; legM: number; before: number }[] = [];
  let before = 0;
  eachLeg(line, (a, b, legM) => {
    legs.push({ a, b, legM, before });
    before += legM;
  });
  return Array.from({ length: xy.length / 2 }, (_, i) => {
    let best: Projected | null = null;
    let least = Infinity;
    legs.forEach(({ a, b, legM, before }, k) => {
      const ux = (b[0] - a[0]) / legM;
      const uy = (b[1] - a[1]) / legM;
      const dx = xy[2 * i] - a[0];
      const dy = xy[2 * i + 1] - a[1];
      const foot = dx * ux + dy * uy;
      // a place beyond an end of the whole line belongs to no section
      if ((k === 0 && foot < 0) || (k === legs.length - 1 && foot > legM)) return;
      const along = Math.min(Math.max(foot, 0), legM);
      const distance = Math.hypot(dx - along * ux, dy - along * uy);
      if (distance < least) {
        least = distance;
        best = { alongM: before + along, offM: ux * dy - uy * dx >= 0 ? distance : -distance };
      }
    });
    return least <= bandM ? best : null;
  });
}

/** Area under a profile, m²: straight between neighbouring places where both are known. */
export function profileArea(
  stations: readonly Station[],
  heights: Float64Array,
): { readonly areaM2: number; readonly knownM: number } {
  let areaM2 = 0;
  let knownM = 0;
  for (let i = 0; i + 1 < stations.length; i++) {
    const length = stations[i + 1].alongM - stations[i].alongM;
    const mean = (heights[i] + heights[i + 1]) / 2;
    if (Number.isNaN(mean)) continue;
    areaM2 += length * mean;
    knownM += length;
  }
  return { areaM2, knownM };
}
