import type { Sample } from '../../domain/sample.js';
import { contains, edgeSlack } from '../../math/rings.js';
import type { SeasonFrame } from './season-frame.js';

/** A find with a place of its own, as the check looks at it. */
export interface PlacedFind {
  readonly label: string;
  readonly season: string;
  readonly x: number;
  readonly y: number;
  /** as stated in the register or read from the place; null = none */
  readonly square: string | null;
  readonly sigmaXy: number;
}

const squareKinds: ReadonlySet<string> = new Set(['square', 'half_square', 'quarter_square']);

/** Finds with a place: those of the sample, then those of the register that lie outside the dug ground. */
export interface FindPlaces {
  readonly inside: readonly PlacedFind[];
  readonly outside: readonly PlacedFind[];
  /** finds known by a square that shares nothing with the dug ground; placed at its middle */
  readonly inUndugSquares: readonly PlacedFind[];
}

/** Where the finds lie. The dug ground is that of all seasons chosen, whatever part of it the window shows. */
export function findPlaces(sample: Sample, frameOf: (season: string) => SeasonFrame | null): FindPlaces {
  const seasonName = (code: number) => (code === 0 ? '' : sample.seasons[code - 1]);
  const inside = sample.label.map((label, i) => ({
    label,
    season: seasonName(sample.seasonCode[i]),
    x: sample.xy[2 * i],
    y: sample.xy[2 * i + 1],
    square: sample.detail.square[i],
    sigmaXy: sample.sigmaXy[i],
  }));
  const { register } = sample;
  const outside: PlacedFind[] = [];
  const inUndugSquares: PlacedFind[] = [];
  if (register === undefined || sample.dug.length === 0) return { inside, outside, inUndugSquares };
  const slack = sample.dug.map((area) => edgeSlack(area.region));
  const isDug = (x: number, y: number) => sample.dug.some(({ region }, k) => contains(region, x, y, slack[k]));
  const undug = new Map<string, readonly [number, number] | null>();
  register.find.forEach((label, i) => {
    const [x, y] = [register.xy[2 * i], register.xy[2 * i + 1]];
    const square = register.square[i];
    const find = { label, season: seasonName(register.seasonCode[i]), square, sigmaXy: Number.NaN };
    if (Number.isFinite(x + y)) {
      if (!isDug(x, y)) outside.push({ ...find, x, y });
      return;
    }
    if (square === null || !squareKinds.has(register.kind[i])) return;
    const key = `${find.season}|${square}`;
    let middle = undug.get(key);
    if (middle === undefined) {
      middle = undugMiddle(frameOf(find.season), square, isDug);
      undug.set(key, middle);
    }
    if (middle !== null) inUndugSquares.push({ ...find, x: middle[0], y: middle[1] });
  });
  return { inside, outside, inUndugSquares };
}

/** places looked at along each side of a square */
const probes = 10;

/** Middle of a square none of whose ground was dug; null when some was, or the label names no square. */
function undugMiddle(
  frame: SeasonFrame | null,
  label: string,
  isDug: (x: number, y: number) => boolean,
): readonly [number, number] | null {
  const place = frame?.squareOf(label) ?? null;
  if (frame === null || place === null) return null;
  for (let k = 0; k < probes * probes; k++) {
    const u = place[0] + ((k % probes) + 0.5) / probes;
    const v = place[1] + (Math.floor(k / probes) + 0.5) / probes;
    if (isDug(...frame.toSite(u, v))) return null;
  }
  return frame.toSite(place[0] + 0.5, place[1] + 0.5);
}
