import type { DugArea, Sample } from '../../domain/sample.js';
import { intersection, union } from '../../math/overlay.js';
import type { RandomStream } from '../../math/random.js';
import { type Region, regionArea } from '../../math/rings.js';
import { type PointSampler, uniformPoints } from '../../math/uniform-points.js';
import type { Trial } from '../contract.js';
import { movedTo } from '../planting.js';
import type { Summary } from './schemas.js';

/** Finds made up for two seasons, each spread evenly over the ground it dug. */
export const trial: Trial = {
  effect: 'times as many finds per m² in the second season',
  unit: '1',
  strengths: [1.25, 1.5, 2, 2.5, 3, 4, 6, 10],
  plant: twoSeasons,
  probability: (summary) => (summary as Summary).p,
};

/** The ground of one season, and how finds are laid out on it. */
interface TrialGround {
  readonly areaM2: number;
  readonly lay: PointSampler;
}

function groundOf(window: Region, areas: readonly DugArea[]): TrialGround | null {
  if (areas.length === 0) return null;
  const region = intersection(union(areas.map((area) => area.region)), window);
  const areaM2 = region.rings.length === 0 ? 0 : regionArea(region);
  return areaM2 > 0 ? { areaM2, lay: uniformPoints(region) } : null;
}

/**
 * As many finds as there are fall on the first two seasons with ground, in proportion to ground and richness; where the
 * dig knows no such two, on two made-up seasons in one window. The register is made up along: nothing of it remains.
 * @param strength  0 = equally rich
 */
function twoSeasons(sample: Sample, strength: number, random: RandomStream): Sample {
  const own = sample.seasons
    .map((name) => ({
      name,
      ground: groundOf(
        sample.window,
        sample.dug.filter((area) => area.season === name),
      ),
    }))
    .filter(({ ground }) => ground !== null)
    .slice(0, 2);
  const window = groundOf(sample.window, sample.dug);
  const isReal = own.length === 2;
  const [first, second] = isReal ? own.map(({ ground }) => ground as TrialGround) : [window, window];
  const names = isReal ? own.map(({ name }) => name) : ['first season', 'second season'];
  const richer = strength === 0 ? 1 : strength;
  const [a, b] = [first?.areaM2 ?? 1, richer * (second?.areaM2 ?? 1)];
  const n = sample.xy.length / 2;
  const xy = new Float64Array(2 * n);
  const seasonCode = new Uint32Array(n);
  for (let i = 0; i < n; i++) {
    const isSecond = random.next() * (a + b) < b;
    seasonCode[i] = isSecond ? 2 : 1;
    (isSecond ? second : first)?.lay(xy.subarray(2 * i, 2 * i + 2), random);
  }
  const { register: _register, counting: _counting, ...rest } = movedTo(sample, xy);
  const unknown = new Array<null>(n).fill(null);
  return {
    ...rest,
    seasons: names,
    seasonCode,
    dug: isReal
      ? sample.dug.filter((area) => names.includes(area.season))
      : sample.dug.map((area) => ({ ...area, season: '' })),
    detail: { ...rest.detail, potVessel: unknown, concretion: unknown },
  };
}
