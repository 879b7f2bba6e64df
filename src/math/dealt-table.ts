import { randomStream, shuffle } from './random.js';

/** Things counted by class that belong to units (a find, a pot, a concretion), each unit in one group. */
export interface UnitTable {
  /** [u] 0-based group of each unit */
  readonly group: Uint32Array;
  readonly groups: number;
  /** [u + 1] unit u holds items start[u] … start[u + 1] − 1 */
  readonly start: Uint32Array;
  /** [items] 0-based */
  readonly classOf: Uint32Array;
  readonly classes: number;
  /** [items] */
  readonly count: Float64Array;
}

/** A table of groups by classes held against dealings; tables row by row, [groups × classes]. */
export interface DealtTable {
  readonly counts: Float64Array;
  /** in proportion to both margins */
  readonly expected: Float64Array;
  /** (count − expected) / √(expected (1 − row share) (1 − column share)); NaN where it has no spread */
  readonly residual: Float64Array;
  readonly chi2: number;
  readonly df: number;
  /** share of dealings with as large a χ²; null without dealings */
  readonly p: number | null;
  /** two-sided p of each residual; NaN without dealings or spread */
  readonly cellP: Float64Array;
}

const tieSlack = 1e-9;

/**
 * Whether groups hold the classes in the same proportions: groups are dealt out anew over whole units, so that the
 * sherds of a jar count as the one thing that broke. The margins of the classes stay.
 *
 * @param plan.progress  told about the share done
 * @see Haberman 1973, doi:10.2307/2529686 (adjusted residuals); Agresti 2002, Categorical Data Analysis, chapter 3
 */
export function dealtTable(
  table: UnitTable,
  plan: {
    readonly count: number;
    readonly seed: number;
    readonly first?: number;
    readonly progress?: (share: number) => void;
  },
): DealtTable {
  const cells = table.groups * table.classes;
  const observed = measured(table, table.group);
  const order = new Uint32Array(table.group.length);
  const dealt = new Uint32Array(table.group.length);
  const above = new Float64Array(cells).fill(1);
  const below = new Float64Array(cells).fill(1);
  let asLarge = 1;
  const stride = Math.max(1, Math.floor(plan.count / 100));
  for (let s = 0; s < plan.count; s++) {
    if (plan.progress && s % stride === 0) plan.progress(s / plan.count);
    for (let u = 0; u < order.length; u++) order[u] = u;
    shuffle(order, randomStream(plan.seed, (plan.first ?? 0) + s));
    for (let u = 0; u < order.length; u++) dealt[u] = table.group[order[u]];
    const found = measured(table, dealt);
    if (found.chi2 >= observed.chi2 * (1 - tieSlack)) asLarge++;
    for (let c = 0; c < cells; c++) {
      const [own, chance] = [observed.residual[c], found.residual[c]];
      const slack = tieSlack * Math.max(1, Math.abs(own));
      // a table in which this cell cannot vary is as extreme as any
      if (!(chance < own - slack)) above[c]++;
      if (!(chance > own + slack)) below[c]++;
    }
  }
  const isDealt = plan.count > 0;
  const cellP = observed.residual.map((own, c) =>
    isDealt && !Number.isNaN(own) ? Math.min(1, (2 * Math.min(above[c], below[c])) / (plan.count + 1)) : Number.NaN,
  );
  return { ...observed, p: isDealt && observed.df > 0 ? asLarge / (plan.count + 1) : null, cellP };
}

function measured(table: UnitTable, group: Uint32Array): Omit<DealtTable, 'p' | 'cellP'> {
  const { groups, classes, start, classOf, count } = table;
  const counts = new Float64Array(groups * classes);
  const row = new Float64Array(groups);
  const column = new Float64Array(classes);
  let n = 0;
  for (let u = 0; u < group.length; u++) {
    for (let i = start[u]; i < start[u + 1]; i++) {
      counts[group[u] * classes + classOf[i]] += count[i];
      row[group[u]] += count[i];
      column[classOf[i]] += count[i];
      n += count[i];
    }
  }
  const expected = new Float64Array(counts.length);
  const residual = new Float64Array(counts.length).fill(Number.NaN);
  let chi2 = 0;
  for (let g = 0; g < groups; g++) {
    for (let c = 0; c < classes; c++) {
      const k = g * classes + c;
      expected[k] = n > 0 ? (row[g] * column[c]) / n : 0;
      if (!(expected[k] > 0)) continue;
      chi2 += (counts[k] - expected[k]) ** 2 / expected[k];
      const spread = expected[k] * (1 - row[g] / n) * (1 - column[c] / n);
      if (spread > 1e-12 * n) residual[k] = (counts[k] - expected[k]) / Math.sqrt(spread);
    }
  }
  const used = (margin: Float64Array) => margin.reduce((sum, v) => sum + (v > 0 ? 1 : 0), 0);
  return { counts, expected, residual, chi2, df: Math.max(0, (used(row) - 1) * (used(column) - 1)) };
}
