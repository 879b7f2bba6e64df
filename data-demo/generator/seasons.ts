import { type SeasonId, seasonIds } from './areas.js';
import { normal, rounded, subject } from './deviates.js';
import type { GridId } from './grids.js';

/** When each season was, in which grid, and by how much its vertical datum was off: one shift for all it levelled. */
export const seasons: Readonly<
  Record<SeasonId, { year: number; start: string; end: string; grid: GridId; dives: number; title: string }>
> = {
  S1: { year: 2021, start: '2021-06-07', end: '2021-06-25', grid: 'g1', dives: 26, title: 'Trial trench' },
  S2: { year: 2022, start: '2022-06-06', end: '2022-07-15', grid: 'g1', dives: 58, title: 'Amidships' },
  S3: { year: 2023, start: '2023-06-05', end: '2023-07-07', grid: 'g2', dives: 44, title: 'After part' },
  S4: {
    year: 2024,
    start: '2024-06-03',
    end: '2024-07-05',
    grid: 'g1',
    dives: 46,
    title: 'Bow, detached stern and edges',
  },
};

/** Standard deviation of the shift that all levels of a season share, metres. */
export const sharedSigmaM = 0.03;

const random = subject('datum');

/** The shift of each season, metres, added to its levels and to the elevations of its finds alike. */
export const datumShiftM: Readonly<Record<SeasonId, number>> = Object.fromEntries(
  seasonIds.map((season) => [season, rounded(sharedSigmaM * normal(random), 3)]),
) as Record<SeasonId, number>;

/** A day of a season, counted from its first. */
export function dayOf(season: SeasonId, day: number): string {
  const start = Date.parse(`${seasons[season].start}T00:00:00Z`);
  return new Date(start + day * 86_400_000).toISOString().slice(0, 10);
}

/** Days from the first to the last of a season. */
export function daysOf(season: SeasonId): number {
  return (Date.parse(seasons[season].end) - Date.parse(seasons[season].start)) / 86_400_000;
}

/** Number of a dive, such as D22-07. */
export function diveNumber(season: SeasonId, dive: number): string {
  return `D${String(seasons[season].year).slice(2)}-${String(dive + 1).padStart(2, '0')}`;
}

/** Day of a dive: the dives of a season are spread evenly over it. */
export function diveDay(season: SeasonId, dive: number): string {
  return dayOf(season, Math.floor((dive * (daysOf(season) + 1)) / seasons[season].dives));
}
