import type { Point } from './grids.js';

/** The ship's own axes: metres along the keelson from its after end, and metres off it, starboard positive. */
export const keelson = { after: [9.0, 5.0], bow: [24.6, 12.9] } as const;

const alongX = keelson.bow[0] - keelson.after[0];
const alongY = keelson.bow[1] - keelson.after[1];

/** Length of the keelson, metres (17.486). */
export const keelsonLengthM = Math.sqrt(alongX * alongX + alongY * alongY);
/** Direction from the after end to the bow end, degrees clockwise from site_north (63.14). */
export const keelsonAzimuthDeg = (Math.atan2(alongX, alongY) * 180) / Math.PI;

const ux = alongX / keelsonLengthM;
const uy = alongY / keelsonLengthM;

/** Metres along the keelson and off it (starboard positive) of a site-grid position. */
export function shipCoordinates(x: number, y: number): { along: number; off: number } {
  const dx = x - keelson.after[0];
  const dy = y - keelson.after[1];
  return { along: dx * ux + dy * uy, off: dx * uy - dy * ux };
}

/** Site-grid position of a place given along and off the keelson. */
export function fromShip(along: number, off: number): Point {
  return [keelson.after[0] + along * ux + off * uy, keelson.after[1] + along * uy - off * ux];
}

/** Half the breadth of the surviving bottom at a place along the keelson, metres. */
export function halfBreadth(along: number): number {
  const t = (along - 8.7) / 10.2;
  return 3.0 * Math.sqrt(Math.max(0, 1 - t * t));
}

/** Frames: first station and spacing along the keelson, and the distance of their fastenings along each. */
export const frames = { firstM: 0.35, spacingM: 0.56, count: 31, spikeSpacingM: 0.45 } as const;

/** Places of the frames along the keelson, metres. */
export const frameStations: readonly number[] = Array.from(
  { length: frames.count },
  (_, k) => frames.firstM + k * frames.spacingM,
);
