import type { RegisterEntries, Sample } from '../../domain/sample.js';
import { contains, edgeSlack, orientRings, regionBox } from '../../math/rings.js';
import { named } from './level-checks.js';
import type { Oddity, Parameters } from './schemas.js';
import { type DoubtfulNode, isBesideDoubtful, surfaceAtFinds } from './surface-checks.js';

/** Finds known by an area, against the surfaces and for their elevation. */
interface AreaFindChecks {
  readonly oddities: Oddity[];
  readonly compared: number;
}

/** places read along each side of an area, its edges included */
const probes = 6;

interface Probed {
  readonly middle: readonly [number, number];
  /** numbers of its places among all places read */
  readonly from: number;
  readonly to: number;
}

/**
 * A find known by its square lies anywhere in it. It is above the top only where it lies above the highest top of the
 * square, and below the bottom only where it lies below the lowest bottom; areas whose surface is known in part only
 * are not judged.
 */
export function checkAreaFinds(
  sample: Sample,
  { own, doubtful }: { readonly own: Parameters; readonly doubtful: readonly DoubtfulNode[] },
): AreaFindChecks {
  const { register } = sample;
  const out: AreaFindChecks & { compared: number } = { oddities: [], compared: 0 };
  if (register?.area === undefined || register.elevation === undefined) return out;
  const season = (i: number) => (register.seasonCode[i] === 0 ? '' : sample.seasons[register.seasonCode[i] - 1]);
  const places: { x: number; y: number; season: string }[] = [];
  const probed = new Map<string, Probed>();
  const known = register.area.flatMap((ring, i) => {
    if (ring === null) return [];
    const key = `${season(i)}|${ring.join(' ')}`;
    const area = probed.get(key) ?? probe(ring, season(i), places);
    probed.set(key, area);
    return [{ i, area }];
  });
  const top = surfaceAtFinds(sample, { finds: places, own, surface: 'deposit_top' });
  const bottom = surfaceAtFinds(sample, { finds: places, own, surface: 'deposit_bottom' });
  for (const { i, area } of known) {
    const { low, high, sigma } = elevationOf(register, i, own);
    const row = (said: Pick<Oddity, 'kind' | 'value' | 'unit' | 'beyond' | 'rule' | 'severity'>): Oddity => ({
      where: `find ${register.find[i]}`,
      season: named(season(i)),
      x_m: area.middle[0],
      y_m: area.middle[1],
      before_backfill: said.kind === 'find_without_elevation',
      ...said,
    });
    if (Number.isNaN(low + high)) {
      out.oddities.push(
        row({
          kind: 'find_without_elevation',
          value: null,
          unit: 'm',
          beyond: null,
          rule: 'a find known by its square has the elevations of top and bottom of the layer it was lifted from',
          severity: 'note',
        }),
      );
      continue;
    }
    const highest = extreme(top, area, 1);
    const lowest = extreme(bottom, area, -1);
    if (highest === null && lowest === null) continue;
    out.compared++;
    const isDoubtful = places
      .slice(area.from, area.to)
      .some((place, k) =>
        [top, bottom].some(({ seasons }) => isBesideDoubtful(doubtful, place, seasons[area.from + k])),
      );
    const judge = (kind: 'above_top' | 'below_bottom', distance: number, surfaceSigma: number) => {
      const error = Math.hypot(sigma, surfaceSigma);
      if (!(distance > own.beyond_sigmas * error)) return;
      out.oddities.push(
        row({
          kind,
          value: distance,
          unit: 'm',
          beyond: distance - own.beyond_sigmas * error,
          rule: `wherever in its area the find lies, it is no more than ${own.beyond_sigmas} errors (${error.toFixed(3)} m each) ${kind === 'above_top' ? 'above the highest top' : 'below the lowest bottom'} there${isDoubtful ? '; a node beside it is inverted or of a series that looks unreduced' : ''}`,
          severity: !isDoubtful && distance > 2 * own.beyond_sigmas * error ? 'serious' : 'look',
        }),
      );
    };
    if (highest) judge('above_top', low - highest.value, highest.sigma);
    if (lowest) judge('below_bottom', lowest.value - high, lowest.sigma);
  }
  return out;
}

function probe(ring: Float64Array, season: string, places: { x: number; y: number; season: string }[]): Probed {
  const region = orientRings([[ring]]);
  const [west, south, east, north] = regionBox(region);
  const slack = Math.max(edgeSlack(region), 1e-9);
  const from = places.length;
  for (let k = 0; k < probes * probes; k++) {
    const x = west + ((k % probes) * (east - west)) / (probes - 1);
    const y = south + (Math.floor(k / probes) * (north - south)) / (probes - 1);
    if (contains(region, x, y, slack)) places.push({ x, y, season });
  }
  return { middle: [(west + east) / 2, (south + north) / 2], from, to: places.length };
}

/** Highest (sense 1) or lowest (sense −1) value of a surface over an area; null where some of it is not known. */
function extreme(
  surface: { readonly value: Float64Array; readonly sigma: Float64Array },
  { from, to }: Probed,
  sense: 1 | -1,
): { readonly value: number; readonly sigma: number } | null {
  let at = from;
  for (let k = from; k < to; k++) {
    if (Number.isNaN(surface.value[k])) return null;
    if (sense * surface.value[k] > sense * surface.value[at]) at = k;
  }
  return to > from ? { value: surface.value[at], sigma: surface.sigma[at] } : null;
}

function elevationOf({ elevation }: RegisterEntries, i: number, own: Parameters) {
  if (elevation === undefined) return { low: Number.NaN, high: Number.NaN, sigma: 0 };
  const { z, zMin, zMax, sigmaZ } = elevation;
  if (Number.isNaN(z[i])) return { low: zMin[i], high: zMax[i], sigma: 0 };
  return { low: z[i], high: z[i], sigma: sigmaZ[i] >= 0 ? sigmaZ[i] : own.find_sigma_m };
}
