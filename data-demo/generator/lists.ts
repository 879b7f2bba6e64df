import { dugAreas, seasonIds } from './areas.js';
import { depositBottom, thickness } from './deposit.js';
import { beta, between, pick, shuffled, subject } from './deviates.js';
import { squareLabel } from './grids.js';
import type { PotVessel } from './jars.js';
import type { RegisteredFind } from './register.js';
import { diveDay, diveNumber, seasons } from './seasons.js';
import { type Cell, fixed } from './tables.js';

/** The short lists beside the register: dives, pot vessels, samples, documents. Divers are roles and letters only. */
export function diveRows(): Record<string, Cell>[] {
  const random = subject('register');
  return seasonIds.flatMap((season) =>
    Array.from({ length: seasons[season].dives }, (_, i) => ({
      dive: diveNumber(season, i),
      season,
      date: diveDay(season, i),
      role: `${random.next() < 0.8 ? 'excavator' : 'recorder'} ${pick(random, ['A', 'B', 'C', 'D'])}`,
      minutes: 35 + random.below(35),
    })),
  );
}

/** One row for each jar: what of its rim is left, and how many jars its sherds may be. */
export function potVesselRows(vessels: readonly PotVessel[]): Record<string, Cell>[] {
  const random = subject('register');
  return vessels.map((vessel) => ({
    pot_vessel: vessel.id,
    form: pick(random, ['storage jar', 'storage jar', 'oil jar', 'bottle']),
    rim_percent: Math.round(100 * beta(random, [2, 1.6])),
    minimum: 1,
    maximum: vessel.sherds > 30 ? 2 : 1,
  }));
}

/** Sediment samples: what was taken of what was there. */
export function sampleRows(): Record<string, Cell>[] {
  const random = subject('register');
  const rows: Record<string, Cell>[] = [];
  for (const area of dugAreas) {
    if (area.progress === 'planned') continue;
    for (const [c, r] of shuffled(random, area.squares).slice(0, Math.max(1, Math.floor(area.squares.length / 12)))) {
      const thick = thickness(c + 0.5, r + 0.5);
      if (thick < 0.03) continue;
      const present = thick * 1000;
      rows.push({
        sample: `TLS-${String(rows.length + 1).padStart(3, '0')}`,
        season: area.season,
        dive: diveNumber(area.season, random.below(seasons[area.season].dives)),
        kind: pick(random, ['sediment', 'sediment', 'plant remains', 'insect remains']),
        grid: seasons[area.season].grid,
        square: squareLabel(c, r),
        context: 'C2',
        z_elevation: fixed(depositBottom(c + 0.5, r + 0.5) + thick * random.next(), 2),
        volume_taken_l: fixed(Math.min(present, between(random, 5, 20)), 1),
        volume_present_l: fixed(present, 1),
      });
    }
  }
  return rows;
}

/** Drawings and photographs, each linked to one find and the dive it came from. */
export function documentRows(register: readonly RegisteredFind[]): Record<string, Cell>[] {
  const random = subject('register');
  const drawn = shuffled(
    random,
    register.map((_, i) => i),
  )
    .slice(0, 240)
    .sort((a, b) => a - b);
  return drawn.map((index, i) => {
    const { number, dive, find } = register[index];
    const photograph = random.next() < 0.7;
    const name = `${photograph ? 'P' : 'T'}${String(i + 1).padStart(3, '0')}`;
    return {
      document: name,
      kind: photograph ? 'photograph' : 'drawing',
      find: number,
      dive,
      title: `${photograph ? 'Photograph' : 'Drawing'} of ${number}`,
      file: `${name}.${photograph ? 'tif' : 'pdf'}`,
      date: `${seasons[find.season].year}-09-15`,
    };
  });
}
