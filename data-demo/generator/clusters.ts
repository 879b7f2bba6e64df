import { exponential } from '../../src/math/elementary.js';
import type { RandomStream } from '../../src/math/random.js';
import { seasonsOf } from './areas.js';
import { type ClassName, classList } from './class-list.js';
import { nodeThickness, thickness } from './deposit.js';
import { beta, normal, rounded, subject } from './deviates.js';
import type { Point } from './grids.js';
import {
  alongHull,
  anywhereDug,
  around,
  plant,
  type Recovery,
  recovered,
  type SieveLosses,
  type Spot,
} from './ground.js';
import type { PlantedFind } from './planted.js';
import { frameStations, frames, fromShip, halfBreadth, keelsonLengthM } from './ship.js';

/** Centres and spreads that the tests ask for. */
export const clusters = {
  jar: { centre: [17.0, 9.2], sigmaM: 0.9 },
  glass: { centre: [9.8, 6.3], sigmaM: 0.6 },
  brick: { centre: [25.2, 13.0], sigmaM: 0.7 },
} as const satisfies Record<string, { centre: Point; sigmaM: number }>;

/** Distance that bone keeps from copper sheathing, metres. */
export const boneKeepsM = 0.8;
/** Least thickness of the deposit where wood survived, metres. */
export const woodNeedsM = 0.3;
/** Nails by season: 2 : 1 per m² between the second and the first, and 1 : 1 per m³. */
export const nailCounts = { S1: 42, S2: 308, S3: 152, S4: 118 } as const;

/** Finish of one find: its depth in the deposit, its weight, how it was counted. */
export function asFind(random: RandomStream, className: ClassName, spot: Spot): PlantedFind {
  const kind = classList[className];
  const bulk = className === 'shot' && random.next() < 0.03;
  const count = bulk ? 6 + random.below(40) : 1;
  return {
    ...spot,
    className,
    relativeDepth: beta(random, kind.depth),
    weightG: rounded(Math.max(0.1, count * kind.weight[0] * exponential(kind.weight[1] * normal(random))), 1),
    count,
    countQualifier: bulk ? (random.next() < 0.7 ? 'about' : 'at_least') : 'exact',
  };
}

/** Spikes as they held the ship together: every 0.45 m along each frame, from the keelson outwards. */
function spikeSpots(random: RandomStream): Spot[] {
  const holes: { along: number; off: number }[] = [];
  for (const along of frameStations) {
    for (let off = frames.spikeSpacingM / 2; off <= halfBreadth(along); off += frames.spikeSpacingM) {
      holes.push({ along, off }, { along, off: -off });
    }
  }
  holes.sort((a, b) => Math.abs(a.off) - Math.abs(b.off) || a.along - b.along || a.off - b.off);
  const spots: Spot[] = [];
  for (const { along, off } of holes) {
    if (spots.length === classList.spike.count) break;
    const place = () => fromShip(along + 0.012 * normal(random), off + 0.012 * normal(random));
    const [x, y] = fromShip(along, off);
    if (seasonsOf([Math.floor(x), Math.floor(y)]).length === 0) continue;
    let spot: Spot | null = null;
    // a few draws: a hole near a grid line may land on it
    for (let k = 0; k < 20 && !spot; k++) spot = recovered(random, place(), {});
    if (spot) spots.push(spot);
  }
  if (spots.length < classList.spike.count) throw new Error(`room for ${spots.length} spikes only`);
  return spots;
}

/** Scraps of copper sheathing in small clumps along the turn of the bilge, outside the trial trench. */
function sheathingSpots(random: RandomStream): Spot[] {
  const clumps: Point[] = [];
  for (let k = 0; k < 10; k++) {
    const along = 1.2 + 1.6 * k;
    clumps.push(fromShip(along, (k % 3 === 1 ? -1 : 1) * (halfBreadth(along) + 0.1)));
  }
  let next = 0;
  return plant(random, {
    count: classList.sheathing.count,
    place: () => around(random, clumps[next++ % clumps.length], 0.22),
    recovery: { keep: (_x, _y, season) => season !== 'S1' },
  });
}

/** Every class but the stoneware jars, the long bars and the iron that came in concretions. */
export function plantClusters(losses: SieveLosses): PlantedFind[] {
  const random = subject('scatter');
  const finds: PlantedFind[] = [];
  const add = (className: ClassName, spots: readonly Spot[]) => {
    for (const spot of spots) finds.push(asFind(random, className, spot));
  };
  const scatter = (className: ClassName, place: () => Point, recovery: Recovery = {}) => {
    const kind = classList[className];
    const spots = plant(random, {
      count: kind.count,
      place,
      recovery: { keptAt6mm: kind.keptAt6mm, ...recovery },
      onLoss: () => losses.set(kind.id, (losses.get(kind.id) ?? 0) + 1),
    });
    add(className, spots);
  };
  const onShip = (along: readonly [number, number], off: readonly [number, number]) => () => {
    const at = alongHull(random, { along, off });
    return fromShip(at.along, at.off);
  };

  scatter('glass', () => around(random, clusters.glass.centre, clusters.glass.sigmaM));
  scatter('brick', () => around(random, clusters.brick.centre, clusters.brick.sigmaM));
  scatter('pipe', () => anywhereDug(random), { wholeSquares: true });
  add('spike', spikeSpots(random));
  const scraps = sheathingSpots(random);
  add('sheathing', scraps);
  scatter('bone', () => anywhereDug(random), { keep: (x, y) => scraps.every((s) => clearOf(s, x, y)) });
  scatter('shot', onShip([3, 12], [0.8, 1.4]));
  scatter('sheet', onShip([1, 16], [2.2, 1.2]));
  scatter('soundingLead', onShip([14, 17.5], [1, 1]));
  scatter('wood', () => anywhereDug(random), { keep: (x, y) => thickness(x, y) > woodNeedsM });
  scatter('tableware', onShip([0.5, keelsonLengthM - 0.5], [0.6, 1.5]));
  scatter('leather', () => around(random, [8.7, 5.0], 1.2), { keep: (_x, _y, season) => season === 'S3' });
  add('nail', nailSpots(random));
  return finds;
}

function clearOf(scrap: Spot, x: number, y: number): boolean {
  return (scrap.x - x) * (scrap.x - x) + (scrap.y - y) * (scrap.y - y) >= boneKeepsM * boneKeepsM;
}

/** Nails lie in the deposit as such: as many per cubic metre everywhere, so that thin ground yields few per square metre. */
function nailSpots(random: RandomStream): Spot[] {
  let thickest = 0;
  for (let c = 0; c <= 34; c++) for (let r = 0; r <= 20; r++) thickest = Math.max(thickest, nodeThickness(c, r));
  const spots: Spot[] = [];
  for (const [season, count] of Object.entries(nailCounts)) {
    const mine = plant(random, {
      count,
      place: () => anywhereDug(random),
      recovery: { keep: (x, y, found) => found === season && random.next() * thickest < thickness(x, y) },
    });
    spots.push(...mine);
  }
  return spots;
}
