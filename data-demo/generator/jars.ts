import { classList } from './class-list.js';
import { asFind, clusters } from './clusters.js';
import { normal, shuffled, subject } from './deviates.js';
import { around, recovered, type Spot } from './ground.js';
import type { PlantedFind } from './planted.js';

/** Sixty stoneware jars that broke where they stood; the sherds washed downslope, the lighter ones further. */
export const jarCount = 60;
export const drift = { towardsDeg: 140, farthestM: 4.2, scatterM: 0.12 } as const;
/** Joins found between sherds. */
export const joinCount = 140;

/** Where a pot vessel stood before it broke. */
export interface PotVessel {
  readonly id: string;
  readonly x: number;
  readonly y: number;
  readonly sherds: number;
}

const direction = (drift.towardsDeg * Math.PI) / 180;

function vesselSizes(): number[] {
  const random = subject('jars');
  const sizes = Array.from({ length: jarCount }, () => 8 + random.below(33));
  // a sherd more or less here and there until the number of the register comes out
  for (let i = 0; ; i = (i + 1) % jarCount) {
    const missing = classList.jar.count - sizes.reduce((sum, size) => sum + size, 0);
    if (missing === 0) return sizes;
    sizes[i] += Math.sign(missing);
  }
}

/** The sherds, and the places where their vessels stood. */
export function plantJars(): { vessels: PotVessel[]; sherds: PlantedFind[] } {
  const random = subject('jars');
  const vessels: PotVessel[] = [];
  const sherds: PlantedFind[] = [];
  vesselSizes().forEach((size, k) => {
    const id = `JV${String(k + 1).padStart(2, '0')}`;
    const [x, y] = around(random, clusters.jar.centre, clusters.jar.sigmaM);
    vessels.push({ id, x, y, sherds: size });
    const weights = Array.from({ length: size }, () => asFind(random, 'jar', { x: 0, y: 0, season: 'S2' }).weightG);
    weights.sort((a, b) => b - a);
    weights.forEach((weightG, rank) => {
      const lightness = size > 1 ? rank / (size - 1) : 0;
      const spot = drifted(random, { x, y, lightness });
      sherds.push({ ...asFind(random, 'jar', spot), weightG, potVessel: id });
    });
  });
  return { vessels, sherds };
}

/** Where a sherd came to lie: its lightness among the sherds of its jar (0 heaviest, 1 lightest) decides how far. */
function drifted(
  random: ReturnType<typeof subject>,
  sherd: { readonly x: number; readonly y: number; readonly lightness: number },
): Spot {
  const { lightness } = sherd;
  const full = drift.farthestM * lightness * lightness * lightness * lightness * lightness;
  for (let tries = 0; tries < 400; tries++) {
    // what went beyond the dug area was not found: the search falls back towards the jar
    const distance = full * (0.7 + 0.3 * random.next()) * Math.max(0, 1 - tries / 200);
    const x = sherd.x + distance * Math.sin(direction) + drift.scatterM * normal(random);
    const y = sherd.y + distance * Math.cos(direction) + drift.scatterM * normal(random);
    const moved = Math.sqrt((x - sherd.x) * (x - sherd.x) + (y - sherd.y) * (y - sherd.y));
    const spot = moved <= drift.farthestM ? recovered(random, [x, y], {}) : null;
    if (spot) return spot;
  }
  throw new Error('a jar stands outside the dug area');
}

/** Pairs of sherds of one vessel that join, each pair once and no sherd more than twice. */
export function joins(sherds: readonly PlantedFind[]): [PlantedFind, PlantedFind][] {
  const random = subject('refits');
  const used = new Map<PlantedFind, number>();
  const seen = new Set<string>();
  const found: [PlantedFind, PlantedFind][] = [];
  const order = shuffled(
    random,
    sherds.map((_, i) => i),
  );
  for (let at = 0; found.length < joinCount; at = (at + 1) % order.length) {
    const i = order[at];
    const mates = sherds.map((_, k) => k).filter((k) => k !== i && sherds[k].potVessel === sherds[i].potVessel);
    const k = mates[random.below(mates.length)];
    const name = `${Math.min(i, k)},${Math.max(i, k)}`;
    const a = sherds[i];
    const b = sherds[k];
    if (seen.has(name) || (used.get(a) ?? 0) > 1 || (used.get(b) ?? 0) > 1) continue;
    seen.add(name);
    used.set(a, (used.get(a) ?? 0) + 1);
    used.set(b, (used.get(b) ?? 0) + 1);
    found.push([a, b]);
  }
  return found;
}
