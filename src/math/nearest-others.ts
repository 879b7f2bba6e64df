import KDBush from 'kdbush';
import { nearestDistances } from './nearest.js';

/** Which other find lies nearest to each. */
export interface NearestOthers {
  /** [n] number of the nearest other point; −1 for a lone point */
  readonly index: Int32Array;
  /** [n] metres; Infinity for a lone point */
  readonly distanceM: Float64Array;
  /** points with more than one nearest neighbour: what is said of them rests on the order of the file */
  readonly tied: number;
}

/** distances that differ by less than this share are one distance, written down with rounding */
const equalShare = 1e-9;

/**
 * Nearest other find of each find; of several equally near ones the lowest row of the file.
 *
 * Coordinates read off in whole centimetres tie often, and rounding in the computer then decides at random: distances
 * equal but for rounding are therefore taken as ties.
 *
 * @param xy      [2n] metres from a local origin; left untouched
 * @param slackM  rounding of the coordinates as received, metres; 0 where they are small
 * @returns       cost n log n, heaps of coincident finds included
 */
export function nearestOthers(xy: Float64Array, slackM = 0): NearestOthers {
  const n = xy.length / 2;
  const distanceM = nearestDistances(xy);
  const index = new Int32Array(n).fill(-1);
  if (n < 2) return { index, distanceM, tied: 0 };
  const places = distinctPlaces(xy);
  const tree = new KDBush(places.first.length, 16, Float64Array);
  for (const i of places.first) tree.add(xy[2 * i], xy[2 * i + 1]);
  tree.finish();
  let tied = 0;
  for (let i = 0; i < n; i++) {
    const own = places.placeOf[i];
    let lowest = n;
    let candidates = 0;
    for (const place of tree.within(xy[2 * i], xy[2 * i + 1], distanceM[i] * (1 + equalShare) + slackM)) {
      const isOwn = place === own;
      const candidate = isOwn && places.first[place] === i ? places.second[place] : places.first[place];
      candidates += places.size[place] - (isOwn ? 1 : 0);
      if (candidate >= 0 && candidate < lowest) lowest = candidate;
    }
    index[i] = lowest;
    if (candidates > 1) tied++;
  }
  return { index, distanceM, tied };
}

/** Points that share a place, once: of a heap only its two lowest rows can be anybody's neighbour. */
function distinctPlaces(xy: Float64Array) {
  const n = xy.length / 2;
  const order = Uint32Array.from({ length: n }, (_, i) => i).sort(
    (a, b) => xy[2 * a] - xy[2 * b] || xy[2 * a + 1] - xy[2 * b + 1] || a - b,
  );
  const placeOf = new Uint32Array(n);
  const first: number[] = [];
  const second: number[] = [];
  const size: number[] = [];
  order.forEach((i, k) => {
    const before = order[k - 1];
    if (k > 0 && xy[2 * i] === xy[2 * before] && xy[2 * i + 1] === xy[2 * before + 1]) {
      const place = first.length - 1;
      if (second[place] < 0) second[place] = i;
      size[place]++;
    } else {
      first.push(i);
      second.push(-1);
      size.push(1);
    }
    placeOf[i] = first.length - 1;
  });
  return { placeOf, first, second, size };
}
