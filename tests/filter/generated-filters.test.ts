import { expect, test } from 'vitest';
import { compileFilter } from '../../src/filter/compile.js';
import { no, unknown, yes } from '../../src/filter/operands.js';
import { parseFilter } from '../../src/filter/parse.js';
import { randomStream } from '../../src/math/random.js';
import { asText, FilterMaker, sent } from './made-filters.js';
import { plainRows, plainTable } from './plain-rows.js';
import { holds } from './plain-twin.js';

const plane = { axes: 'east-north', unit: 'metre' } as const;
const truthOf = (answer: boolean | null) => (answer === null ? unknown : answer ? yes : no);

test('100,000 filters made by the grammar, in both languages, say of every row what a plain reading says', () => {
  // small tables, but many of them
  const tables = Array.from({ length: 30 }, (_, k) => {
    const kind = (['point', 'line', 'area'] as const)[k % 3];
    const rows = plainRows(kind, 3, randomStream(1790, k));
    const table = plainTable(kind, rows);
    const places = table.geometry?.coordinates as Float64Array;
    return { rows, source: { table, unit: 'metre', places: () => places, unknownProperty: 'refuse' } as const };
  });
  const maker = new FilterMaker(randomStream(1790, 99));
  const tally = { yes: 0, no: 0, unknown: 0 };
  const wrong: string[] = [];
  for (let k = 0; k < 100_000; k++) {
    const filter = maker.filter([0, 1, 0, 2, 1, 3][k % 6]);
    const { rows, source } = tables[k % 30];
    const wanted = rows.map((row) => holds(filter, row));
    for (const answer of wanted) tally[answer === null ? 'unknown' : answer ? 'yes' : 'no']++;
    // one language in turn for most: both for every tenth
    const written = [
      ...(k % 2 === 0 || k % 10 === 1 ? [parseFilter(asText(filter), 'cql2-text', plane)] : []),
      ...(k % 2 === 1 || k % 10 === 0 ? [parseFilter(JSON.stringify(sent(filter)), 'cql2-json', plane)] : []),
    ];
    for (const expression of written) {
      const truths = [...compileFilter(expression, source).truths()];
      if (truths.some((truth, i) => truth !== truthOf(wanted[i]))) wrong.push(`${asText(filter)} gave ${truths}`);
    }
    if (wrong.length > 5) break;
  }
  expect(wrong).toEqual([]);
  // the test would say nothing if all filters were empty or undecided
  for (const count of Object.values(tally)) expect(count).toBeGreaterThan(30_000);
}, 120_000);
