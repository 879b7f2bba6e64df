import { Problem } from '../problems.js';
import type { SurfaceReader, SurfaceValues } from './lattice-surface.js';
import type { LevelColumns } from './level-nodes.js';
import { levelledSurface } from './level-surface.js';

/** How levels become a thickness. */
export interface ThicknessRequest {
  /** oldest first; seasons of the levels that are not named here come after, by name */
  readonly seasons: readonly string[];
  /** node spacing of the site grid with its origin at 0, 0; null = read from the levels */
  readonly stepM: number | null;
  /** standard deviation of a reading that states none, metres */
  readonly unstatedSigmaM: number;
}

/** states of a top that no longer is the top of the undisturbed deposit */
const disturbedStates: ReadonlySet<string> = new Set(['after_dig', 'backfilled']);

/** names that plain level files give the two surfaces */
const shortNames: Readonly<Record<string, string>> = { deposit_top: 'top', deposit_bottom: 'bottom' };

/**
 * Thickness of the deposit as it was before the seasons chosen dug into it: at each place the oldest top less the newest
 * bottom, each bilinear between its nodes.
 *
 * Seasons level against their own zero, so that a top of one and a bottom of another bring a shared error that the
 * standard deviation of the readings does not know of.
 *
 * @returns a reader of places: thickness and its random standard deviation in metres; NaN where either was not levelled
 * @throws Problem cannot-answer without levels of both surfaces
 */
export function thicknessSurface(levels: LevelColumns | null, request: ThicknessRequest): SurfaceReader {
  if (levels === null || levels.x.length === 0) {
    throw new Problem(
      'cannot-answer',
      'no levels in this selection: a thickness needs the top and the bottom of the deposit (levels.csv of a site, or --levels L.csv with x,y,surface,elevation)',
    );
  }
  const others = [...new Set(levels.season)].filter((season) => !request.seasons.includes(season)).sort();
  const oldestFirst = [...request.seasons, ...others];
  const readers = (surface: string, order: readonly string[]): SurfaceReader[] => {
    const name = nameAmong(levels, surface);
    const found = order.flatMap((season) => {
      const reader = levelledSurface(levels, {
        surface: name,
        season,
        stepM: request.stepM,
        unstatedSigmaM: request.unstatedSigmaM,
        ...(surface === 'deposit_top'
          ? { counts: (reading: number) => !disturbedStates.has(levels.state[reading] ?? '') }
          : {}),
      });
      return reader ? [reader] : [];
    });
    if (found.length > 0) return found;
    throw new Problem('cannot-answer', `no levels of ${name} in this selection that could be used`, { surface: name });
  };
  const tops = readers('deposit_top', oldestFirst);
  const bottoms = readers('deposit_bottom', [...oldestFirst].reverse());
  return (xy) => {
    const top = firstKnown(tops, xy);
    const bottom = firstKnown(bottoms, xy);
    return {
      value: top.value.map((z, i) => z - bottom.value[i]),
      sigma: top.sigma.map((s, i) => Math.hypot(s, bottom.sigma[i])),
    };
  };
}

function nameAmong(levels: LevelColumns, surface: string): string {
  const known = new Set(levels.surface);
  for (const name of [surface, shortNames[surface]]) if (known.has(name)) return name;
  throw new Problem('cannot-answer', `no levels of ${surface}; the levels are of ${[...known].sort().join(', ')}`, {
    surface,
  });
}

function firstKnown(readers: readonly SurfaceReader[], xy: Float64Array): SurfaceValues {
  const n = xy.length / 2;
  const value = new Float64Array(n).fill(Number.NaN);
  const sigma = value.slice();
  for (const reader of readers) {
    const read = reader(xy);
    for (let i = 0; i < n; i++) {
      if (!Number.isNaN(value[i])) continue;
      value[i] = read.value[i];
      sigma[i] = read.sigma[i];
    }
  }
  return { value, sigma };
}
