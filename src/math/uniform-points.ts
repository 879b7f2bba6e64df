import { Problem } from '../problems.js';
import type { RandomStream } from './random.js';
import { isRectangle, type Region, regionBox } from './rings.js';
import { triangleAreas, triangulate } from './triangulation.js';

/** Fills xy [2n] with n points. Two numbers of the stream a point in a rectangle, three elsewhere. */
export type PointSampler = (xy: Float64Array, random: RandomStream) => void;

/**
 * Points lying at random in a window, each spot as likely as any other: what a scatter without any pattern looks
 * like in the area that was really dug. The window is cut into triangles once; a triangle is chosen by its area, then
 * a point in it. Only + − × ÷, so that equal streams give equal bits on every machine.
 *
 * @param window  metres; holes and several outer rings allowed; left untouched
 * @throws Problem bad-window when the window has no area
 */
export function uniformPoints(window: Region): PointSampler {
  if (isRectangle(window)) {
    const [west, south, east, north] = regionBox(window);
    if (east > west && north > south)
      return rectanglePoints(west, south, { width: east - west, height: north - south });
  }
  const triangles = triangulate(window);
  const upTo = triangleAreas(triangles);
  for (let t = 1; t < upTo.length; t++) upTo[t] += upTo[t - 1];
  const last = upTo.length - 1;
  if (last < 0 || !(upTo[last] > 0)) {
    throw new Problem('bad-window', 'points can only be drawn in a window with an area; this one has none');
  }
  const total = upTo[last];
  // where to start looking for each of 4t equal shares of the area: one step more on average, however many triangles
  const guide = new Uint32Array(4 * (last + 1));
  for (let g = 1; g < guide.length; g++) {
    let t = guide[g - 1];
    while (t < last && upTo[t] <= (g / guide.length) * total) t++;
    guide[g] = t;
  }
  return (xy, random) => {
    for (let i = 0; i < xy.length; i += 2) {
      const pick = random.next();
      const share = pick * total;
      let chosen = guide[Math.floor(pick * guide.length)];
      while (chosen > 0 && upTo[chosen - 1] > share) chosen--;
      while (chosen < last && upTo[chosen] <= share) chosen++;
      let u = random.next();
      let v = random.next();
      if (u + v > 1) {
        u = 1 - u;
        v = 1 - v;
      }
      const t = 6 * chosen;
      const ax = triangles[t];
      const ay = triangles[t + 1];
      xy[i] = ax + u * (triangles[t + 2] - ax) + v * (triangles[t + 4] - ax);
      xy[i + 1] = ay + u * (triangles[t + 3] - ay) + v * (triangles[t + 5] - ay);
    }
  };
}

function rectanglePoints(west: number, south: number, size: { width: number; height: number }): PointSampler {
  return (xy, random) => {
    for (let i = 0; i < xy.length; i += 2) {
      xy[i] = west + random.next() * size.width;
      xy[i + 1] = south + random.next() * size.height;
    }
  };
}
