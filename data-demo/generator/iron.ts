import { isDugIn } from './areas.js';
import { type ClassName, classList } from './class-list.js';
import { asFind } from './clusters.js';
import { between, normal, rounded, shuffled, subject } from './deviates.js';
import type { Point } from './grids.js';
import { alongHull, anywhereDug, plant, recovered, type Spot } from './ground.js';
import type { PlantedFind } from './planted.js';
import { fromShip } from './ship.js';

/**
 * Concretions: each stands in the register under its own number, as its largest object, and its children came out of
 * it later. What is neither concretion nor child was loose.
 */
export const concretions = { count: 210, children: 854, fewest: 1, most: 9 } as const;
/** Direction of the long iron bars, degrees from site_north. */
export const barDirection = { meanDeg: 61, sigmaDeg: 8 } as const;

const unidentified = { own: 20, children: 24 } as const;

function childCounts(): number[] {
  const random = subject('concretions');
  const { count, children, fewest, most } = concretions;
  const counts = Array.from({ length: count }, () => fewest + random.below(most));
  for (let i = 0; ; i = (i + 1) % count) {
    const missing = children - counts.reduce((sum, n) => sum + n, 0);
    if (missing === 0) return counts;
    const changed = counts[i] + Math.sign(missing);
    // the first few stay as drawn, so that one and nine both occur
    if (i > 30 && changed >= fewest && changed <= most) counts[i] = changed;
  }
}

/** Iron fastenings and unidentified iron objects: concretions with their children, and the loose ones. */
export function plantIron(): PlantedFind[] {
  const random = subject('concretions');
  const place = (): Point => {
    if (random.next() < 0.3) return anywhereDug(random);
    const at = alongHull(random, { along: [0, 17.5], off: [0.4, 1.7] });
    return fromShip(at.along, at.off);
  };
  const counts = childCounts();
  const ironLoose =
    classList.ironFastening.count -
    (concretions.count - unidentified.own) -
    (concretions.children - unidentified.children);
  const oddLoose = classList.unidentifiedIron.count - unidentified.own - unidentified.children;
  const classes = (iron: number, odd: number): ClassName[] =>
    shuffled(random, [
      ...Array<ClassName>(iron).fill('ironFastening'),
      ...Array<ClassName>(odd).fill('unidentifiedIron'),
    ]);
  const own = classes(concretions.count - unidentified.own, unidentified.own);
  const inside = classes(concretions.children - unidentified.children, unidentified.children);
  const finds: PlantedFind[] = [];
  const spots = plant(random, { count: concretions.count, place, recovery: {} });
  spots.forEach((spot, key) => {
    const whole = { ...asFind(random, own[key], spot), concretion: { key, child: false } };
    finds.push({ ...whole, weightG: rounded(whole.weightG * 6, 1) });
    for (let k = 0; k < counts[key]; k++) {
      const child = asFind(random, inside.pop()!, spot);
      finds.push({ ...child, relativeDepth: whole.relativeDepth, concretion: { key, child: true } });
    }
  });
  const looseSpots = plant(random, { count: ironLoose + oddLoose, place, recovery: {} });
  const looseClasses = classes(ironLoose, oddLoose);
  looseSpots.forEach((spot, k) => {
    finds.push(asFind(random, looseClasses[k], spot));
  });
  return finds;
}

/** Iron bars of the cargo, drawn as lines, lying with the ship; each wholly inside what its season dug. */
export function plantBars(): PlantedFind[] {
  const random = subject('lines');
  const bars: PlantedFind[] = [];
  while (bars.length < classList.ironBar.count) {
    const at = alongHull(random, { along: [1.5, 13.5], off: [0.9, 1.3] });
    const [x, y] = fromShip(at.along, at.off);
    const orientationDeg = rounded(barDirection.meanDeg + barDirection.sigmaDeg * normal(random), 1);
    const length = between(random, 0.7, 1.9);
    const turn = (orientationDeg * Math.PI) / 180;
    const half = [(length / 2) * Math.sin(turn), (length / 2) * Math.cos(turn)] as const;
    const start: Point = [rounded(x - half[0], 3), rounded(y - half[1], 3)];
    const end: Point = [rounded(x + half[0], 3), rounded(y + half[1], 3)];
    const spot = recovered(random, [(start[0] + end[0]) / 2, (start[1] + end[1]) / 2], {});
    if (!spot || !lineIsDug(spot, start, end)) continue;
    bars.push({ ...asFind(random, 'ironBar', { ...spot, x: start[0], y: start[1] }), long: { end, orientationDeg } });
  }
  return bars;
}

function lineIsDug(spot: Spot, start: Point, end: Point): boolean {
  for (let k = 0; k <= 100; k++) {
    const x = start[0] + ((end[0] - start[0]) * k) / 100;
    const y = start[1] + ((end[1] - start[1]) * k) / 100;
    // two centimetres to spare, for the millimetres that the re-laid grid rounds away
    for (const [dx, dy] of [
      [0.02, 0.02],
      [-0.02, 0.02],
      [0.02, -0.02],
      [-0.02, -0.02],
    ]) {
      if (!isDugIn(spot.season, x + dx, y + dy)) return false;
    }
  }
  return true;
}
