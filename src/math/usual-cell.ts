import { type Region, regionBox } from './rings.js';

/**
 * Cells a sixth of the bandwidth, at least 128 and at most 512 to the longer side, rounded down to 1, 2, 2.5 or 5 of a
 * power of ten.
 * @param window  along the map's axes, metres
 * @param least   cells to the longer side, when not 128
 */
export function usualCell(window: Region, sigmaM: number, least = 128): number {
  const [west, south, east, north] = regionBox(window);
  const longer = Math.max(east - west, north - south);
  const fine = roundBelow(Math.min(sigmaM / 6, longer / least));
  return fine >= longer / 512 ? fine : roundAbove(longer / 512);
}

const roundFigures = [1, 2, 2.5, 5, 10];

function roundBelow(value: number): number {
  const power = 10 ** Math.floor(Math.log10(value) + 1e-12);
  return Number((power * (roundFigures.findLast((f) => f * power <= value * (1 + 1e-12)) ?? 1)).toPrecision(6));
}

function roundAbove(value: number): number {
  const power = 10 ** Math.floor(Math.log10(value) + 1e-12);
  return Number((power * (roundFigures.find((f) => f * power >= value * (1 - 1e-12)) ?? 10)).toPrecision(6));
}
