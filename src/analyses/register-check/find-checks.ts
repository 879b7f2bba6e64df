import { parseLabel } from '../../domain/grid.js';
import type { Sample } from '../../domain/sample.js';
import { heapedOffsets } from './heaping.js';
import { named } from './level-checks.js';
import type { FindPlaces, PlacedFind } from './positions.js';
import type { Oddity, Parameters, Summary } from './schemas.js';
import type { SeasonFrame } from './season-frame.js';

/** What the places and elevations of finds show, surfaces left aside. */
interface FindChecks {
  readonly oddities: Oddity[];
  readonly heaping: Summary['heaping'];
}

type FrameOf = (season: string) => SeasonFrame | null;

/** Finds outside their stated square or the dug ground, heaped offsets, identical coordinates, and no elevation. */
export function checkFinds(
  sample: Sample,
  places: FindPlaces,
  { own, frameOf }: { own: Parameters; frameOf: FrameOf },
): FindChecks {
  const heaped = heaping(places.inside, frameOf);
  return {
    heaping: heaped.heaping,
    oddities: [
      ...[...places.inside, ...places.outside].flatMap((find) =>
        outsideSquare(find, frameOf(find.season), { sample, own }),
      ),
      ...places.outside.map((find) => outsideGround(find, 'the place')),
      ...places.inUndugSquares.map((find) => outsideGround(find, `all of square ${find.square}`)),
      ...heaped.oddities,
      ...identical(places.inside),
      ...withoutElevation(sample, places.inside),
    ],
  };
}

const at = (find: PlacedFind) => ({
  where: `find ${find.label}`,
  season: named(find.season),
  x_m: find.x,
  y_m: find.y,
});

function outsideSquare(
  find: PlacedFind,
  frame: SeasonFrame | null,
  { sample, own }: { sample: Sample; own: Parameters },
): Oddity[] {
  if (frame === null || find.square === null) return [];
  const place = sample.grid && parseLabel(sample.grid, find.square) ? frame.squareOf(find.square) : null;
  if (place === null) return [];
  const [u, v] = frame.toSteps(find.x, find.y);
  const beside = (w: number, low: number) => Math.max(0, low - w, w - low - 1) * frame.stepM;
  const distance = Math.hypot(beside(u, place[0]), beside(v, place[1]));
  if (!(distance > own.boundary_tolerance_m)) return [];
  const isWithinError = distance <= 2 * find.sigmaXy;
  const lies = frame.squareName(Math.floor(u), Math.floor(v));
  return [
    {
      kind: 'outside_stated_square',
      ...at(find),
      value: distance,
      unit: 'm',
      beyond: distance - own.boundary_tolerance_m,
      rule: `a find lies in its stated square ${find.square}; this one lies in ${lies}${isWithinError ? ', within two errors of its place' : ''}`,
      severity: isWithinError ? 'look' : 'serious',
      before_backfill: false,
    },
  ];
}

function outsideGround(find: PlacedFind, what: string): Oddity {
  return {
    kind: 'find_outside_dug_ground',
    ...at(find),
    value: null,
    unit: '1',
    beyond: null,
    rule: `a find lies in ground dug in the seasons chosen; ${what} lies outside it`,
    severity: 'look',
    before_backfill: false,
  };
}

/** chance of a false alarm in any season */
const alarm = 0.001;

function heaping(finds: readonly PlacedFind[], frameOf: FrameOf) {
  const seasons = [...new Set(finds.map((find) => find.season))];
  const heaped: Summary['heaping'] = [];
  const oddities: Oddity[] = [];
  for (const season of seasons) {
    const frame = frameOf(season);
    if (frame === null) continue;
    const own = finds.filter((find) => find.season === season);
    const found = heapedOffsets(
      own.flatMap((find) => frame.toSteps(find.x, find.y).map((w) => (w - Math.floor(w)) * frame.stepM)),
    );
    const isHeaped = found.p < alarm / seasons.length;
    heaped.push({
      season,
      offsets: found.offsets,
      on_half_metres: found.onHalfMetres,
      expected: found.expected,
      p_binomial: found.p,
      heaped: isHeaped,
    });
    if (!isHeaped) continue;
    oddities.push({
      kind: 'heaped_offsets',
      where: season === '' ? 'all finds' : `season ${season}`,
      season: named(season),
      x_m: null,
      y_m: null,
      value: found.onHalfMetres,
      unit: '1',
      beyond: found.onHalfMetres - found.expected,
      rule: `of ${found.offsets} in-square offsets about ${found.expected.toFixed(1)} lie on 0.0 or 0.5 m by chance (p ${found.p.toExponential(1)})`,
      severity: 'look',
      before_backfill: false,
    });
  }
  return { heaping: heaped, oddities };
}

/** places are written to the millimetre */
const sameM = 0.001;

function identical(finds: readonly PlacedFind[]): Oddity[] {
  const groups = new Map<string, PlacedFind[]>();
  for (const find of finds) {
    const key = `${Math.round(find.x / sameM)} ${Math.round(find.y / sameM)}`;
    const group = groups.get(key);
    if (group) group.push(find);
    else groups.set(key, [find]);
  }
  return [...groups.values()]
    .filter((group) => group.length > 1)
    .map((group) => ({
      kind: 'identical_coordinates',
      ...at(group[0]),
      where: `finds ${group
        .slice(0, 6)
        .map((find) => find.label)
        .join(', ')}${group.length > 6 ? ` and ${group.length - 6} more` : ''}`,
      value: group.length,
      unit: '1',
      beyond: group.length - 1,
      rule: 'two spots do not share one place to the millimetre; children of one concretion count as one spot',
      severity: 'note',
      before_backfill: false,
    }));
}

function withoutElevation({ z, detail }: Sample, finds: readonly PlacedFind[]): Oddity[] {
  return finds.flatMap((find, i): Oddity[] =>
    Number.isNaN(z[i]) && Number.isNaN(detail.zMin[i] + detail.zMax[i])
      ? [
          {
            kind: 'find_without_elevation',
            ...at(find),
            value: null,
            unit: 'm',
            beyond: null,
            rule: 'a find with a place has an elevation, or a lowest and a highest one',
            severity: 'note',
            before_backfill: true,
          },
        ]
      : [],
  );
}
