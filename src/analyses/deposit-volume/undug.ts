import type { DugArea } from '../../domain/sample.js';
import { difference, union } from '../../math/overlay.js';
import { standardDeviation } from '../../math/quantiles.js';
import { type Region, regionArea } from '../../math/rings.js';
import { type GroundQuestion, measuredGround, type SquareVolume } from './measured-ground.js';
import type { Summary } from './schemas.js';
import type { VolumeWithError } from './volume.js';

/** What the volume of ground not yet dug is told from. */
export interface UndugQuestion {
  /** levels and seasons as for the ground dug */
  readonly levels: Omit<GroundQuestion, 'window' | 'dug'>;
  /** areas of the seasons chosen that were not dug, moved like the levels */
  readonly undug: readonly Pick<DugArea, 'progress' | 'season' | 'region'>[];
  readonly dug: readonly { readonly region: Region }[];
  /** the measured ground of the dug area, and its squares */
  readonly total: VolumeWithError;
  readonly squares: readonly SquareVolume[];
  readonly cellAreaM2: number;
}

const waiting: ReadonlySet<string> = new Set(['planned', 'opened']);

/**
 * Ground planned or opened and not dug: its volume where its nodes are levelled, and a guess for the rest at the mean
 * thickness of the ground measured.
 *
 * The guess supposes that the deposit goes on as it was where one dug; people dig where they expect most.
 *
 * @returns null when no such ground is known
 */
export function undugGround(question: UndugQuestion): Summary['undug'] {
  const { total, squares, cellAreaM2 } = question;
  const areas = question.undug.filter(({ progress }) => waiting.has(progress));
  if (areas.length === 0) return null;
  const region = difference(union(areas.map((area) => area.region)), union(question.dug.map((area) => area.region)));
  const areaM2 = regionArea(region);
  if (!(areaM2 > 1e-9)) return null;
  const here = measuredGround({ ...question.levels, window: region, dug: areas }).measure(null);
  const rest = Math.max(0, areaM2 - here.measuredM2);
  const spread = standardDeviation(squares.flatMap((s) => (s.measuredM2 > 0 ? [s.volumeM3 / s.measuredM2] : [])));
  const { meanThicknessM } = total;
  const isGuessed = rest > 1e-9;
  const estimate =
    isGuessed && meanThicknessM === null ? null : here.volumeM3 + (isGuessed ? rest * (meanThicknessM ?? 0) : 0);
  const guessSigma =
    isGuessed && spread !== null ? (rest * spread) / Math.sqrt(Math.max(1, rest / cellAreaM2)) : isGuessed ? null : 0;
  // the shared error moves ground dug and not dug alike; the random one of the mean goes into every square guessed
  const carried = total.measuredM2 > 0 ? Math.hypot(total.sigmaRandomM3 * rest, total.sigmaSharedM3 * areaM2) : 0;
  return {
    area_m2: areaM2,
    measured_m2: here.measuredM2,
    volume_m3: here.measuredM2 > 0 ? here.volumeM3 : null,
    estimate_m3: estimate,
    sigma_m3:
      estimate === null || guessSigma === null
        ? null
        : Math.hypot(here.sigmaRandomM3, carried / Math.max(total.measuredM2, 1e-9), guessSigma),
  };
}
