import type { Shape } from '../../src/math/hull-distance.js';
import { randomStream } from '../../src/math/random.js';

/** Seeded hull within about 20 × 15 m: bent lines (frames) and turned planks, some overlapping. */
export function seededHull(spec: { seed: number; lines: number; areas: number }): Shape[] {
  const random = randomStream(spec.seed, 0);
  const place = () => [3 + 14 * random.next(), 3 + 9 * random.next()];
  const way = (length: number) => {
    const turn = 2 * Math.PI * random.next();
    return [length * Math.cos(turn), length * Math.sin(turn)];
  };
  const lines = Array.from({ length: spec.lines }, (): Shape => {
    const [x, y] = place();
    const [dx, dy] = way(0.4 + random.next());
    const [ex, ey] = way(0.4 + random.next());
    return { type: 'line', parts: [Float64Array.of(x, y, x + dx, y + dy, x + dx + ex, y + dy + ey)] };
  });
  const areas = Array.from({ length: spec.areas }, (): Shape => {
    const [x, y] = place();
    const [dx, dy] = way(0.6 + 1.5 * random.next());
    const w = 0.15 + 0.2 * random.next();
    const [nx, ny] = [-dy * w, dx * w];
    return { type: 'area', parts: [Float64Array.of(x, y, x + dx, y + dy, x + dx + nx, y + dy + ny, x + nx, y + ny)] };
  });
  return [...lines, ...areas];
}
