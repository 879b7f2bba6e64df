import type { Sample } from '../../domain/sample.js';
import { insideEvenOdd, type Region } from '../../math/rings.js';
import { Problem } from '../../problems.js';
import { classMix, joinsAcross } from './areas.js';
import { areaNumbers, type GatheredJoins } from './joined.js';
import type { Parameters, Summary } from './schemas.js';

/** streams after those of the reallocations of distances */
const acrossStreams = 600_000_000;
const mixStreams = 700_000_000;

/**
 * Joins and class mix across the areas asked for: separate dug areas, zones of the ship, or drawn polygons.
 * @throws Problem cannot-answer when there are fewer than two areas
 */
export function areasPart(
  sample: Sample,
  { finds, gathered }: { readonly finds: GatheredJoins['finds']; readonly gathered: GatheredJoins },
  asked: {
    readonly own: Parameters;
    readonly simulations: number;
    readonly seed: number;
    readonly progress: (share: number) => void;
  },
): Summary['areas'] {
  const { own, simulations, seed } = asked;
  if (own.areas === 'none') return null;
  const { names, area } = own.areas === 'dug_parts' ? dugParts(sample) : shipZones(sample);
  if (names.length < 2) {
    throw new Problem(
      'cannot-answer',
      own.areas === 'dug_parts'
        ? `areas = dug_parts compares separate dug areas, and the window is ${names.length === 1 ? 'one piece' : 'empty'}; compare areas = ship_zones, or choose seasons or a window that part`
        : `areas = ship_zones needs at least two zones with ground, and there ${names.length === 1 ? 'is one' : 'are none'}; draw them in ship-zones.geojson`,
      { areas: own.areas },
    );
  }
  const { a, b, circles } = finds;
  const across = joinsAcross(
    { area, areas: names.length, a, b, circles },
    { count: simulations, seed, first: acrossStreams, progress: (share) => asked.progress(share / 2) },
  );
  const codes = [...new Set(sample.classCode)].sort((x, y) => (x || Infinity) - (y || Infinity));
  const numberOf = new Map(codes.map((code, k) => [code, k]));
  const mix = classMix(
    {
      area,
      areas: names.length,
      classOf: sample.classCode.map((code) => numberOf.get(code) ?? 0),
      classes: codes.length,
      group: sample.detail.concretion.map((concretion, i) => {
        const pot = sample.detail.potVessel[i];
        return concretion !== null ? `concretion ${concretion}` : pot === null ? null : `pot ${pot}`;
      }),
    },
    { count: simulations, seed, first: mixStreams, progress: (share) => asked.progress(0.5 + share / 2) },
  );
  const classNames = codes.map((code) => (code === 0 ? null : sample.classes[code - 1]));
  return {
    areas: names.map((name, k) => ({ area: name, n: area.reduce((sum, own) => sum + (own === k ? 1 : 0), 0) })),
    outside: area.reduce((sum, own) => sum + (own < 0 ? 1 : 0), 0),
    joins: across.within,
    joins_across: across.across,
    units_across: new Set(
      Array.from(a.keys())
        .filter((k) => area[a[k]] >= 0 && area[b[k]] >= 0 && area[a[k]] !== area[b[k]])
        .map((k) => gathered.finds.unit[k]),
    ).size,
    expected_across: across.expected,
    expected_low: across.ends?.low ?? null,
    expected_high: across.ends?.high ?? null,
    p_fewer: across.p?.lower ?? null,
    p_more: across.p?.upper ?? null,
    p_two_sided: across.p?.twoSided ?? null,
    class_mix: mix && {
      cramers_v: mix.cramersV,
      chi2: mix.chi2,
      df: mix.df,
      p: mix.p,
      units: mix.units,
      cells: names.flatMap((name, r) =>
        classNames.map((className, c) => ({
          area: name,
          artefact_class: className,
          n: mix.counts[r * codes.length + c],
          expected: mix.expected[r * codes.length + c],
        })),
      ),
    },
  };
}

/** Separate dug areas, largest number of finds first in the window's own order. */
function dugParts(sample: Sample): { names: string[]; area: Int32Array } {
  const { area, parts } = areaNumbers(sample);
  return { names: Array.from({ length: parts }, (_, k) => `part ${k + 1}`), area };
}

/** The first zone that holds each find. */
function shipZones(sample: Sample): { names: string[]; area: Int32Array } {
  const byName = new Map<string, Region[]>();
  for (const { name, region } of sample.zones) byName.set(name, [...(byName.get(name) ?? []), region]);
  const zones = [...byName.entries()];
  const area = Int32Array.from({ length: sample.xy.length / 2 }, (_, i) =>
    zones.findIndex(([, regions]) =>
      regions.some((region) => insideEvenOdd(region, sample.xy[2 * i], sample.xy[2 * i + 1])),
    ),
  );
  return { names: zones.map(([name]) => name), area };
}
