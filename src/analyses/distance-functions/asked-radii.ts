import { type Region, regionBox } from '../../math/rings.js';

const mostRadii = 1025;

/**
 * Reads the radii asked: a list of numbers, or text with commas as a command line gives it.
 * @returns  metres; null when none were asked; a sentence when they cannot be used
 */
export function readRadii(given: readonly (string | number)[] | string | null): number[] | null | string {
  if (given === null) return null;
  const items: readonly (string | number)[] = typeof given === 'string' ? [given] : given;
  const words = items.flatMap((item) =>
    typeof item === 'number' ? [String(item)] : item.replace(/[[\]]/g, ' ').split(/[\s,;]+/),
  );
  const radii = words.filter((word) => word !== '').map((word) => ({ word, r: Number(word) }));
  if (radii.length === 0) return 'give at least one radius in metres';
  if (radii.length > mostRadii) return `${radii.length} radii are too many; at most ${mostRadii} are computed`;
  let before = -Infinity;
  for (const { word, r } of radii) {
    if (!Number.isFinite(r) || r < 0) return `"${word}" is no radius; give metres, 0 or more, parted by commas`;
    if (!(r > before)) return `radii must rise, but ${word} follows ${before}; give each once, in order`;
    before = r;
  }
  return radii.map(({ r }) => r);
}

const steps = 64;

/** Shorter side of the box around a window, metres. */
export function shorterSide(window: Region): number {
  const [west, south, east, north] = regionBox(window);
  return Math.min(east - west, north - south);
}

/** The usual radii: 0 to a quarter of the window's shorter side; beyond it, edge weights grow and pairs grow few. */
export function usualRadii(window: Region): number[] {
  const largest = shorterSide(window) / 4;
  return Array.from({ length: steps + 1 }, (_, k) => (k * largest) / steps);
}
