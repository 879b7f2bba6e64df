import type { Sample } from '../../domain/sample.js';
import { groupNumbers, nameDealer } from '../../math/name-dealing.js';
import type { RandomStream } from '../../math/random.js';
import type { Pattern } from './estimator.js';
import type { Ground } from './ground.js';

/** How class names are dealt anew over places that stay. */
export interface Labelling {
  draw(random: RandomStream): Pattern;
  /** groups and single finds dealt as wholes */
  readonly units: number;
  /** finds that move only with their concretion or pot vessel */
  readonly grouped: number;
  /** finds in a group of which no other has the same size */
  readonly fixed: number;
}

/**
 * Random labelling of two types: every place stays, class names change places. Finds of one concretion or pot vessel are
 * one event and keep together: the names of a group go, as a whole, to a group of the same size, so that the numbers of
 * both types stay as they are.
 */
export function labellingOf(ground: Ground, sample: Sample): Labelling {
  const members = [...ground.fromMembers, ...ground.toMembers];
  const places = new Float64Array(ground.from.length + ground.to.length);
  places.set(ground.from);
  places.set(ground.to, ground.from.length);
  const isFrom = Uint8Array.from(members, (_, i) => (i < ground.fromMembers.length ? 1 : 0));
  const { concretion, potVessel } = sample.detail;
  const group = members.map((find) =>
    concretion[find] !== null
      ? `concretion ${concretion[find]}`
      : potVessel[find] !== null
        ? `pot vessel ${potVessel[find]}`
        : null,
  );
  const dealer = nameDealer({ label: isFrom, group: groupNumbers(group), stratum: new Int32Array(members.length) });
  const names = new Uint8Array(members.length);
  const from = new Float64Array(ground.from.length);
  const to = new Float64Array(ground.to.length);
  return {
    units: dealer.units,
    grouped: dealer.grouped,
    fixed: dealer.fixed.reduce((sum, is) => sum + is, 0),
    draw(random) {
      dealer.deal(names, random);
      let nextFrom = 0;
      let nextTo = 0;
      for (let place = 0; place < names.length; place++) {
        const [x, y] = [places[2 * place], places[2 * place + 1]];
        if (names[place] === 1) {
          from[nextFrom++] = x;
          from[nextFrom++] = y;
        } else {
          to[nextTo++] = x;
          to[nextTo++] = y;
        }
      }
      return { from, to };
    },
  };
}

/**
 * Random labelling of one class: as many places are drawn out of all finds of the seasons, whatever drew every find
 * there being left as it is.
 * @param crowd  [2k] all finds, those of the class among them, metres; k above n
 * @param n      finds of the class
 */
export function drawFromCrowd(crowd: Float64Array, n: number): (random: RandomStream) => Pattern {
  const k = crowd.length / 2;
  const pack = Uint32Array.from({ length: k }, (_, i) => i);
  const swaps = new Uint32Array(n);
  const xy = new Float64Array(2 * n);
  return (random) => {
    for (let i = 0; i < n; i++) {
      const j = i + random.below(k - i);
      swaps[i] = j;
      const taken = pack[j];
      pack[j] = pack[i];
      pack[i] = taken;
      xy[2 * i] = crowd[2 * taken];
      xy[2 * i + 1] = crowd[2 * taken + 1];
    }
    // back in order, so that every draw starts from the same pack
    for (let i = n - 1; i >= 0; i--) {
      const taken = pack[i];
      pack[i] = pack[swaps[i]];
      pack[swaps[i]] = taken;
    }
    return { from: xy, to: xy };
  };
}
