import type { NamedRegion, Sample } from '../../domain/sample.js';
import { holm } from '../../math/holm.js';
import { rankProbability, simulate } from '../../math/monte-carlo.js';
import { groupNumbers, nameDealer } from '../../math/name-dealing.js';
import { difference, intersection } from '../../math/overlay.js';
import { countInterval } from '../../math/rate-interval.js';
import { rateRatio } from '../../math/rate-ratio.js';
import { contains, edgeSlack, type Region, regionArea, shiftRegion } from '../../math/rings.js';
import type { ChancePlan } from './chance.js';
import type { Ground } from './ground.js';

/** One zone of the ship with the ground dug in it. */
export interface ZoneCount {
  /** null = outside all zones */
  readonly zone: string | null;
  readonly n: number;
  readonly areaM2: number;
  readonly perM2: number | null;
  readonly low: number | null;
  readonly high: number | null;
  /** finds per m² here over those on all other dug ground, with its exact interval */
  readonly ratio: {
    readonly value: number | null;
    readonly low: number;
    readonly high: number | null;
    readonly p: number;
  } | null;
}

export interface ZoneShares {
  readonly zones: readonly ZoneCount[];
  /** [n] zone of each find, place in `zones` */
  readonly zoneOf: Uint8Array;
}

/**
 * Finds per m² of dug ground in each zone of the ship; ground in several zones belongs to the first drawn. The last one
 * is the ground outside all zones.
 */
export function zoneShares(ground: Ground, drawn: readonly NamedRegion[]): ZoneShares | null {
  if (drawn.length === 0) return null;
  let rest: Region = ground.window;
  const grounds: { name: string | null; region: Region }[] = [];
  for (const { name, region } of drawn) {
    const here = shiftRegion(region, ground.origin[0], ground.origin[1]);
    grounds.push({ name, region: intersection(rest, here) });
    rest = difference(rest, here);
  }
  grounds.push({ name: null, region: rest });
  const n = ground.xy.length / 2;
  const zoneOf = new Uint8Array(n);
  const slack = edgeSlack(ground.window);
  for (let i = 0; i < n; i++) {
    const at = drawn.findIndex(({ region }) =>
      contains(region, ground.xy[2 * i] + ground.origin[0], ground.xy[2 * i + 1] + ground.origin[1], slack),
    );
    zoneOf[i] = at < 0 ? drawn.length : at;
  }
  const zones = grounds.map(({ name, region }, z): ZoneCount => {
    const areaM2 = region.rings.length === 0 ? 0 : regionArea(region);
    const count = zoneOf.reduce((sum, own) => sum + (own === z ? 1 : 0), 0);
    const isDug = areaM2 > 1e-9;
    const interval = isDug ? countInterval(count) : null;
    const ratio = isDug
      ? rateRatio({ n1: count, area1: areaM2, n2: n - count, area2: Math.max(0, ground.areaM2 - areaM2) })
      : null;
    return {
      zone: name,
      n: count,
      areaM2,
      perM2: isDug ? count / areaM2 : null,
      low: interval && interval.low / areaM2,
      high: interval && interval.high / areaM2,
      ratio: ratio && { value: ratio.ratio, low: ratio.low, high: ratio.high, p: ratio.p },
    };
  });
  return { zones, zoneOf };
}

/** Classes held to zones: do some classes keep to some zones? */
export interface ZonesByClass {
  readonly classes: readonly (string | null)[];
  /** [zones][classes] finds */
  readonly counts: readonly (readonly number[])[];
  readonly chi2: number;
  readonly p: number | null;
  readonly units: number;
  /** every zone and class with finds: expected count, its departure in standard deviations of the deals, p and p by Holm */
  readonly cells: readonly {
    readonly zone: string | null;
    readonly artefactClass: string | null;
    readonly n: number;
    readonly expected: number;
    readonly departure: number | null;
    readonly p: number | null;
    readonly pHolm: number | null;
  }[];
}

/**
 * Deals the class names anew over the finds, which stay in their zones; sherds of a pot and children of a concretion
 * keep together. Where was dug, and how much, is the same in every deal.
 *
 * @returns null with fewer than two classes or two zones with finds
 */
export function zonesByClass(sample: Sample, shares: ZoneShares, plan: ChancePlan): ZonesByClass | null {
  const { zoneOf, zones } = shares;
  const codes = [...new Set(sample.classCode)].sort((a, b) => (a || 1e9) - (b || 1e9));
  const used = [...zones.keys()].filter((z) => zones[z].n > 0);
  if (codes.length < 2 || used.length < 2) return null;
  const n = zoneOf.length;
  const width = codes.length;
  const column = Uint32Array.from(sample.classCode, (code) => codes.indexOf(code));
  const row = Uint32Array.from(zoneOf, (z) => used.indexOf(z));
  const sizes = codes.map((_, c) => column.reduce((sum, own) => sum + (own === c ? 1 : 0), 0));
  const tally = (names: ArrayLike<number>): Float64Array => {
    const counts = new Float64Array(used.length * width);
    for (let i = 0; i < n; i++) counts[row[i] * width + names[i]]++;
    return counts;
  };
  const expected = Float64Array.from({ length: used.length * width }, (_, k) => {
    const z = zones[used[Math.floor(k / width)]];
    return (z.n * sizes[k % width]) / n;
  });
  const chiSquare = (counts: Float64Array) =>
    counts.reduce((sum, value, k) => sum + (value - expected[k]) ** 2 / expected[k], 0);
  const observed = tally(column);
  const group = sample.detail.concretion.map((concretion, i) => {
    const pot = sample.detail.potVessel[i];
    return concretion !== null ? `concretion ${concretion}` : pot === null ? null : `pot vessel ${pot}`;
  });
  const dealer = nameDealer({ label: column, group: groupNumbers(group), stratum: new Int32Array(n) });
  const names = new Uint32Array(n);
  // streams after those of the random points and of the deals against all other finds
  const deals = simulate(
    {
      count: plan.simulations,
      seed: plan.seed,
      first: 2 * plan.simulations,
      progress: (share) => plan.progress(share),
    },
    (random) => {
      dealer.deal(names, random);
      return tally(names);
    },
  );
  const isDealt = deals.length > 0;
  const chi2 = chiSquare(observed);
  // sums in another order may differ in the last places: such deals are ties
  const same = (value: number) => (Math.abs(value - chi2) <= 1e-9 * chi2 ? chi2 : value);
  const cellP = Array.from(observed, (value, k) =>
    isDealt
      ? rankProbability(
          value,
          deals.map((counts) => counts[k]),
        ).twoSided
      : null,
  );
  const raised = holm(cellP);
  return {
    classes: codes.map((code) => (code === 0 ? null : sample.classes[code - 1])),
    counts: used.map((_, r) => codes.map((_, c) => observed[r * width + c])),
    chi2,
    p: isDealt
      ? rankProbability(
          chi2,
          deals.map((counts) => same(chiSquare(counts))),
        ).upper
      : null,
    units: dealer.units,
    cells: Array.from(observed, (value, k) => {
      const spread = Math.sqrt(deals.reduce((sum, counts) => sum + (counts[k] - expected[k]) ** 2, 0) / deals.length);
      return {
        zone: zones[used[Math.floor(k / width)]].zone,
        artefactClass: codes[k % width] === 0 ? null : sample.classes[codes[k % width] - 1],
        n: value,
        expected: expected[k],
        departure: isDealt && spread > 0 ? (value - expected[k]) / spread : null,
        p: cellP[k],
        pHolm: raised[k],
      };
    }),
  };
}
