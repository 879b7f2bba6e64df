/** A top of a surface and its height. */
export interface PlacedPeak {
  readonly x: number;
  readonly y: number;
  readonly height: number;
}

/**
 * Counterparts of peaks on another surface of the same ground (the same finds smoothed more or less): nearest pairs
 * first, each peak at most once, none farther apart than a distance.
 *
 * @param withinM  metres
 * @returns        [peaks] the counterpart of each, null = none
 */
export function pairPeaks(
  peaks: readonly PlacedPeak[],
  others: readonly PlacedPeak[],
  withinM: number,
): (PlacedPeak | null)[] {
  const pairs = peaks.flatMap((peak, i) =>
    others.map((other, j) => ({ i, j, apart: Math.hypot(peak.x - other.x, peak.y - other.y) })),
  );
  pairs.sort((a, b) => a.apart - b.apart || a.i - b.i || a.j - b.j);
  const found = peaks.map((): PlacedPeak | null => null);
  const taken = new Set<number>();
  for (const { i, j, apart } of pairs) {
    if (apart > withinM) break;
    if (found[i] !== null || taken.has(j)) continue;
    found[i] = others[j];
    taken.add(j);
  }
  return found;
}
