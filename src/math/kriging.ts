import { Problem } from '../problems.js';
import { choleskyInPlace, inverseFromLower, invertLower, type ProfileMatrix, solveInPlace } from './cholesky.js';
import type { SurfaceValues } from './lattice-surface.js';
import { type TriangleRoom, triangleRoom } from './triangle-kernel.js';
import type { ValuedPlaces } from './triangle-surface.js';
import { gaussianNuggetShare, likeness, type VariogramModel } from './variogram.js';

/** What the other readings would have said at each reading, all [n]. */
interface LeftOut {
  /** reading less prediction */
  readonly error: Float64Array;
  readonly variance: Float64Array;
}

/** Levels with a variogram, solved once; asked for as many places as wanted. */
export interface Kriging {
  /** mean the method would return far from every reading */
  readonly mean: number;
  /** prediction and its standard deviation at places [2m], metres; exact and 0 at a reading */
  predict(xy: Float64Array, progress?: (share: number) => void): SurfaceValues;
  leaveOneOut(): LeftOut;
}

/** readings in one solved system: the matrix of 2,500 takes 50 MB and some seconds */
const mostKrigingReadings = 2500;
const columnsAtOnce = 64;
/** a place nearer to a reading than this share of the site is the reading */
const sameShare = 1e-9;

/**
 * Ordinary kriging with all readings (no search neighbourhood): the linear mean with weights that sum to one and have
 * the least expected squared error under the variogram.
 *
 * Its variance depends on where was levelled, not on the levels, and is only as good as the variogram. A slope that
 * runs through all readings breaks the assumption of one mean: compare the leave-one-out errors.
 *
 * @param places  different places; sigma is not used (the nugget stands for it)
 * @throws Problem too-much-work beyond 2,500 readings; bad-parameter for a Gaussian model with hardly any nugget;
 *   cannot-answer when the matrix is singular
 * @see Matheron 1963, doi:10.2113/gsecongeo.58.8.1246; Cressie 1993, doi:10.1002/9781119115151; leave-one-out from
 *   one inverse: Dubrule 1983, doi:10.1007/BF01033232
 */
export function ordinaryKriging(places: ValuedPlaces, model: VariogramModel): Kriging {
  refuse(places, model);
  const system = solve(places, model);
  return {
    mean: system.mean,
    predict: (xy, progress) => predict(system, xy, progress),
    leaveOneOut: () => leaveOneOut(system),
  };
}

function refuse({ x }: ValuedPlaces, { kind, nugget, sill, range }: VariogramModel): void {
  const n = x.length;
  if (n > mostKrigingReadings) {
    throw new Problem(
      'too-much-work',
      `kriging solves all readings together and ${n} are too many (at most ${mostKrigingReadings}): choose a season, or use the method tin or inverse-distance`,
      { n },
    );
  }
  if (kind === 'gaussian' && !(nugget >= gaussianNuggetShare * sill)) {
    throw new Problem(
      'bad-parameter',
      `a Gaussian variogram with nugget ${nugget} and sill ${sill} cannot be solved: near levels would have to agree to more digits than a number holds; give a nugget of at least ${gaussianNuggetShare * sill} (the variance of a single level)`,
      { nugget, sill },
    );
  }
  if (!(range > 0) || !(nugget >= 0) || !(sill >= 0) || !(nugget + sill > 0)) {
    throw new Problem(
      'bad-parameter',
      `a variogram needs range > 0, nugget and sill not below 0 and not both 0; got nugget ${nugget}, sill ${sill}, range ${range}`,
      { nugget, sill, range },
    );
  }
}

interface System {
  readonly n: number;
  readonly model: VariogramModel;
  /** readings sorted along the longer side, relative to their own corner */
  readonly along: Float64Array;
  readonly across: Float64Array;
  readonly z: Float64Array;
  readonly order: Uint32Array;
  readonly originX: number;
  readonly originY: number;
  readonly isTurned: boolean;
  readonly sameM2: number;
  /** L⁻¹ of the covariance matrix, lower triangle */
  readonly inverseFactor: Float64Array;
  /** K⁻¹·1, its sum, K⁻¹·(z − mean) */
  readonly ones: Float64Array;
  readonly onesSum: number;
  readonly weights: Float64Array;
  readonly mean: number;
}

function solve({ x, y, z }: ValuedPlaces, model: VariogramModel): System {
  const n = x.length;
  const low = (values: Float64Array) => values.reduce((a, v) => Math.min(a, v), Infinity);
  const high = (values: Float64Array) => values.reduce((a, v) => Math.max(a, v), -Infinity);
  const originX = low(x);
  const originY = low(y);
  const width = high(x) - originX;
  const height = high(y) - originY;
  // sorted along the longer side, rows of the matrix begin where the model's range begins: most of it is never touched
  const isTurned = height > width;
  const order = Uint32Array.from({ length: n }, (_, i) => i).sort((a, b) =>
    isTurned ? y[a] - y[b] || x[a] - x[b] : x[a] - x[b] || y[a] - y[b],
  );
  const alongX = Float64Array.from(order, (i) => x[i] - originX);
  const alongY = Float64Array.from(order, (i) => y[i] - originY);
  const [along, across] = isTurned ? [alongY, alongX] : [alongX, alongY];
  const levels = Float64Array.from(order, (i) => z[i]);
  const matrix = covarianceMatrix(along, across, model);
  choleskyInPlace(matrix);
  const ones = solveInPlace(matrix, new Float64Array(n).fill(1));
  const onesSum = sum(ones);
  // levels relative to one of them: far datums then cost no digits
  const base = levels[0];
  const raw = solveInPlace(
    matrix,
    levels.map((v) => v - base),
  );
  const offset = sum(raw) / onesSum;
  return {
    n,
    model,
    along,
    across,
    z: levels,
    order,
    originX,
    originY,
    isTurned,
    sameM2: (sameShare * Math.max(width, height)) ** 2,
    inverseFactor: invertLower(matrix),
    ones,
    onesSum,
    weights: raw.map((v, i) => v - offset * ones[i]),
    mean: base + offset,
  };
}

function sum(values: Float64Array): number {
  let total = 0;
  for (const v of values) total += v;
  return total;
}

function covarianceMatrix(along: Float64Array, across: Float64Array, model: VariogramModel): ProfileMatrix {
  const { kind, nugget, sill, range } = model;
  const n = along.length;
  const values = new Float64Array(n * n);
  const first = new Int32Array(n);
  for (let i = 0; i < n; i++) {
    first[i] = i;
    values[i * n + i] = nugget + sill;
    for (let j = i - 1; j >= 0; j--) {
      const far = along[i] - along[j];
      if (kind === 'spherical' && far >= range) break;
      const c = sill * likeness(kind, Math.hypot(far, across[i] - across[j]), range);
      if (c === 0) continue;
      values[i * n + j] = c;
      first[i] = j;
    }
  }
  return { n, values, first };
}

function leaveOneOut({ n, order, inverseFactor, ones, onesSum, weights }: System): LeftOut {
  const diagonal = new Float64Array(n);
  for (let k = 0; k < n; k++) {
    for (let j = 0; j <= k; j++) diagonal[j] += inverseFactor[k * n + j] ** 2;
  }
  const error = new Float64Array(n);
  const variance = new Float64Array(n);
  for (let j = 0; j < n; j++) {
    const d = diagonal[j] - (ones[j] * ones[j]) / onesSum;
    // of one reading alone no other says anything, and only rounding is left
    const isKnown = d > 1e-12 * diagonal[j];
    error[order[j]] = isKnown ? weights[j] / d : Number.NaN;
    variance[order[j]] = isKnown ? 1 / d : Number.NaN;
  }
  return { error, variance };
}

/**
 * What the variance of a block of places is computed from: readings that bear on it and a lower triangle T.
 * With a finite range, T comes from K⁻¹ of those readings alone and c'K⁻¹c = Σ c·Tc; else T = L⁻¹ and it is Σ (Tc)²,
 * which keeps its digits where K is nearly singular.
 */
function predict(system: System, xy: Float64Array, progress: (share: number) => void = () => {}): SurfaceValues {
  const { n, model, originX, originY, isTurned, inverseFactor } = system;
  const m = xy.length / 2;
  const value = new Float64Array(m);
  const sigma = new Float64Array(m);
  if (m === 0) return { value, sigma };
  const first = Float64Array.from({ length: m }, (_, i) => (isTurned ? xy[2 * i + 1] - originY : xy[2 * i] - originX));
  const second = Float64Array.from({ length: m }, (_, i) => (isTurned ? xy[2 * i] - originX : xy[2 * i + 1] - originY));
  const isLocal = model.kind === 'spherical' && m > columnsAtOnce / 4;
  const inverse = isLocal ? inverseFromLower(inverseFactor, n) : null;
  const room = triangleRoom(n, columnsAtOnce);
  if (inverse === null) {
    for (let i = 0; i < n; i++) room.triangle.set(inverseFactor.subarray(i * n, i * n + i + 1), i * room.stride);
  }
  const near = Uint32Array.from({ length: n }, (_, i) => i);
  const order = inBlocks(first, second);
  for (let from = 0; from < m; from += columnsAtOnce) {
    const block: Block = { places: order.subarray(from, Math.min(m, from + columnsAtOnce)), first, second };
    const count = inverse === null ? n : gather(system, block, { inverse, room, near });
    readBlock(system, block, { room, near: near.subarray(0, count), isQuadratic: inverse !== null, value, sigma });
    progress((from + block.places.length) / m);
  }
  return { value, sigma };
}

interface Block {
  readonly places: Uint32Array;
  readonly first: Float64Array;
  readonly second: Float64Array;
}

/** Order of places by square blocks of about as many as are solved at once, so that they share their readings. */
function inBlocks(first: Float64Array, second: Float64Array): Uint32Array {
  const m = first.length;
  const extent = (values: Float64Array) => {
    const low = values.reduce((a, v) => Math.min(a, v), Infinity);
    return { low, size: values.reduce((a, v) => Math.max(a, v), -Infinity) - low };
  };
  const a = extent(first);
  const b = extent(second);
  const sideM = Math.sqrt((Math.max(a.size, 1e-9) * Math.max(b.size, 1e-9) * columnsAtOnce) / m);
  const key = Float64Array.from(
    first,
    (v, i) => Math.floor((v - a.low) / sideM) * 1e6 + Math.floor((second[i] - b.low) / sideM),
  );
  return Uint32Array.from(key, (_, i) => i).sort((i, j) => key[i] - key[j] || i - j);
}

/** Picks the readings within the range of a block and lays out their part of K⁻¹; answers how many there are. */
function gather(
  { n, model, along, across }: System,
  { places, first, second }: Block,
  { inverse, room, near }: { inverse: Float64Array; room: TriangleRoom; near: Uint32Array },
): number {
  let west = Infinity;
  let south = Infinity;
  let east = -Infinity;
  let north = -Infinity;
  for (const p of places) {
    west = Math.min(west, first[p]);
    east = Math.max(east, first[p]);
    south = Math.min(south, second[p]);
    north = Math.max(north, second[p]);
  }
  let count = 0;
  for (let i = 0; i < n; i++) {
    const dx = Math.max(west - along[i], along[i] - east, 0);
    const dy = Math.max(south - across[i], across[i] - north, 0);
    if (dx * dx + dy * dy < model.range * model.range) near[count++] = i;
  }
  const { triangle, stride } = room;
  const end = Math.min(stride, 4 * Math.ceil(count / 4));
  for (let a = 0; a < end; a++) {
    const row = a * stride;
    if (a >= count) {
      triangle.fill(0, row, row + end);
      continue;
    }
    const own = near[a] * n;
    for (let b = 0; b < a; b++) triangle[row + b] = 2 * inverse[own + near[b]];
    triangle[row + a] = inverse[own + near[a]];
    triangle.fill(0, row + a + 1, row + end);
  }
  return count;
}

interface BlockWork {
  readonly room: TriangleRoom;
  /** numbers of the readings that bear on the block */
  readonly near: Uint32Array;
  /** c'K⁻¹c = Σ c·Tc, else Σ (Tc)² */
  readonly isQuadratic: boolean;
  readonly value: Float64Array;
  readonly sigma: Float64Array;
}

function readBlock(system: System, { places, first, second }: Block, work: BlockWork): void {
  const { model, along, across, z, ones, onesSum, weights, mean, sameM2 } = system;
  const { room, near, isQuadratic, value, sigma } = work;
  const { kind, nugget, sill, range } = model;
  const { right, product, stride } = room;
  const rows = near.length;
  const padded = Math.min(stride, 4 * Math.ceil(rows / 4));
  const shareOfOnes = new Float64Array(places.length);
  const atReading = new Int32Array(places.length).fill(-1);
  places.forEach((p, t) => {
    let predicted = 0;
    let share = 0;
    const start = (t >> 2) * stride * 4 + (t & 3);
    for (let a = 0; a < rows; a++) {
      const i = near[a];
      const dx = along[i] - first[p];
      const dy = across[i] - second[p];
      const squared = dx * dx + dy * dy;
      if (squared <= sameM2) atReading[t] = i;
      const c = sill * likeness(kind, Math.sqrt(squared), range);
      right[start + 4 * a] = c;
      predicted += weights[i] * c;
      share += ones[i] * c;
    }
    for (let a = rows; a < padded; a++) right[start + 4 * a] = 0;
    value[p] = mean + predicted;
    shareOfOnes[t] = share;
  });
  if (rows > 0) room.multiply(rows, places.length);
  places.forEach((p, t) => {
    const start = (t >> 2) * stride * 4 + (t & 3);
    let known = 0;
    for (let k = start; k < start + 4 * rows; k += 4) known += product[k] * (isQuadratic ? right[k] : product[k]);
    if (atReading[t] >= 0) {
      value[p] = z[atReading[t]];
      sigma[p] = 0;
    } else {
      sigma[p] = Math.sqrt(Math.max(0, nugget + sill - known + (1 - shareOfOnes[t]) ** 2 / onesSum));
    }
  });
}
