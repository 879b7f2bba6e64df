import { chiSquareUpperTail } from './distributions.js';
import { naturalLog } from './elementary.js';
import { type PivotedFactor, pivotedCholesky, quadraticForm } from './pivoted-cholesky.js';

/** Class of each find and who its nearest neighbour is. */
export interface LabelledNeighbours {
  /** [n] 0-based class */
  readonly label: ArrayLike<number>;
  readonly classes: number;
  /** [n] number of the nearest other find */
  readonly nearest: Int32Array;
}

/** Finds of class i (row) whose nearest neighbour is of class j (column) → [classes × classes]. */
export function neighbourTable({ label, classes, nearest }: LabelledNeighbours): Float64Array {
  const table = new Float64Array(classes * classes);
  for (let p = 0; p < nearest.length; p++) table[label[p] * classes + label[nearest[p]]]++;
  return table;
}

/** What of the pattern of nearest neighbours matters when names are dealt out anew. */
export interface NeighbourShape {
  /** finds */
  readonly n: number;
  /** R: finds that are the nearest neighbour of their own nearest neighbour */
  readonly mutual: number;
  /** Q: ordered pairs of finds with the same nearest neighbour */
  readonly sharing: number;
}

export function neighbourShape(nearest: Int32Array): NeighbourShape {
  const n = nearest.length;
  const timesChosen = new Uint32Array(n);
  let mutual = 0;
  for (let p = 0; p < n; p++) {
    timesChosen[nearest[p]]++;
    if (nearest[nearest[p]] === p) mutual++;
  }
  let sharing = 0;
  for (const k of timesChosen) sharing += k * (k - 1);
  return { n, mutual, sharing };
}

/** Chances that named finds drawn without replacement carry given classes. */
function chances(count: ArrayLike<number>, n: number) {
  const pair = (i: number, j: number) => (count[i] * (count[j] - (i === j ? 1 : 0))) / (n * (n - 1));
  const third = (i: number, j: number, k: number) => (count[k] - (k === i ? 1 : 0) - (k === j ? 1 : 0)) / (n - 2);
  const triple = (i: number, j: number, k: number) => pair(i, j) * third(i, j, k);
  const four = ([i, j]: readonly [number, number], [k, l]: readonly [number, number]) =>
    (triple(i, j, k) * (count[l] - (l === i ? 1 : 0) - (l === j ? 1 : 0) - (l === k ? 1 : 0))) / (n - 3);
  return { pair, triple, four };
}

/** Mean of each cell when names are dealt out anew → [classes × classes]. */
export function expectedNeighbours(count: ArrayLike<number>, n: number): Float64Array {
  const classes = count.length;
  const { pair } = chances(count, n);
  return Float64Array.from({ length: classes * classes }, (_, cell) =>
    n > 1 ? n * pair(Math.floor(cell / classes), cell % classes) : 0,
  );
}

/**
 * Covariance of two cells of the table when names are dealt out anew, exact: over all ordered pairs of finds, by how
 * many of the two finds and their two neighbours are the same find.
 *
 * @param count  [classes] finds of each class
 * @see Dixon 1994, doi:10.2307/1941616; Dixon 2002, doi:10.1080/11956860.2002.11682700
 */
export function neighbourCovariance(
  count: ArrayLike<number>,
  { n, mutual, sharing }: NeighbourShape,
): (one: readonly [number, number], other: readonly [number, number]) => number {
  const { pair, triple, four } = chances(count, n);
  const apart = n * (n - 3) + mutual - sharing;
  const chained = n - mutual;
  // with three finds or fewer some chances are 0 / 0, and no pair of finds asks for them
  const times = (pairs: number, chance: () => number) => (pairs === 0 ? 0 : pairs * chance());
  return ([i, j], [k, l]) => {
    let sum = times(apart, () => four([i, j], [k, l])) - n * n * pair(i, j) * pair(k, l);
    if (i === k && j === l) sum += n * pair(i, j);
    if (i === l && j === k) sum += mutual * pair(i, j);
    if (j === k) sum += times(chained, () => triple(i, j, l));
    if (l === i) sum += times(chained, () => triple(k, i, j));
    if (j === l) sum += times(sharing, () => triple(i, k, j));
    return sum;
  };
}

/** A χ² of some cells of the table. */
export interface NeighbourTest {
  readonly chi2: number;
  readonly df: number;
  readonly p: number;
}

/** Means, standard deviations and χ² of tables with given class counts and neighbours. */
export interface DixonLaw {
  readonly expected: Float64Array;
  /** [classes²] 0 where a cell cannot vary */
  readonly deviation: Float64Array;
  /** χ² of a whole table; 0 when nothing can vary */
  chi2(table: ArrayLike<number>): number;
  /** degrees of freedom: classes × (classes − 1) unless a class is so small that cells depend on each other */
  readonly df: number;
  /** χ² of one row: whom the finds of one class have beside them; null when nothing can vary */
  ofClass(row: number, table: ArrayLike<number>): NeighbourTest | null;
}

/** a variance below this is rounding: the cell cannot vary */
const noVariance = 1e-10;

/**
 * Dixon's law of the nearest-neighbour table under random labelling, for any number of classes.
 *
 * Takes each find as labelled by itself: sherds of one pot make own neighbours that it calls segregation. The χ² is a
 * law for many finds; cells with an expected count below 1 are rough.
 *
 * @param count  [classes] finds of each class, sum n
 * @returns      cost classes⁶
 * @see Dixon 2002, doi:10.1080/11956860.2002.11682700
 */
export function dixonLaw(count: ArrayLike<number>, shape: NeighbourShape): DixonLaw {
  const classes = count.length;
  const covariance = neighbourCovariance(count, shape);
  const cellAt = (cell: number): readonly [number, number] => [Math.floor(cell / classes), cell % classes];
  const expected = expectedNeighbours(count, shape.n);
  const deviation = Float64Array.from(expected, (_, cell) => {
    if (shape.n < 2) return 0;
    const variance = covariance(cellAt(cell), cellAt(cell));
    return variance > noVariance ? Math.sqrt(variance) : 0;
  });
  const factorOf = (cells: readonly number[]): PivotedFactor => {
    const size = cells.length;
    const values = new Float64Array(size * size);
    for (let a = 0; a < size; a++) {
      for (let b = 0; b <= a; b++) {
        const share = covariance(cellAt(cells[a]), cellAt(cells[b])) / (deviation[cells[a]] * deviation[cells[b]]);
        values[a * size + b] = share;
        values[b * size + a] = share;
      }
    }
    return pivotedCholesky({ values, size });
  };
  const chi2Of = (cells: readonly number[], factor: PivotedFactor, table: ArrayLike<number>) =>
    quadraticForm(factor, (row) => (table[cells[row]] - expected[cells[row]]) / deviation[cells[row]]);
  const varying = Array.from(expected.keys()).filter((cell) => deviation[cell] > 0);
  const whole = factorOf(varying);
  return {
    expected,
    deviation,
    df: whole.rank,
    chi2: (table) => chi2Of(varying, whole, table),
    ofClass(row, table) {
      const own = varying.filter((cell) => Math.floor(cell / classes) === row);
      const factor = factorOf(own);
      if (factor.rank === 0) return null;
      const chi2 = chi2Of(own, factor, table);
      return { chi2, df: factor.rank, p: chiSquareUpperTail(chi2, factor.rank) };
    },
  };
}

/**
 * Dixon's segregation of each cell: log odds of a neighbour of class j about class i over the odds among all other
 * finds. 0 as dealt at random, above 0 together, below apart.
 * @returns  [classes²] natural logarithms; NaN where a neighbour is never or always of the class
 * @see Dixon 2002, doi:10.1080/11956860.2002.11682700 (there with logarithms to base 10 in its program)
 */
export function segregation(table: ArrayLike<number>, count: ArrayLike<number>): Float64Array {
  const classes = count.length;
  let n = 0;
  for (let i = 0; i < classes; i++) n += count[i];
  return Float64Array.from({ length: classes * classes }, (_, cell) => {
    const i = Math.floor(cell / classes);
    const j = cell % classes;
    const others = count[j] - (i === j ? 1 : 0);
    const odds = table[cell] / (count[i] - table[cell]) / (others / (n - 1 - others));
    return odds > 0 && odds < Infinity ? naturalLog(odds) : Number.NaN;
  });
}

/** Pielou's test beside the table. */
export interface PielouTest extends NeighbourTest {
  /** 1 less observed over expected mixed neighbours: 1 wholly apart, 0 as expected, below 0 mixed more than expected */
  readonly segregation: number | null;
}

/**
 * Pielou's χ²: the table taken as an ordinary contingency table.
 *
 * Neighbours are mutual more often than independent counts allow: it calls far more than one random pattern in twenty
 * patterned at its 5 % level. Kept because older reports quote it.
 *
 * @returns  null where fewer than two classes have finds or are anybody's neighbour
 * @see Pielou 1961, doi:10.2307/2257308
 */
export function pielouTest(table: ArrayLike<number>, classes: number): PielouTest | null {
  const rows = new Float64Array(classes);
  const columns = new Float64Array(classes);
  let n = 0;
  for (let cell = 0; cell < classes * classes; cell++) {
    rows[Math.floor(cell / classes)] += table[cell];
    columns[cell % classes] += table[cell];
    n += table[cell];
  }
  const usedRows = rows.filter((v) => v > 0).length;
  const usedColumns = columns.filter((v) => v > 0).length;
  const df = (usedRows - 1) * (usedColumns - 1);
  if (df < 1) return null;
  let chi2 = 0;
  let mixed = 0;
  let expectedMixed = 0;
  for (let cell = 0; cell < classes * classes; cell++) {
    const i = Math.floor(cell / classes);
    const j = cell % classes;
    const expected = (rows[i] * columns[j]) / n;
    if (expected > 0) chi2 += (table[cell] - expected) ** 2 / expected;
    if (i === j) continue;
    mixed += table[cell];
    expectedMixed += expected;
  }
  return {
    chi2,
    df,
    p: chiSquareUpperTail(chi2, df),
    segregation: expectedMixed > 0 ? 1 - mixed / expectedMixed : null,
  };
}
