import { averageLinkage } from '../../math/average-linkage.js';
import { chiSquareUpperTail, normalTwoSided } from '../../math/distributions.js';
import { benjaminiHochberg, holm } from '../../math/false-discovery.js';
import { rankProbability } from '../../math/monte-carlo.js';
import { pielouTest, segregation } from '../../math/neighbour-table.js';
import { scaledDeviation } from '../../math/scaled-deviation.js';
import { type Association, pairNumber } from './dealings.js';
import type { Parameters, Summary } from './schemas.js';

const known = (value: number): number | null => (Number.isFinite(value) ? value : null);

function rowsOf<T>(values: ArrayLike<number>, classes: number, as: (value: number) => T): T[][] {
  return Array.from({ length: classes }, (_, i) =>
    Array.from({ length: classes }, (_, j) => as(values[i * classes + j])),
  );
}

/** The table of nearest neighbours with Dixon's law, cell by cell and as a whole. */
export function dixonPart(found: Association, classes: readonly string[], leastFinds: number): Summary['dixon'] {
  const { layout, law, observed, dealt, count } = found;
  const size = classes.length;
  const table = observed.subarray(0, size * size);
  const hasLaw = law.df > 0;
  const chi2 = law.chi2(table);
  const z = table.map((value, cell) =>
    law.deviation[cell] > 0 ? (value - law.expected[cell]) / law.deviation[cell] : Number.NaN,
  );
  const byLaw = z.map((value) => normalTwoSided(value));
  const isTested = (cell: number) =>
    count[Math.floor(cell / size)] >= leastFinds && count[cell % size] >= leastFinds && !Number.isNaN(z[cell]);
  const byDealing = table.map((value, cell) =>
    isTested(cell) ? (scaledDeviation([value], [dealt[layout.cell(cell)]])?.p ?? Number.NaN) : Number.NaN,
  );
  const hasDealings = dealt[layout.chi2].length > 0;
  const tested = hasDealings ? byDealing : byLaw.map((p, cell) => (isTested(cell) ? p : Number.NaN));
  const odds = segregation(table, count);
  return {
    classes: [...classes],
    counts: [...count],
    table: rowsOf(table, size, Number),
    expected: rowsOf(law.expected, size, Number),
    z: rowsOf(z, size, known),
    segregation: rowsOf(odds, size, known),
    chi2: hasLaw ? chi2 : null,
    df: hasLaw ? law.df : null,
    p: hasLaw ? chiSquareUpperTail(chi2, law.df) : null,
    p_simulated: hasLaw && hasDealings ? rankProbability(observed[layout.chi2], dealt[layout.chi2]).upper : null,
    p_cell: rowsOf(byLaw, size, known),
    p_cell_simulated: rowsOf(byDealing, size, known),
    p_cell_holm: rowsOf(holm(tested), size, known),
    p_cell_bh: rowsOf(benjaminiHochberg(tested), size, known),
    by_class: classes.map((name, row) => {
      const own = law.ofClass(row, table);
      return { artefact_class: name, chi2: own?.chi2 ?? null, df: own?.df ?? null, p: own?.p ?? null };
    }),
    mutual: found.shape.mutual,
    sharing: found.shape.sharing,
  };
}

/** Pielou's test, with how often it cries wolf over these very neighbours. */
export function pielouPart(found: Association, sizeAt5Percent: number | null): Summary['pielou'] {
  const { layout, observed } = found;
  const test = pielouTest(observed.subarray(0, layout.classes ** 2), layout.classes);
  return test && { ...test, size_at_5_percent: sizeAt5Percent };
}

/** Cluster tree of the classes that lie in a square. */
export function treePart(found: Association, classes: readonly string[], by: Parameters['tree_by']): Summary['tree'] {
  const { layout, observed } = found;
  const most = by === 'jaccard' ? 1 : 200;
  const likeness = (i: number, j: number) =>
    observed[(by === 'jaccard' ? layout.jaccard : layout.robinsonBrainerd)(pairNumber(i, j))];
  const used = classes.flatMap((_, i) => (found.sharedSquares[i * classes.length + i] > 0 ? [i] : []));
  const n = used.length;
  const distance = Float64Array.from({ length: n * n }, (_, at) => {
    const i = used[Math.floor(at / n)];
    const j = used[at % n];
    return i === j ? 0 : most - likeness(i, j);
  });
  const tree = averageLinkage(distance, n);
  return {
    by,
    classes: used.map((i) => classes[i]),
    order: tree.order.map((k) => classes[used[k]]),
    joinings: tree.joinings.map(({ left, right, height, members }) => ({
      left,
      right,
      likeness: most - height,
      members,
    })),
    cophenetic_correlation: tree.copheneticCorrelation,
  };
}

/** How many tests of each kind were made. */
export function testsPart(pairs: Summary['pairs'], dixon: Summary['dixon']): Summary['tests'] {
  const made = (values: readonly (number | null)[]) => values.filter((p) => p !== null).length;
  const tests = {
    pairs: made(pairs.map((row) => row.p)),
    jaccard: made(pairs.map((row) => row.jaccard.p)),
    robinson_brainerd: made(pairs.map((row) => row.robinson_brainerd.p)),
    cells: made(dixon.p_cell_holm.flat()),
    overall: made([dixon.p]),
  };
  return { ...tests, total: Object.values(tests).reduce((sum, k) => sum + k, 0) };
}
