import type { Sample } from '../../domain/sample.js';
import type { CentreOnGround } from './centres.js';
import type { ClassMix } from './class-mix.js';
import type { ComparedDepths } from './depths.js';
import type { ComparedSeason, SeasonGround } from './ground.js';
import { leastShared, onGround, type SeasonPair, type SharedComparison } from './pairs.js';
import { negativeBinomialK, type WidenedRatio, widenedRate } from './rates.js';
import type { PairRow, SeasonRow, Summary } from './schemas.js';
import type { CountedSeasons } from './units.js';

/** What is said of one season. */
export function seasonRow(of: {
  readonly season: ComparedSeason;
  readonly ground: SeasonGround;
  readonly counted: CountedSeasons;
  /** place of the season in the list */
  readonly s: number;
  readonly place: CentreOnGround;
  /** what was subtracted from all coordinates */
  readonly origin: readonly [number, number];
}): SeasonRow {
  const { season, ground, counted, s, place, origin } = of;
  const areIndependent = counted.unit !== 'weight';
  const area = onGround(ground, counted, season.squares, 'm2');
  const deposit = onGround(ground, counted, season.squares, 'm3');
  const perM2 = widenedRate(area, areIndependent);
  const perM3 = widenedRate(deposit, areIndependent);
  const at = (value: number | undefined, axis: 0 | 1) => (value === undefined ? null : value + origin[axis]);
  return {
    season: season.name,
    finds: counted.finds[s],
    elsewhere: counted.elsewhere[s],
    uncounted: counted.uncounted[s],
    n: area.counts.reduce((sum, v) => sum + v, 0),
    squares: season.squares.length,
    dug_m2: season.dugM2,
    volume_m3: deposit.exposure.length === 0 ? null : deposit.exposure.reduce((sum, v) => sum + v, 0),
    squares_with_volume: deposit.exposure.length,
    per_m2: perM2.value,
    per_m2_low: perM2.low,
    per_m2_high: perM2.high,
    per_m2_exact_low: perM2.exactLow,
    per_m2_exact_high: perM2.exactHigh,
    per_m3: perM3.value,
    per_m3_low: perM3.low,
    per_m3_high: perM3.high,
    per_m3_exact_low: perM3.exactLow,
    per_m3_exact_high: perM3.exactHigh,
    dispersion: perM2.dispersion,
    negative_binomial_k: counted.unit === 'weight' ? null : negativeBinomialK(area),
    dug_with: season.dugWith.map(({ tool, meshMm }) => ({ tool, mesh_mm: meshMm })),
    meshes_of_finds_mm: [...counted.meshes[s]],
    placed: place.n,
    placed_units: place.units,
    centre_x_m: at(place.centre?.x, 0),
    centre_y_m: at(place.centre?.y, 1),
    standard_distance_m: place.centre?.standardDistanceM ?? null,
    ellipse: place.ellipse && {
      bearing_deg: place.ellipse.bearingDeg,
      semi_major_m: place.ellipse.semiMajorM,
      semi_minor_m: place.ellipse.semiMinorM,
    },
    ground_x_m: at(place.groundCentre?.[0], 0),
    ground_y_m: at(place.groundCentre?.[1], 1),
    expected_standard_distance_m: place.expectedSpreadM,
    expected_elongation: place.expectedElongation,
    p_centre: place.pCentre,
    p_spread: place.pSpread,
    p_elongation: place.pElongation,
    p_bearing: place.pBearing,
  };
}

const ratioPart = (ratio: WidenedRatio) => ({
  value: ratio.value,
  low: ratio.low,
  high: ratio.high,
  exact_low: ratio.exactLow,
  exact_high: ratio.exactHigh,
  dispersion: ratio.dispersion,
  seen_above: ratio.seen.above,
  seen_below: ratio.seen.below,
});

const level = 0.05;
/** a test that misses a doubling more than once in five cannot say that nothing differs */
const enoughRatio = 2;

/** What a ratio with its p allows to be said. */
function readingOf(ratio: WidenedRatio, p: number | null): PairRow['reading'] {
  if (p !== null && p <= level) return 'differ';
  const { above, below } = ratio.seen;
  const isSharp = above !== null && below !== null && above <= enoughRatio && below >= 1 / enoughRatio;
  return p !== null && isSharp ? 'no_difference_seen' : 'cannot_tell';
}

/** What is said of two seasons. */
export function pairRow(
  pair: SeasonPair,
  of: { readonly isPlanned: boolean; readonly measure: ComparedDepths['measure'] | null },
): PairRow {
  const isShared = pair.shared !== null && pair.shared.squares >= leastShared;
  const { depth, shift, syrjala } = pair;
  return {
    first: pair.first.name,
    second: pair.second.name,
    shared_squares: pair.shared?.squares ?? 0,
    place: isShared ? 'shared' : 'differs',
    reading:
      isShared && pair.shared
        ? readingOf(pair.shared.perM2, pair.shared.p)
        : readingOf(pair.perM2, of.isPlanned ? pair.p : pair.pHolm),
    n_first: pair.n[0],
    n_second: pair.n[1],
    per_m2: ratioPart(pair.perM2),
    p: pair.p,
    p_holm: pair.pHolm,
    per_m3: pair.perM3 && ratioPart(pair.perM3),
    p_per_m3: pair.pPerM3,
    shared: pair.shared && sharedPart(pair.shared),
    syrjala: syrjala && {
      psi: syrjala.psi,
      p: syrjala.p,
      ks: syrjala.ks,
      p_ks: syrjala.pKs,
      swaps: syrjala.swaps,
      exact: syrjala.isExact,
    },
    syrjala_reason: pair.syrjalaReason,
    centre_shift: shift && {
      shift_m: shift.shiftM,
      bearing_deg: shift.bearingDeg,
      low_m: shift.lowM,
      high_m: shift.highM,
      ground_shift_m: shift.groundShiftM,
      p: shift.p,
    },
    depth:
      depth && of.measure
        ? {
            measure: of.measure,
            n_first: depth.n[0],
            n_second: depth.n[1],
            median_first: depth.median[0],
            median_second: depth.median[1],
            share_larger: depth.shareLarger,
            low: depth.low,
            high: depth.high,
            p_mann_whitney: depth.pMannWhitney,
            p_kolmogorov_smirnov: depth.pKolmogorov,
          }
        : null,
    strata: pair.strata.strata.map(({ by, stratum, n, dugM2, ratio }) => ({
      by,
      stratum,
      n_first: n[0],
      n_second: n[1],
      dug_m2_first: dugM2[0],
      dug_m2_second: dugM2[1],
      per_m2: ratioPart(ratio),
    })),
    strata_reason: pair.strata.reason,
  };
}

function sharedPart(shared: SharedComparison): NonNullable<PairRow['shared']> {
  return {
    n_first: shared.n[0],
    n_second: shared.n[1],
    dug_m2_first: shared.dugM2[0],
    dug_m2_second: shared.dugM2[1],
    per_m2: ratioPart(shared.perM2),
    p: shared.p,
    per_m3: shared.perM3 && ratioPart(shared.perM3),
    centre_shift_m: shared.shift?.shiftM ?? null,
    p_centre_shift: shared.shift?.p ?? null,
  };
}

/** Cells of seasons by classes, season by season. */
export function mixPart(mix: ClassMix, { seasons }: SeasonGround, sample: Sample): NonNullable<Summary['class_mix']> {
  const width = mix.classes.length;
  return {
    chi2: mix.chi2,
    df: mix.df,
    p: mix.p,
    units: mix.units,
    cells: seasons.flatMap(({ name }, s) =>
      mix.classes.map((code, c) => {
        const k = s * width + c;
        const residual = mix.residual[k];
        return {
          season: name,
          artefact_class: code === 0 ? null : sample.classes[code - 1],
          n: mix.counts[k],
          expected: mix.expected[k],
          residual: Number.isNaN(residual) ? null : residual,
          p: mix.cellP[k],
          p_holm: mix.cellPHolm[k],
        };
      }),
    ),
  };
}
