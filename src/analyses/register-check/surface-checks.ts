import type { Sample } from '../../domain/sample.js';
import { levelledSurface } from '../../math/level-surface.js';
import { isUsable } from './node-book.js';
import type { PlacedFind } from './positions.js';
import type { Oddity, Parameters } from './schemas.js';

/** Finds compared with the surfaces of the deposit. */
interface SurfaceChecks {
  readonly oddities: Oddity[];
  readonly compared: number;
}

/** A node that is inverted, or of a series that looks unreduced. */
export interface DoubtfulNode {
  readonly season: string;
  readonly x: number;
  readonly y: number;
  /** a find nearer than this, along x and along y, is judged by the node, metres */
  readonly reach: number;
}

/** Finds above the top or below the bottom by more than their errors; surfaces of the find's own season, else the newest. */
export function checkSurfaces(
  sample: Sample,
  finds: readonly PlacedFind[],
  { own, doubtful }: { own: Parameters; doubtful: readonly DoubtfulNode[] },
): SurfaceChecks {
  const top = surfaceAtFinds(sample, { finds, own, surface: 'deposit_top' });
  const bottom = surfaceAtFinds(sample, { finds, own, surface: 'deposit_bottom' });
  const oddities: Oddity[] = [];
  let compared = 0;
  finds.forEach((find, i) => {
    const { low, high, sigma } = elevationOf(sample, own, i);
    if (Number.isNaN(low + high)) return;
    if (Number.isNaN(top.value[i]) && Number.isNaN(bottom.value[i])) return;
    compared++;
    const judge = (kind: 'above_top' | 'below_bottom', distance: number, surfaceSigma: number) => {
      const error = Math.sqrt(sigma ** 2 + surfaceSigma ** 2);
      if (!(distance > own.beyond_sigmas * error)) return;
      const { seasons } = kind === 'above_top' ? top : bottom;
      const isDoubtful = isBesideDoubtful(doubtful, find, seasons[i]);
      oddities.push({
        kind,
        where: `find ${find.label}`,
        season: find.season === '' ? null : find.season,
        x_m: find.x,
        y_m: find.y,
        value: distance,
        unit: 'm',
        beyond: distance - own.beyond_sigmas * error,
        rule: `a find lies no more than ${own.beyond_sigmas} errors (${error.toFixed(3)} m each) ${kind === 'above_top' ? 'above the top' : 'below the bottom'} of the deposit${isDoubtful ? '; a node beside it is inverted or of a series that looks unreduced' : ''}`,
        severity: !isDoubtful && distance > 2 * own.beyond_sigmas * error ? 'serious' : 'look',
        before_backfill: false,
      });
    };
    // of a range, the end nearer to the deposit
    judge('above_top', low - top.value[i], top.sigma[i]);
    judge('below_bottom', bottom.value[i] - high, bottom.sigma[i]);
  });
  return { oddities, compared };
}

/** Whether a surface of some season rests, at a place, on a node that is not to be trusted. */
export function isBesideDoubtful(
  doubtful: readonly DoubtfulNode[],
  { x, y }: { readonly x: number; readonly y: number },
  season: string,
): boolean {
  return doubtful.some(
    (node) => node.season === season && Math.abs(node.x - x) < node.reach && Math.abs(node.y - y) < node.reach,
  );
}

function elevationOf({ z, detail }: Sample, own: Parameters, i: number) {
  if (Number.isNaN(z[i])) return { low: detail.zMin[i], high: detail.zMax[i], sigma: 0 };
  return { low: z[i], high: z[i], sigma: detail.sigmaZ[i] >= 0 ? detail.sigmaZ[i] : own.find_sigma_m };
}

/** A surface read at finds: that of the find's own season, else the newest; NaN = not known. */
export function surfaceAtFinds(
  { levels, grid, seasons }: Sample,
  {
    finds,
    own,
    surface,
  }: { finds: readonly Pick<PlacedFind, 'x' | 'y' | 'season'>[]; own: Parameters; surface: string },
): { value: Float64Array; sigma: Float64Array; seasons: string[] } {
  const n = finds.length;
  const out = {
    value: new Float64Array(n).fill(Number.NaN),
    sigma: new Float64Array(n).fill(Number.NaN),
    seasons: new Array<string>(n).fill(''),
  };
  if (levels === null || n === 0) return out;
  // a site grid has its origin at 0, 0; plain metres may be as large as map coordinates
  const [west, south] = grid === null ? [finds[0].x, finds[0].y] : [0, 0];
  const local = { ...levels, x: levels.x.map((v) => v - west), y: levels.y.map((v) => v - south) };
  const xy = Float64Array.from(finds.flatMap((find) => [find.x - west, find.y - south]));
  const levelled = [...new Set(levels.season)];
  const newestFirst = [
    ...levelled.filter((season) => !seasons.includes(season)),
    ...seasons.filter((season) => levelled.includes(season)),
  ].reverse();
  const read = newestFirst.flatMap((season) => {
    const reader = levelledSurface(local, {
      surface,
      season,
      stepM: grid?.node_spacing ?? null,
      unstatedSigmaM: own.level_sigma_m,
      counts: (i) => isUsable(levels, i),
    });
    return reader === null ? [] : [{ season, values: reader(xy) }];
  });
  finds.forEach((find, i) => {
    const known = read.filter(({ values }) => !Number.isNaN(values.value[i]));
    const chosen = known.find(({ season }) => season === find.season) ?? known[0];
    if (chosen === undefined) return;
    out.value[i] = chosen.values.value[i];
    out.sigma[i] = chosen.values.sigma[i];
    out.seasons[i] = chosen.season;
  });
  return out;
}
