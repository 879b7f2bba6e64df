import { dugIn, type SeasonId, type Square, seasonIds, seasonsOf } from './areas.js';
import { type ClassName, classList, classNames } from './class-list.js';
import { boneKeepsM, clusters, nailCounts, woodNeedsM } from './clusters.js';
import { nodeThickness, thickness } from './deposit.js';
import { rounded } from './deviates.js';
import { gridSize, type Point } from './grids.js';
import type { SieveLosses } from './ground.js';
import { barDirection, concretions } from './iron.js';
import { drift, jarCount, joinCount, type PotVessel } from './jars.js';
import type { PlantedFind } from './planted.js';
import { elevationShares, positionShares } from './positions.js';
import { axeHeads, type RegisteredFind } from './register.js';
import { frameStations, frames } from './ship.js';

/** Mean place and root-mean-square spread per axis. */
function centreOf(finds: readonly Point[]) {
  const n = finds.length;
  const x = finds.reduce((sum, p) => sum + p[0], 0) / n;
  const y = finds.reduce((sum, p) => sum + p[1], 0) / n;
  const square = finds.reduce((sum, p) => sum + (p[0] - x) * (p[0] - x) + (p[1] - y) * (p[1] - y), 0);
  return { n, mean: [rounded(x, 4), rounded(y, 4)], sigma_m: rounded(Math.sqrt(square / (2 * n)), 4) };
}

/** Distance from a place to the nearest square that nobody dug, metres. */
function distanceToUndug([x, y]: Point): number {
  let least = Infinity;
  for (let c = -1; c <= gridSize.columns; c++) {
    for (let r = -1; r <= gridSize.rows; r++) {
      if (seasonsOf([c, r]).length > 0) continue;
      const dx = Math.max(c - x, 0, x - c - 1);
      const dy = Math.max(r - y, 0, y - r - 1);
      least = Math.min(least, Math.sqrt(dx * dx + dy * dy));
    }
  }
  return rounded(least, 4);
}

/** Mean distance to the nearest other, metres. */
function meanNearest(points: readonly Point[]): number {
  let sum = 0;
  for (const a of points) {
    let least = Infinity;
    for (const b of points) if (a !== b) least = Math.min(least, between(a, b));
    sum += least;
  }
  return rounded(sum / points.length, 4);
}

function between(a: Point, b: Point): number {
  return Math.sqrt((a[0] - b[0]) * (a[0] - b[0]) + (a[1] - b[1]) * (a[1] - b[1]));
}

/** Mean direction of undirected lines: angles doubled, the mean halved. */
function axialMean(degrees: readonly number[]) {
  let sine = 0;
  let cosine = 0;
  for (const angle of degrees) {
    sine += Math.sin((2 * angle * Math.PI) / 180);
    cosine += Math.cos((2 * angle * Math.PI) / 180);
  }
  const mean = ((Math.atan2(sine, cosine) * 90) / Math.PI + 180) % 180;
  return {
    mean_deg: rounded(mean, 4),
    resultant: rounded(Math.sqrt(sine * sine + cosine * cosine) / degrees.length, 6),
  };
}

export interface FindsOfSite {
  readonly register: readonly RegisteredFind[];
  readonly vessels: readonly PotVessel[];
  readonly losses: SieveLosses;
}

/** What was planted with the finds, in the places where they lay (which for points are the places recorded). */
export function findTruth({ register, vessels, losses }: FindsOfSite) {
  const of = (name: ClassName) => register.filter(({ find }) => find.className === name).map(({ find }) => find);
  const places = (finds: readonly PlantedFind[]) => finds.map((find): Point => [find.x, find.y]);
  const cluster = (name: 'jar' | 'glass' | 'brick') => ({
    artefact_class: classList[name].id,
    centre: clusters[name].centre,
    sigma_m: clusters[name].sigmaM,
    distance_to_undug_m: distanceToUndug(clusters[name].centre),
    came_out: centreOf(places(of(name))),
  });
  return {
    total: register.length,
    counts: Object.fromEntries(classNames.map((name) => [classList[name].id, countBySeason(of(name))])),
    relative_depth: Object.fromEntries(
      classNames.map((name) => {
        const finds = of(name);
        const mean = finds.reduce((sum, find) => sum + find.relativeDepth, 0) / finds.length;
        return [classList[name].id, { beta: classList[name].depth, came_out_mean: rounded(mean, 6), n: finds.length }];
      }),
    ),
    clusters: [cluster('jar'), cluster('glass'), cluster('brick')],
    stoneware_jars: jarTruth(of('jar'), vessels),
    clay_pipes: { artefact_class: 'clay pipe', pattern: 'uniform at random over the dug union' },
    spikes: {
      artefact_class: 'copper-alloy spike',
      spacing_m: frames.spikeSpacingM,
      frames: frameStations.length,
      frame_spacing_m: frames.spacingM,
      mean_nearest_m: meanNearest(places(of('spike'))),
    },
    bone_and_sheathing: {
      keeps_m: boneKeepsM,
      least_distance_m: rounded(
        Math.min(...places(of('bone')).map((a) => Math.min(...places(of('sheathing')).map((b) => between(a, b))))),
        4,
      ),
    },
    wood: {
      needs_thickness_m: woodNeedsM,
      least_thickness_m: rounded(Math.min(...places(of('wood')).map(([x, y]) => thickness(x, y))), 4),
    },
    iron_bars: {
      artefact_class: 'iron bar',
      planted_mean_deg: barDirection.meanDeg,
      planted_sigma_deg: barDirection.sigmaDeg,
      came_out: axialMean(of('ironBar').map((find) => find.long!.orientationDeg)),
    },
    nails: nailTruth(),
    recovery: {
      season: 'S1',
      mesh_mm: 6,
      note: 'kept: share of what lay there that the coarse sieve kept; lost_in_sieve: how many that cost',
      classes: Object.fromEntries(
        classNames
          .filter((name) => classList[name].keptAt6mm < 1)
          .map((name) => [
            classList[name].id,
            { kept: classList[name].keptAt6mm, lost_in_sieve: losses.get(classList[name].id) ?? 0 },
          ]),
      ),
    },
    concretions: {
      ...concretions,
      own_entry: 'a concretion stands in the register as its largest object; its children name it',
    },
    axe_heads: axeHeads(register).map((entry) => entry.number),
    positions: positionTruth(register),
  };
}

function countBySeason(finds: readonly PlantedFind[]): Record<SeasonId | 'total', number> {
  const count = (season: SeasonId) => finds.filter((find) => find.season === season).length;
  return { S1: count('S1'), S2: count('S2'), S3: count('S3'), S4: count('S4'), total: finds.length };
}

function jarTruth(sherds: readonly PlantedFind[], vessels: readonly PotVessel[]) {
  const stood = new Map(vessels.map((vessel) => [vessel.id, vessel]));
  const moves = sherds.map((sherd) => {
    const vessel = stood.get(sherd.potVessel!)!;
    return { dx: sherd.x - vessel.x, dy: sherd.y - vessel.y, weight: sherd.weightG };
  });
  const distance = (move: (typeof moves)[number]) => Math.sqrt(move.dx * move.dx + move.dy * move.dy);
  const meanX = moves.reduce((sum, move) => sum + move.dx, 0) / moves.length;
  const meanY = moves.reduce((sum, move) => sum + move.dy, 0) / moves.length;
  const byWeight = [...moves].sort((a, b) => a.weight - b.weight);
  const half = Math.floor(moves.length / 2);
  const mean = (list: typeof moves) => rounded(list.reduce((sum, move) => sum + distance(move), 0) / list.length, 4);
  return {
    artefact_class: 'stoneware jar',
    vessels: jarCount,
    joins: joinCount,
    towards_deg: drift.towardsDeg,
    farthest_m: drift.farthestM,
    came_out: {
      mean_drift_m: rounded(Math.sqrt(meanX * meanX + meanY * meanY), 4),
      mean_direction_deg: rounded(((Math.atan2(meanX, meanY) * 180) / Math.PI + 360) % 360, 4),
      farthest_m: rounded(Math.max(...moves.map(distance)), 4),
      mean_drift_lighter_half_m: mean(byWeight.slice(0, half)),
      mean_drift_heavier_half_m: mean(byWeight.slice(half)),
      vessels: centreOf(vessels.map((vessel): Point => [vessel.x, vessel.y])),
    },
    vessel_places: vessels.map(({ id, x, y, sherds: n }) => ({
      pot_vessel: id,
      x: rounded(x, 3),
      y: rounded(y, 3),
      sherds: n,
    })),
  };
}

function nailTruth() {
  const cubic = (squares: readonly Square[]) =>
    squares.reduce(
      (sum, [c, r]) =>
        sum +
        (nodeThickness(c, r) + nodeThickness(c + 1, r) + nodeThickness(c, r + 1) + nodeThickness(c + 1, r + 1)) / 4,
      0,
    );
  const perArea = (season: 'S1' | 'S2') => nailCounts[season] / dugIn(season).length;
  const perVolume = (season: 'S1' | 'S2') => nailCounts[season] / cubic(dugIn(season));
  return {
    artefact_class: 'nail',
    counts: nailCounts,
    per_m2: {
      S1: rounded(perArea('S1'), 6),
      S2: rounded(perArea('S2'), 6),
      S2_to_S1: rounded(perArea('S2') / perArea('S1'), 6),
    },
    per_m3: {
      S1: rounded(perVolume('S1'), 4),
      S2: rounded(perVolume('S2'), 4),
      S2_to_S1: rounded(perVolume('S2') / perVolume('S1'), 6),
    },
  };
}

function positionTruth(register: readonly RegisteredFind[]) {
  const single = register.filter(({ find }) => !find.concretion?.child && !find.long);
  const outside = register.filter(({ position }) => position.outsideItsSquare);
  return {
    single_finds: single.length,
    note: 'single finds: neither children of concretions, which inherit, nor the long iron bars, which are lines with an elevation',
    shares_percent: { ...positionShares, part_note: 'half and quarter squares together' },
    elevation_shares_percent: elevationShares,
    outside_stated_square: outside.map(({ number, position }) => ({ find: number, stated: position.square })),
    heaped_in_S1: {
      finds: register.filter(({ position }) => position.heaped).length,
      points: register.filter(({ find, position }) => find.season === 'S1' && position.kind === 'point').length,
      note: 'children of concretions counted with their parent; offsets read to 0.0 or 0.5, up to 0.25 m from where the find lay',
    },
    children_by_season: Object.fromEntries(
      seasonIds.map((season) => [
        season,
        register.filter(({ find }) => find.season === season && find.concretion?.child).length,
      ]),
    ),
  };
}
