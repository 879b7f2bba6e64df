import type { Sample } from '../../domain/sample.js';
import type { SurfaceReader } from '../../math/lattice-surface.js';
import { levelledSurface } from '../../math/level-surface.js';
import { relativeDepth } from '../../math/relative-depth.js';
import { contains, edgeSlack, type Region, regionBox } from '../../math/rings.js';
import { Problem } from '../../problems.js';
import type { Parameters } from './schemas.js';

/** What is known of the depth of every position of the sample, all [n]; NaN = not known. */
export interface FindDepths {
  /** why a position is left out of the comparison; null = it is in */
  readonly reason: readonly (string | null)[];
  readonly u: Float64Array;
  readonly sigma: Float64Array;
  readonly elevation: Float64Array;
  readonly belowTopM: Float64Array;
  readonly aboveBottomM: Float64Array;
  readonly thicknessM: Float64Array;
  readonly isRange: Uint8Array;
  readonly isMixed: Uint8Array;
  readonly isOverHull: Uint8Array;
  readonly isDisturbed: Uint8Array;
}

export const noElevation = 'no elevation';
/** a deposit thinner than so many of its errors gives no relative depth */
const leastThicknessSigmas = 4;

/** states of a top that no longer is the top of the undisturbed deposit */
const disturbedStates: ReadonlySet<string> = new Set(['after_dig', 'backfilled']);

/**
 * Relative depth of each position from the surfaces of the deposit.
 * @throws Problem cannot-answer without levels of the top and the lower surface
 */
export function findDepths(sample: Sample, own: Parameters): FindDepths {
  const n = sample.xy.length / 2;
  const surfaces = surfacesOf(sample, own);
  const numbers = () => new Float64Array(n).fill(Number.NaN);
  const out = {
    reason: new Array<string | null>(n).fill(null),
    u: numbers(),
    sigma: numbers(),
    elevation: numbers(),
    belowTopM: numbers(),
    aboveBottomM: numbers(),
    thicknessM: numbers(),
    isRange: new Uint8Array(n),
    isMixed: new Uint8Array(n),
    isOverHull: insideAny(
      sample,
      sample.hull.filter((e) => e.type === 'area' && e.state === 'articulated').map((e) => ({ rings: e.parts })),
    ),
    isDisturbed: insideAny(
      sample,
      sample.contexts.filter((c) => c.kind !== null && /disturb|pit|cut|loot/i.test(c.kind)).map((c) => c.region),
    ),
  };
  const isDugOut = dugOut(sample, own);
  for (let i = 0; i < n; i++) {
    const find = elevationOf(sample, own, i);
    out.elevation[i] = find.z;
    out.isRange[i] = find.isRange ? 1 : 0;
    const top = surfaces.top(i);
    const bottom = surfaces.bottom(i);
    const depth = relativeDepth({
      top: top.value,
      topSigma: top.sigma,
      bottom: bottom.value,
      bottomSigma: bottom.sigma,
      z: find.z,
      zSigma: find.sigma,
    });
    out.thicknessM[i] = depth.thicknessM;
    out.belowTopM[i] = top.value - find.z;
    out.aboveBottomM[i] = find.z - bottom.value;
    out.reason[i] = reasonAgainst({ find: find.z, top: top.value, bottom: bottom.value }, depth, {
      isDugOut: isDugOut[i] === 1,
      isUnwanted: own.disturbed_ground === 'leave_out' && out.isDisturbed[i] === 1,
      lower: own.lower_surface,
    });
    if (out.reason[i] !== null) continue;
    out.u[i] = depth.u;
    out.sigma[i] = depth.sigma;
    out.isMixed[i] = top.season === bottom.season ? 0 : 1;
    if (own.beyond_surfaces === 'leave_out') out.reason[i] = beyondReason(depth, own.lower_surface);
  }
  return out;
}

function reasonAgainst(
  at: { readonly find: number; readonly top: number; readonly bottom: number },
  depth: { readonly thicknessM: number; readonly thicknessSigmaM: number },
  ground: { readonly isDugOut: boolean; readonly isUnwanted: boolean; readonly lower: string },
): string | null {
  if (Number.isNaN(at.find)) return noElevation;
  if (!ground.isDugOut) return `ground not dug down to ${ground.lower}`;
  if (ground.isUnwanted) return 'disturbed ground';
  if (Number.isNaN(at.top)) return 'no deposit_top levelled there';
  if (Number.isNaN(at.bottom)) return `no ${ground.lower} levelled there`;
  if (depth.thicknessM < -leastThicknessSigmas * depth.thicknessSigmaM) return 'top below the lower surface';
  if (!(depth.thicknessM >= leastThicknessSigmas * depth.thicknessSigmaM && depth.thicknessM > 0)) {
    return `deposit thinner than ${leastThicknessSigmas} of its errors`;
  }
  return null;
}

/** beyond a surface by more than so many standard errors of the relative depth */
const beyondSigmas = 2;

/** Whether a relative depth lies below the lower surface (1), above the top (−1) or between them (0), errors allowed for. */
export function beyondSurfaces(u: number, sigma: number): 1 | 0 | -1 {
  if (u - 1 > beyondSigmas * sigma) return 1;
  return -u > beyondSigmas * sigma ? -1 : 0;
}

function beyondReason({ u, sigma }: { readonly u: number; readonly sigma: number }, lower: string): string | null {
  const side = beyondSurfaces(u, sigma);
  if (side === 0) return null;
  return side > 0 ? `below ${lower} by more than two errors` : 'above deposit_top by more than two errors';
}

function elevationOf(sample: Sample, own: Parameters, i: number): { z: number; sigma: number; isRange: boolean } {
  const { sigmaZ, zMin, zMax } = sample.detail;
  if (!Number.isNaN(sample.z[i])) {
    return { z: sample.z[i], sigma: sigmaZ[i] >= 0 ? sigmaZ[i] : own.find_sigma_m, isRange: false };
  }
  const span = zMax[i] - zMin[i];
  if (own.z_ranges === 'leave_out' || !(span >= 0)) return { z: Number.NaN, sigma: Number.NaN, isRange: false };
  return { z: zMin[i] + span / 2, sigma: span / Math.sqrt(12), isRange: true };
}

interface Read {
  readonly value: number;
  readonly sigma: number;
  readonly season: string;
}

const notLevelled: Read = { value: Number.NaN, sigma: Number.NaN, season: '' };

/** The two surfaces at each position, each from the season that fits the find best. */
function surfacesOf(sample: Sample, own: Parameters) {
  const { levels } = sample;
  if (levels === null || levels.x.length === 0) {
    throw new Problem(
      'cannot-answer',
      `relative depth needs the top of the deposit and a lower surface (${own.lower_surface}), and this selection has no levels: load levels.csv, or give --levels`,
    );
  }
  // a site grid has its origin at 0, 0; plain metres may be as large as map coordinates
  const [west, south] = sample.grid === null ? regionBox(sample.window) : [0, 0];
  const local = { ...levels, x: levels.x.map((v) => v - west), y: levels.y.map((v) => v - south) };
  const xy = sample.xy.map((v, i) => v - (i % 2 === 0 ? west : south));
  const named = [...new Set(levels.season)];
  const seasons = [
    ...sample.seasons.filter((s) => named.includes(s)),
    ...named.filter((s) => !sample.seasons.includes(s)),
  ];
  const stepM = sample.grid?.node_spacing ?? null;
  const valuesOf = (surface: string, counts?: (reading: number) => boolean) => {
    const out = new Map<string, ReturnType<SurfaceReader>>();
    for (const season of seasons) {
      const reader = levelledSurface(local, {
        surface,
        season,
        stepM,
        unstatedSigmaM: own.level_sigma_m,
        ...(counts ? { counts } : {}),
      });
      if (reader) out.set(season, reader(xy));
    }
    if (out.size === 0) {
      const known = [...new Set(levels.surface)].filter((s) => s !== '').join(', ') || 'none with a name';
      throw new Problem('cannot-answer', `no levels of ${surface} in this selection; levelled were: ${known}`, {
        surface,
      });
    }
    return out;
  };
  const tops = valuesOf('deposit_top', (k) => !disturbedStates.has(levels.state[k] ?? ''));
  const bottoms = valuesOf(own.lower_surface);
  const read = (from: ReadonlyMap<string, ReturnType<SurfaceReader>>, order: readonly string[], i: number): Read => {
    for (const season of order) {
      const values = from.get(season);
      if (values && !Number.isNaN(values.value[i])) {
        return { value: values.value[i], sigma: values.sigma[i], season };
      }
    }
    return notLevelled;
  };
  const topOrder = topOrders(sample, own, seasons);
  const newestFirst = [...seasons].reverse();
  const seasonAt = (i: number) => (sample.seasonCode[i] === 0 ? '' : sample.seasons[sample.seasonCode[i] - 1]);
  return {
    top: (i: number) => read(tops, topOrder(i), i),
    bottom: (i: number) => read(bottoms, [seasonAt(i), ...newestFirst], i),
  };
}

/**
 * Seasons whose top counts at a position, first choice first: that of the find; but the season that opened the ground
 * where that was earlier and the later reading does not say what state the top was in.
 */
function topOrders(sample: Sample, own: Parameters, seasons: readonly string[]): (i: number) => readonly string[] {
  const { levels } = sample;
  const unstated = new Set<string>();
  levels?.surface.forEach((surface, k) => {
    if (surface === 'deposit_top' && !levels.state[k]) unstated.add(levels.season[k]);
  });
  const dugBy = new Map(
    seasons.map((season) => [
      season,
      insideAny(
        sample,
        sample.dug.filter((area) => area.season === season).map((area) => area.region),
      ),
    ]),
  );
  return (i) => {
    const season = sample.seasonCode[i] === 0 ? '' : sample.seasons[sample.seasonCode[i] - 1];
    const opening = seasons.filter(
      (s) => dugBy.get(s)?.[i] === 1 && (season === '' || seasons.indexOf(s) <= seasons.indexOf(season)),
    );
    return own.top_season === 'opening' || unstated.has(season)
      ? [...opening, season, ...seasons]
      : [season, ...opening, ...seasons];
  };
}

/** 1 where ground was dug down to the lower surface in some season chosen; plain files do not say, and all counts. */
function dugOut(sample: Sample, own: Parameters): Uint8Array {
  const n = sample.xy.length / 2;
  if (sample.site === null || own.ground === 'all') return new Uint8Array(n).fill(1);
  const enough: ReadonlySet<string> = {
    deposit_bottom: new Set(['to_deposit_bottom', 'to_hard_substrate']),
    hard_substrate: new Set(['to_hard_substrate']),
    excavation_limit: new Set(['part_dug', 'to_deposit_bottom', 'to_hard_substrate']),
  }[own.lower_surface];
  return insideAny(
    sample,
    sample.dug.filter((area) => enough.has(area.progress)).map((area) => area.region),
  );
}

/** 1 where a position lies in one of some regions, edges included. */
function insideAny(sample: Sample, regions: readonly Region[]): Uint8Array {
  const { xy } = sample;
  const out = new Uint8Array(xy.length / 2);
  for (const region of regions) {
    const [west, south, east, north] = regionBox(region);
    const slack = edgeSlack(region);
    for (let i = 0; i < out.length; i++) {
      const [x, y] = [xy[2 * i], xy[2 * i + 1]];
      if (out[i] === 1 || x < west - slack || x > east + slack || y < south - slack || y > north + slack) continue;
      if (contains(region, x, y, slack)) out[i] = 1;
    }
  }
  return out;
}
