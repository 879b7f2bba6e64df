import type { Sample } from '../../domain/sample.js';
import { areasBeside, lineThrough } from '../../math/line-strips.js';
import { rateRatio, type TwoGrounds } from '../../math/rate-ratio.js';
import type { Region } from '../../math/rings.js';
import type { ChanceOfMean, ChancePlan, Measure } from './chance.js';
import type { Ground } from './ground.js';
import { keelBins } from './keel-bins.js';
import type { HullQuestions } from './measures.js';
import type { Summary } from './schemas.js';
import { seasonScatters } from './seasons.js';
import type { FindDistances } from './tables.js';
import { zoneShares, zonesByClass } from './zones.js';

/** Chances of a mean distance under the summary's names. */
export const chances = (chance: ChanceOfMean) => ({
  p_closer: chance.pCloser,
  p_farther: chance.pFarther,
  p_two_sided: chance.pTwoSided,
});

function ratioOf(grounds: TwoGrounds) {
  const found = rateRatio(grounds);
  return { rate_ratio: found?.ratio ?? null, low: found?.low ?? null, high: found?.high ?? null, p: found?.p ?? null };
}

/** Finds inside the hull areas against those outside, each held to its dug ground. */
export function insideAndOut(
  finds: FindDistances,
  questions: HullQuestions,
  areaM2: number,
): Pick<Summary, 'inside_hull' | 'in_out'> {
  if (!finds.signedDistanceM || questions.insideAreaM2 === null) return { inside_hull: null, in_out: null };
  const inside = finds.signedDistanceM.reduce((count, d) => count + (d <= 0 ? 1 : 0), 0);
  const outside = finds.signedDistanceM.length - inside;
  const insideArea = questions.insideAreaM2;
  const outsideArea = Math.max(0, areaM2 - insideArea);
  return {
    inside_hull: inside,
    in_out: {
      inside_n: inside,
      inside_area_m2: insideArea,
      outside_n: outside,
      outside_area_m2: outsideArea,
      ...ratioOf({ n1: inside, area1: insideArea, n2: outside, area2: outsideArea }),
    },
  };
}

/** Finds to port against those to starboard. */
export function portAndStarboard(finds: FindDistances, ground: Ground): Summary['side'] {
  if (!ground.axis) return null;
  const port = finds.side.filter((side) => side === 'port').length;
  const starboard = finds.side.filter((side) => side === 'starboard').length;
  // the normal of the line from the after end to the bow points to port
  const areas = areasBeside(ground.window, lineThrough(ground.axis.after, ground.axis.bow));
  return {
    port,
    starboard,
    on_axis: finds.side.length - port - starboard,
    port_area_m2: areas.onNormalSide,
    starboard_area_m2: areas.onOtherSide,
    ...ratioOf({ n1: port, area1: areas.onNormalSide, n2: starboard, area2: areas.onOtherSide }),
  };
}

/** Finds in steps along the keel. */
export function alongKeelPart(ground: Ground, finds: FindDistances, stepM: number): Pick<Summary, 'along_keel'> {
  if (!finds.alongKeelM) return { along_keel: null };
  return {
    along_keel: keelBins(ground, finds.alongKeelM, stepM).map((bin) => ({
      from_m: bin.fromM,
      to_m: bin.toM,
      n: bin.n,
      area_m2: bin.areaM2,
      dug_length_m: bin.dugLengthM,
      per_m2: bin.perM2,
      low: bin.low,
      high: bin.high,
      per_m_dug: bin.perMDug,
    })),
  };
}

/** Finds and classes in the zones of the ship. */
export function zonesPart(sample: Sample, ground: Ground, plan: ChancePlan): Pick<Summary, 'zones' | 'zones_by_class'> {
  const shares = zoneShares(ground, sample.zones);
  if (!shares) return { zones: null, zones_by_class: null };
  const table = zonesByClass(sample, shares, plan);
  return {
    zones: shares.zones.map((zone) => ({
      zone: zone.zone,
      n: zone.n,
      area_m2: zone.areaM2,
      per_m2: zone.perM2,
      low: zone.low,
      high: zone.high,
      rate_ratio: zone.ratio?.value ?? null,
      ratio_low: zone.ratio?.low ?? null,
      ratio_high: zone.ratio?.high ?? null,
      p: zone.ratio?.p ?? null,
    })),
    zones_by_class: table && {
      classes: [...table.classes],
      zones: shares.zones.filter((zone) => zone.n > 0).map((zone) => zone.zone),
      counts: table.counts.map((row) => [...row]),
      chi2: table.chi2,
      p: table.p,
      units: table.units,
      cells: table.cells.map((cell) => ({
        zone: cell.zone,
        artefact_class: cell.artefactClass,
        n: cell.n,
        expected: cell.expected,
        departure: cell.departure,
        p: cell.p,
        p_holm: cell.pHolm,
      })),
    },
  };
}

/** Seasons side by side, each against the ground it dug. */
export function seasonsPart(
  sample: Sample,
  ground: Ground,
  measureOn: (window: Region) => Measure,
): Pick<Summary, 'seasons'> {
  const seasons = seasonScatters(sample, ground, measureOn);
  if (seasons === null) return { seasons: null };
  return {
    seasons: seasons.map((season) => ({
      season: season.season,
      n: season.n,
      area_m2: season.areaM2,
      median_m: season.medianM,
      expected_median_m: season.expectedMedianM,
      d: season.d,
      p: season.p,
    })),
  };
}
