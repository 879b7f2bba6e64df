import { difference, intersection, union } from '../../math/overlay.js';
import { standardDeviation } from '../../math/quantiles.js';
import { contains, edgeSlack, type Region, regionArea } from '../../math/rings.js';
import { type GroundQuestion, type Measured, type MeasuredGround, measuredGround } from './measured-ground.js';

/** An area as it was dug. */
export interface DugGround {
  readonly season: string;
  readonly progress: string;
  readonly region: Region;
  /** share of its ground that was dug, 0 to 1 */
  readonly dugFraction: number;
}

/** Where the spade stopped above the bottom of the deposit: that surface against the bottom, as a ground of its own. */
export type BelowLimit = MeasuredGround | null;

/** Error that all nodes of one surface share against the other. */
export interface SharedError {
  readonly sigmaM: number;
  /** cancels: top and bottom were levelled from one mark on one day, and a common shift leaves the thickness alone */
  readonly between: 'separate' | 'cancels';
}

/** A volume with both kinds of error. */
export interface VolumeWithError extends Measured {
  readonly sigmaSharedM3: number;
  readonly sigmaM3: number;
  readonly interval95M3: { readonly low: number; readonly high: number };
  readonly meanThicknessM: number | null;
  /** the volume if ground without a volume were as thick as the measured ground: a guess, not a measurement */
  readonly wholeEstimateM3: number | null;
}

/** 97.5 % point of the standard normal distribution */
export const normal975 = 1.959963984540054;

/**
 * Puts the two kinds of error together. Random errors of nodes average out over many nodes; an error that all nodes
 * share (datum, tide) does not, and soon is the larger one.
 *
 * @see Lane, Westaway & Hicks 2003, doi:10.1002/esp.483; Wheaton et al. 2010, doi:10.1002/esp.1886
 */
function withErrors(measured: Measured, shared: SharedError): VolumeWithError {
  const sigmaSharedM3 = shared.between === 'cancels' ? 0 : shared.sigmaM * measured.measuredM2;
  const sigmaM3 = Math.hypot(measured.sigmaRandomM3, sigmaSharedM3);
  return {
    ...measured,
    sigmaSharedM3,
    sigmaM3,
    interval95M3: { low: measured.volumeM3 - normal975 * sigmaM3, high: measured.volumeM3 + normal975 * sigmaM3 },
    meanThicknessM: measured.measuredM2 > 0 ? measured.volumeM3 / measured.measuredM2 : null,
    wholeEstimateM3:
      measured.measuredM2 > 0 ? measured.volumeM3 * (1 + measured.unmeasuredM2 / measured.measuredM2) : null,
  };
}

/** Ground of one season, of one state of digging, or of one zone of the ship. */
export interface VolumeRow {
  readonly name: string;
  readonly areaM2: number;
  readonly volume: VolumeWithError;
  /** polygons × their dug fraction; null for zones */
  readonly dugM2: number | null;
  readonly dugM3: number | null;
  /** between the limit of excavation and the bottom, where both were levelled; null = not levelled */
  readonly belowLimitM3: number | null;
}

export interface VolumeReport {
  readonly ground: MeasuredGround;
  readonly total: VolumeWithError;
  /** m² and m³ dug, each spot once, dug fractions counted */
  readonly dugM2: number;
  readonly dugM3: number;
  readonly seasons: readonly VolumeRow[];
  readonly states: readonly VolumeRow[];
  readonly zones: readonly VolumeRow[];
}

/** Volumes of all the ground, of each season, of each state of digging and of each zone. */
export function volumeReport(
  question: Omit<GroundQuestion, 'dug'> & {
    readonly dug: readonly DugGround[];
    readonly zones: readonly { readonly name: string; readonly region: Region }[];
    readonly shared: SharedError;
    readonly belowLimit: BelowLimit;
  },
): VolumeReport {
  const { window, dug, shared, belowLimit } = question;
  const ground = measuredGround(question);
  // what was dug makes the window, unless only a part of it was asked for
  const dugM2 = regionArea(union(dug.map((d) => d.region)));
  const isAll = window.rings.length === 0 || Math.abs(dugM2 - regionArea(window)) <= 1e-9 * dugM2;
  const within = (region: Region) => (isAll ? region : intersection(region, window));
  const total = withErrors(ground.measure(null), shared);
  const left = leftOver(dug, within);
  const leftM3 = left.reduce((sum, { region, share }) => sum + share * ground.measure(region).volumeM3, 0);
  const leftM2 = left.reduce((sum, { region, share }) => sum + share * regionArea(region), 0);
  const row = (name: string, areas: readonly DugGround[]): VolumeRow => {
    const measure = (region: Region, own: string) => ground.measureSeason(own, region);
    const each = areas.map((area) => ({ area, region: within(area.region) }));
    // each season's polygons on that season's grid
    const seasons = [...new Set(areas.map((area) => area.season))].map((own) => ({
      own,
      region: union(each.filter((e) => e.area.season === own).map((e) => e.region)),
    }));
    const limits = belowLimit
      ? each
          .filter(({ area }) => area.progress === 'part_dug')
          .map((e) => belowLimit.measureSeason(e.area.season, e.region))
          .filter((m) => m.measuredM2 > 0)
      : [];
    return {
      name,
      areaM2: seasons.reduce((sum, { region }) => sum + regionArea(region), 0),
      volume: withErrors(combined(seasons.map(({ own, region }) => measure(region, own))), shared),
      dugM2: each.reduce((sum, e) => sum + e.area.dugFraction * regionArea(e.region), 0),
      dugM3: each.reduce((sum, e) => sum + e.area.dugFraction * measure(e.region, e.area.season).volumeM3, 0),
      belowLimitM3: limits.length > 0 ? limits.reduce((sum, m) => sum + m.volumeM3, 0) : null,
    };
  };
  const named = [...new Set(dug.map((d) => d.season))].filter((season) => season !== '');
  const states = named.length === 0 ? [] : [...new Set(dug.map((d) => d.progress))];
  return {
    ground,
    total,
    dugM2: (window.rings.length === 0 ? total.areaM2 : regionArea(window)) - leftM2,
    dugM3: total.volumeM3 - leftM3,
    seasons: named.map((season) =>
      row(
        season,
        dug.filter((d) => d.season === season),
      ),
    ),
    states: states.map((progress) =>
      row(
        progress,
        dug.filter((d) => d.progress === progress),
      ),
    ),
    zones: question.zones.flatMap(({ name, region }) => {
      const own = window.rings.length === 0 ? region : intersection(region, window);
      const areaM2 = regionArea(own);
      if (!(areaM2 > 1e-9)) return [];
      const volume = withErrors(ground.measure(own), shared);
      return [{ name, areaM2, volume, dugM2: null, dugM3: null, belowLimitM3: null }];
    }),
  };
}

/** Seasons together. */
function combined(parts: readonly Measured[]): Measured {
  const total = (of: (m: Measured) => number) => parts.reduce((sum, m) => sum + of(m), 0);
  return {
    areaM2: total((m) => m.areaM2),
    measuredM2: total((m) => m.measuredM2),
    volumeM3: total((m) => m.volumeM3),
    positiveM3: total((m) => m.positiveM3),
    negativeM3: total((m) => m.negativeM3),
    prismsSwNeM3: total((m) => m.prismsSwNeM3),
    prismsSeNwM3: total((m) => m.prismsSeNwM3),
    cells: total((m) => m.cells),
    cellsWithout: total((m) => m.cellsWithout),
    unmeasuredM2: total((m) => m.unmeasuredM2),
    // levels of different seasons were read apart
    sigmaRandomM3: Math.sqrt(total((m) => m.sigmaRandomM3 ** 2)),
  };
}

/** Ground that was dug in part only and by no other polygon in full, each spot once, with the share still there. */
function leftOver(dug: readonly DugGround[], within: (region: Region) => Region): { region: Region; share: number }[] {
  const partly = dug.filter((d) => d.dugFraction < 1).sort((a, b) => b.dugFraction - a.dugFraction);
  if (partly.length === 0) return [];
  let taken = union(dug.filter((d) => d.dugFraction >= 1).map((d) => d.region));
  return partly.flatMap((d) => {
    const region = within(difference(d.region, taken));
    taken = union([taken, d.region]);
    return regionArea(region) > 1e-9 ? [{ region, share: 1 - d.dugFraction }] : [];
  });
}

/**
 * Error of the whole-ground guess: that of the measured ground carried to all of it, and how much the mean thickness
 * of the ground missed may differ, from the spread of the squares measured.
 *
 * It supposes that squares were missed by chance; where they lie together at an edge the guess can be further off.
 */
export function wholeEstimateSigmaM3(
  total: VolumeWithError,
  squares: readonly { readonly measuredM2: number; readonly volumeM3: number }[],
): number | null {
  const thickness = squares.flatMap((s) => (s.measuredM2 > 0 ? [s.volumeM3 / s.measuredM2] : []));
  const spread = standardDeviation(thickness);
  if (spread === null || !(total.measuredM2 > 0)) return null;
  const grown = 1 + total.unmeasuredM2 / total.measuredM2;
  const missed = Math.max(1, squares.length * (1 - total.measuredM2 / (total.measuredM2 + total.unmeasuredM2)));
  return Math.hypot(total.sigmaM3 * grown, (spread / Math.sqrt(missed)) * total.unmeasuredM2);
}

/** Share of a place that was dug: the largest of the polygons over it; null when none covers it. */
export function dugFractionAt(dug: readonly DugGround[], x: number, y: number): number | null {
  let found: number | null = null;
  for (const { region, dugFraction } of dug) {
    if (contains(region, x, y, edgeSlack(region))) found = Math.max(found ?? 0, dugFraction);
  }
  return found;
}
