import { type Region, regionBox } from './rings.js';

/** Middle of some ground: the mean of all its spots, each as heavy as any other; holes are no ground. Metres; null without area. */
export function regionCentre(region: Region): readonly [number, number] | null {
  if (region.rings.length === 0) return null;
  const [x0, y0] = regionBox(region);
  let [twice, sx, sy] = [0, 0, 0];
  for (const ring of region.rings) {
    for (let i = 0; i < ring.length; i += 2) {
      const j = (i + 2) % ring.length;
      const [ax, ay, bx, by] = [ring[i] - x0, ring[i + 1] - y0, ring[j] - x0, ring[j + 1] - y0];
      const cross = ax * by - bx * ay;
      twice += cross;
      sx += (ax + bx) * cross;
      sy += (ay + by) * cross;
    }
  }
  return twice > 0 ? [x0 + sx / (3 * twice), y0 + sy / (3 * twice)] : null;
}
