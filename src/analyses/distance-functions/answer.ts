import type { GlobalBand } from '../../math/envelopes.js';
import { lFunction } from '../../math/k-function.js';
import type { Radii } from '../../math/radii.js';
import { type Chance, leaves } from './chance.js';
import type { ObservedCurves } from './curves.js';
import type { Summary } from './schemas.js';

type Curve = (number | null)[];

/** A curve for a summary: undefined is null. */
export const listed = (values: Float64Array): Curve => Array.from(values, (v) => (Number.isFinite(v) ? v : null));

/** The curves of the observed pattern as the summary holds them. */
export function curvesPart(
  curves: ObservedCurves,
  radii: Radii,
  testPlaces: number,
): Pick<Summary, 'r' | 'K' | 'L' | 'pcf' | 'pcf_half_width_m' | 'G' | 'F' | 'J'> {
  const nothing = new Float64Array(radii.values.length).fill(Number.NaN);
  const k = (edge: 'none' | 'border' | 'isotropic' | 'translation') => curves.k[edge] ?? nothing;
  const correlation = (edge: 'none' | 'isotropic' | 'translation') => listed(curves.pairCorrelation[edge] ?? nothing);
  return {
    r: [...radii.values],
    K: {
      none: listed(k('none')),
      border: listed(k('border')),
      isotropic: listed(k('isotropic')),
      translation: listed(k('translation')),
    },
    L: {
      none: listed(lFunction(k('none'))),
      border: listed(lFunction(k('border'))),
      isotropic: listed(lFunction(k('isotropic'))),
      translation: listed(lFunction(k('translation'))),
    },
    pcf: {
      none: correlation('none'),
      isotropic: correlation('isotropic'),
      translation: correlation('translation'),
    },
    pcf_half_width_m: curves.halfWidthM,
    G: { ...sharesPart(curves.g), hanisch: curves.hanisch && listed(curves.hanisch) },
    F: { ...sharesPart(curves.f), test_places: testPlaces },
    J: listed(curves.j),
  };
}

const sharesPart = (curves: ObservedCurves['g']) => ({
  raw: listed(curves.raw),
  reduced_sample: listed(curves.reducedSample),
  kaplan_meier: listed(curves.kaplanMeier),
});

/** Tests and envelope as the summary holds them; null without simulations. */
export function chancePart(
  chance: Chance | null,
  radii: Radii,
): Pick<Summary, 'global' | 'envelope' | 'leaves_global_band_m' | 'leaves_global_band'> {
  if (chance === null) return { global: null, envelope: null, leaves_global_band_m: null, leaves_global_band: null };
  const { tests, tested, pointwise } = chance;
  const place = (at: number) => radii.values[at];
  const unknown = Array.from(radii.values, () => null);
  const bandPart = (band: GlobalBand | null) => ({
    low: band === null ? unknown : listed(band.low),
    high: band === null ? unknown : listed(band.high),
    level: band?.level ?? null,
    first_outside_m: leaves(chance, radii, band)?.at ?? null,
  });
  const out = leaves(chance, radii, tests?.extremeRankLength.band ?? null);
  return {
    leaves_global_band_m: out?.at ?? null,
    leaves_global_band: out?.side ?? null,
    global: tests && {
      tested_from_m: place(tested[0]),
      tested_to_m: place(tested[tested.length - 1]),
      radii: tested.length,
      mad: { p: tests.mad.p, statistic: tests.mad.statistic, ...bandPart(tests.mad.band) },
      dclf: { p: tests.dclf.p, statistic: tests.dclf.statistic },
      extreme_rank_length: { p: tests.extremeRankLength.p, ...bandPart(tests.extremeRankLength.band) },
    },
    envelope: pointwise && {
      observed: listed(chance.observed),
      mean: listed(chance.mean),
      low: listed(pointwise.low),
      high: listed(pointwise.high),
      pointwise_level: pointwise.level,
    },
  };
}
