import { entriesOf, placeEntries } from '../../domain/register-squares.js';
import type { Sample, SampleCounting } from '../../domain/sample.js';
import type { SeasonGround } from './ground.js';

/** One thing counted: a find, the children of a concretion, the sherds of a pot vessel in one season. */
export interface CountedUnit {
  /** place of its season in the ground's list */
  readonly season: number;
  /** number of its season square */
  readonly square: number;
  readonly count: number;
  /** codes of its classes, each once; 0 = class unknown */
  readonly classes: readonly number[];
  /** units of one group are dealt out as one; null = by itself */
  readonly group: string | null;
  readonly recoveryMethod: string | null;
  readonly sizeClass: string | null;
}

/** The selection counted by season and square. */
export interface CountedSeasons {
  readonly unit: SampleCounting['unit'];
  readonly spot: SampleCounting['spot'];
  readonly units: readonly CountedUnit[];
  /** [seasons] finds of the register, wherever they lie */
  readonly finds: readonly number[];
  /** [seasons] of them in no square dug in the season */
  readonly elsewhere: readonly number[];
  /** [seasons] of them without what is counted (no weight, no number of pieces, no pot vessel) */
  readonly uncounted: readonly number[];
  /** [seasons] meshes that finds state, mm, ascending */
  readonly meshes: readonly (readonly number[])[];
  /** finds of no season, or of one without ground */
  readonly withoutSeason: number;
  /** [season squares] */
  readonly bySquare: Float64Array;
}

/**
 * Counts the register: a concretion counts once in each season unless every find is asked for, a pot vessel once in
 * each season, both in the square that holds most of them; a find of no dug square counts in no rate.
 */
export function countSeasons(sample: Sample, ground: SeasonGround): CountedSeasons {
  const entries = entriesOf(ground.ground);
  const { tile } = placeEntries(entries, ground.ground);
  const { unit, spot } = sample.counting ?? { unit: 'find', spot: 'concretion' };
  // plain files state what each position counts for
  const plain = sample.register ? null : [...sample.weight, ...sample.areas.map((area) => area.weight)];
  const placeOf = new Map(ground.seasons.map((season, s) => [season.code, s]));
  const zeros = () => ground.seasons.map(() => 0);
  const [finds, elsewhere, uncounted] = [zeros(), zeros(), zeros()];
  const meshes = ground.seasons.map(() => new Set<number>());
  const gathered = new Map<string, number[]>();
  let withoutSeason = 0;
  entries.find.forEach((_, i) => {
    const s = placeOf.get(entries.seasonCode[i]);
    if (s === undefined) {
      withoutSeason++;
      return;
    }
    finds[s]++;
    if (!Number.isNaN(entries.meshMm[i])) meshes[s].add(entries.meshMm[i]);
    if (ground.seasonSquareOf(entries.seasonCode[i], tile[i]) < 0) {
      elsewhere[s]++;
      return;
    }
    const [vessel, concretion] = [entries.potVessel[i], entries.concretion[i]];
    const isUncounted =
      (unit === 'pot_vessel' && vessel === null) ||
      (unit === 'piece' && plain === null && Number.isNaN(entries.pieces[i])) ||
      (unit === 'weight' && plain === null && Number.isNaN(entries.weightG[i]));
    if (isUncounted) {
      uncounted[s]++;
      return;
    }
    const isSpot = unit === 'find' && spot === 'concretion' && concretion !== null;
    const key = unit === 'pot_vessel' ? `pot ${s} ${vessel}` : isSpot ? `concretion ${s} ${concretion}` : `entry ${i}`;
    const own = gathered.get(key);
    if (own) own.push(i);
    else gathered.set(key, [i]);
  });
  const units = [...gathered.values()].map((rows): CountedUnit => {
    const [first] = rows;
    const s = placeOf.get(entries.seasonCode[first]) as number;
    const vessel = entries.potVessel[first];
    const concretion = entries.concretion[first];
    const count =
      unit === 'piece' || unit === 'weight'
        ? (plain?.[first] ?? (unit === 'piece' ? entries.pieces : entries.weightG)[first])
        : rows.length === 1
          ? (plain?.[first] ?? 1)
          : 1;
    return {
      season: s,
      square: ground.seasonSquareOf(entries.seasonCode[first], mostOften(rows.map((i) => tile[i]))),
      count,
      classes: [...new Set(rows.map((i) => entries.classCode[i]))],
      group: concretion !== null ? `concretion ${s} ${concretion}` : vessel === null ? null : `pot ${s} ${vessel}`,
      recoveryMethod: entries.recoveryMethod[first],
      sizeClass: entries.sizeClass[first],
    };
  });
  const bySquare = new Float64Array(ground.seasonSquares.length);
  for (const { square, count } of units) bySquare[square] += count;
  return {
    unit,
    spot,
    units,
    finds,
    elsewhere,
    uncounted,
    meshes: meshes.map((own) => [...own].sort((a, b) => a - b)),
    withoutSeason,
    bySquare,
  };
}

/** The value that comes most often; of several the one that came first. */
function mostOften(values: readonly number[]): number {
  const counts = new Map<number, number>();
  for (const value of values) counts.set(value, (counts.get(value) ?? 0) + 1);
  return [...counts].reduce((best, one) => (one[1] > best[1] ? one : best))[0];
}
