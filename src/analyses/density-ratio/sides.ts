import type { Sample } from '../../domain/sample.js';
import { denominatorSide, numeratorSide, type TwoSides } from '../../math/density-ratio.js';
import { intersection, union } from '../../math/overlay.js';
import { contains, edgeSlack, type Region, regionArea, regionBox, shiftRegion } from '../../math/rings.js';
import { Problem } from '../../problems.js';
import type { Parameters } from './schemas.js';

/** The finds of both sides and the ground they are compared on, counted from the window's lower-left corner. */
export interface Sides extends Omit<TwoSides, 'sigmaM'> {
  /** [n] position in the sample of each find used */
  readonly member: readonly number[];
  readonly numeratorName: string;
  readonly denominatorName: string;
  readonly sharedAreaM2: number;
  /** [n] 1 = on the ground compared */
  readonly onShared: Uint8Array;
  readonly outsideOwnGround: number;
  /** false: seasons without areas of their own stand on the whole window */
  readonly ownWindows: boolean;
  /** local origin, site-grid metres */
  readonly origin: readonly [number, number];
}

/**
 * Picks the finds of each side.
 * @throws Problem no-window, unknown-class, unknown-season, bad-parameter for a name on both sides, too-few-points for
 *   a side without finds, cannot-answer when one side is all there is or the seasons share no dug ground
 */
export function sidesOf(sample: Sample, own: Parameters): Sides {
  const [west, south] = regionBox(sample.window);
  const window = shiftRegion(sample.window, west, south);
  if (!(regionArea(window) > 0)) {
    throw new Problem('no-window', 'the window has no area; name seasons with excavated areas');
  }
  const common = own.numerator.find((name) => own.denominator.includes(name));
  if (common !== undefined) {
    throw new Problem('bad-parameter', `input denominator: "${common}" stands on both sides of the ratio`, {
      parameter: 'denominator',
    });
  }
  const ground: Ground = { window, origin: [west, south] };
  const picked = own.by === 'class' ? classSides(sample, own, ground) : seasonSides(sample, own, ground);
  const slack = edgeSlack(picked.shared);
  const { xy } = picked;
  const onShared = Uint8Array.from(picked.side, (_, i) =>
    contains(picked.shared, xy[2 * i], xy[2 * i + 1], slack) ? 1 : 0,
  );
  for (const [bit, name] of [
    [numeratorSide, picked.numeratorName],
    [denominatorSide, picked.denominatorName],
  ] as const) {
    if (picked.side.some((s, i) => (s & bit) !== 0 && onShared[i] === 1 && picked.weight[i] > 0)) continue;
    throw new Problem('too-few-points', `no find of ${name} lies on the ground compared: there is no density of it`, {
      side: name,
    });
  }
  return { ...picked, onShared, sharedAreaM2: regionArea(picked.shared), origin: [west, south] };
}

interface Ground {
  readonly window: Region;
  readonly origin: readonly [number, number];
}

type Picked = Omit<Sides, 'onShared' | 'sharedAreaM2' | 'origin'>;

/** Finds with a side, in the order of the sample; 0 = not used. */
function gather(sample: Sample, { origin }: Ground, sideOf: (i: number) => number) {
  const all = Array.from(sample.classCode.keys());
  const member = all.filter((i) => sideOf(i) !== 0);
  return {
    member,
    xy: Float64Array.from(member.flatMap((i) => [sample.xy[2 * i] - origin[0], sample.xy[2 * i + 1] - origin[1]])),
    weight: Float64Array.from(member, (i) => sample.weight[i]),
    side: Uint8Array.from(member, sideOf),
  };
}

function classSides(sample: Sample, own: Parameters, ground: Ground): Picked {
  const asked = own.numerator.length > 0 || own.denominator.length > 0;
  const numerator = asked ? own.numerator : commonest(sample);
  const above = codesOf(sample, numerator);
  const below = codesOf(sample, own.denominator);
  const sideOf = (i: number) =>
    (above === null || above.has(sample.classCode[i]) ? numeratorSide : 0) |
    (below === null || below.has(sample.classCode[i]) ? denominatorSide : 0);
  const picked = gather(sample, ground, sideOf);
  if (picked.side.length > 0 && picked.side.every((s) => s === (numeratorSide | denominatorSide))) {
    const name = [...numerator, ...own.denominator].join(', ');
    throw new Problem(
      'cannot-answer',
      `all finds chosen are ${name}: there is nothing to hold them against; leave artefact_class out and name the class with numerator`,
    );
  }
  return {
    ...picked,
    shared: ground.window,
    windows: null,
    numeratorName: sideName(numerator, 'all finds'),
    denominatorName: sideName(own.denominator, 'all finds'),
    outsideOwnGround: 0,
    ownWindows: true,
  };
}

const sideName = (names: readonly string[], none: string) => (names.length === 0 ? none : names.join(', '));

/** The class with most finds, the first of the list among equals; none when there are no finds. */
function commonest(sample: Sample): string[] {
  const counts = new Uint32Array(sample.classes.length + 1);
  for (const code of sample.classCode) counts[code]++;
  let best = 0;
  for (let code = 1; code < counts.length; code++) {
    if (counts[code] > 0 && (best === 0 || counts[code] > counts[best])) best = code;
  }
  if (best === 0) {
    throw new Problem(
      'too-few-points',
      'a density ratio needs finds of a class, or of two seasons; none of the finds chosen has a class and a position in the window',
    );
  }
  return [sample.classes[best - 1]];
}

function codesOf(sample: Sample, names: readonly string[]): ReadonlySet<number> | null {
  if (names.length === 0) return null;
  return new Set(
    names.map((name) => {
      const code = sample.classes.indexOf(name) + 1;
      if (code > 0) return code;
      const known = sample.classes.length === 0 ? 'the finds have no classes' : sample.classes.join(', ');
      throw new Problem('unknown-class', `class "${name}" is not among the finds chosen; there are: ${known}`, {
        class: name,
      });
    }),
  );
}

function seasonSides(sample: Sample, own: Parameters, ground: Ground): Picked {
  const present = sample.seasons.filter((_, s) => sample.seasonCode.includes(s + 1));
  if (present.length < 2) {
    throw new Problem(
      'cannot-answer',
      `season against season needs finds of two seasons; these are of ${present.join(', ') || 'no season known'}`,
    );
  }
  for (const name of [...own.numerator, ...own.denominator]) {
    if (!sample.seasons.includes(name)) {
      throw new Problem(
        'unknown-season',
        `season "${name}" is not known here; the seasons with finds are ${present.join(', ')}`,
        { season: name },
      );
    }
  }
  const others = (names: readonly string[]) => present.filter((name) => !names.includes(name));
  const numerator = own.numerator.length > 0 ? own.numerator : lastOf(others(own.denominator));
  const denominator = own.denominator.length > 0 ? own.denominator : others(numerator);
  const ownWindows = sample.dug.some((area) => sample.seasons.includes(area.season));
  const dugBy = (names: readonly string[]): Region => {
    if (!ownWindows) return ground.window;
    const [west, south] = ground.origin;
    const regions = sample.dug.filter((a) => names.includes(a.season)).map((a) => shiftRegion(a.region, west, south));
    return intersection(union(regions), ground.window);
  };
  const windows = { numerator: dugBy(numerator), denominator: dugBy(denominator) };
  const shared = ownWindows ? intersection(windows.numerator, windows.denominator) : ground.window;
  if (!(regionArea(shared) > 0)) {
    throw new Problem(
      'cannot-answer',
      `${numerator.join(', ')} and ${denominator.join(', ')} share no dug ground inside the window: a ratio is given only where both dug; hold rates per m² against each other instead`,
    );
  }
  const isAbove = onGround(sample, ground, windows.numerator);
  const isBelow = onGround(sample, ground, windows.denominator);
  let outsideOwnGround = 0;
  const sides = Uint8Array.from(sample.seasonCode, (code, i) => {
    const name = code === 0 ? '' : sample.seasons[code - 1];
    const side = numerator.includes(name) ? numeratorSide : denominator.includes(name) ? denominatorSide : 0;
    if (side === 0) return 0;
    if ((side === numeratorSide ? isAbove : isBelow)(i)) return side;
    outsideOwnGround++;
    return 0;
  });
  return {
    ...gather(sample, ground, (i) => sides[i]),
    shared,
    windows: ownWindows ? windows : null,
    numeratorName: numerator.join(', '),
    denominatorName: denominator.join(', '),
    outsideOwnGround,
    ownWindows,
  };
}

const lastOf = (names: readonly string[]) => names.slice(-1);

function onGround(sample: Sample, { origin }: Ground, region: Region): (i: number) => boolean {
  const slack = edgeSlack(region);
  return (i) => contains(region, sample.xy[2 * i] - origin[0], sample.xy[2 * i + 1] - origin[1], slack);
}
