import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { RunAnswer } from '../../src/analyses/execute.js';
import { compileFilter } from '../../src/filter/compile.js';
import { filterOfFinds } from '../../src/operations/find-filter.js';
import { readFilterText } from '../../src/operations/read-filter.js';
import { type DemoStore, demoFolder, openDemo } from '../support/demo.js';

let demo: DemoStore;
beforeAll(async () => {
  demo = await openDemo();
}, 60_000);
afterAll(() => demo.close());

const [heading, ...lines] = readFileSync(join(demoFolder, 'finds.csv'), 'utf8').trimEnd().split(/\r?\n/);
const column = (name: string) => heading.split(',').indexOf(name);
/** cells of the register; enough for columns before any quoted text */
const register = lines.map((line) => line.split(','));
const selected = (answer: RunAnswer) => answer.provenance['selected'];
const run = (inputs: Record<string, unknown>) =>
  demo.run('nearest-neighbour', { simulations: 0, square_only: 'exclude', ...inputs });

test('the finds that fit are those the register has', async () => {
  const [season, kind] = [column('season'), column('position_kind')];
  const wanted = register.map((cells) => (cells[season] === 'S2' && cells[kind] === 'square' ? 1 : 0));
  expect(wanted.reduce((sum: number, mark) => sum + mark, 0)).toBeGreaterThan(10);
  const { survey } = await demo.shelf.get('tarn-ledge', 1);
  const filter = { filter: "season = 'S2' AND position_kind IN ('square')", identified_as_of: null };
  expect([...(filterOfFinds(survey, filter)?.marks() ?? [])]).toEqual(wanted);
});

test('a class asked for by filter gives the numbers of the class asked for by name', async () => {
  const byName = await run({ artefact_class: 'window glass' });
  const byText = await run({ filter: "artefact_class = 'window glass'" });
  const byJson = await run({ filter: { op: '=', args: [{ property: 'artefact_class' }, 'window glass'] } });
  expect(selected(byName)).toBeGreaterThan(20);
  for (const answer of [byText, byJson]) {
    expect(selected(answer)).toBe(selected(byName));
    expect(answer.provenance['n']).toBe(byName.provenance['n']);
    expect((answer.summary as { ratio?: unknown })['ratio']).toEqual((byName.summary as { ratio?: unknown })['ratio']);
  }
});

test('provenance prints the filter, and a sentence says that the ground is not filtered', async () => {
  const filter = "artefact_class = 'window glass' AND season = 'S2'";
  const answer = await run({ filter });
  const { parameters } = answer.provenance as { parameters: { filter: string } };
  expect(parameters.filter).toBe(filter);
  expect(answer.cautions).toContain(
    `Only finds that fit the filter ${filter} are used; the excavated area stays that of all seasons.`,
  );
  const without = await run({ artefact_class: 'window glass' });
  expect(without.provenance['window_area_m2']).toBe(answer.provenance['window_area_m2']);
});

test('a filter by place chooses what lies there', async () => {
  const { survey } = await demo.shelf.get('tarn-ledge', 1);
  const corner = (x: number, y: number) => survey.frame.toLonLat(x, y).join(' ');
  const ring = [corner(4, 2), corner(12, 2), corner(12, 9), corner(4, 9), corner(4, 2)].join(', ');
  const filter = { filter: `S_WITHIN(geometry, POLYGON((${ring})))`, identified_as_of: null };
  const marks = filterOfFinds(survey, filter)?.marks() as Uint8Array;
  const { xy, kind } = survey.placed;
  const naive = Array.from(marks, (_, i) => {
    const [x, y] = [xy[2 * i], xy[2 * i + 1]];
    return kind[i] === 'point' && x > 4.0001 && x < 11.9999 && y > 2.0001 && y < 8.9999 ? 1 : 0;
  });
  expect([...marks]).toEqual(naive);
  expect(naive.reduce((sum: number, mark) => sum + mark, 0)).toBeGreaterThan(100);
});

test('a filter that cannot be used is refused by name and place', async () => {
  for (const [filter, message] of [
    ['colour = 1', /character 1: finds has no property "colour"/],
    ['season = ', /character 10: the filter ends/],
    [
      { op: '=', args: [{ property: 'season' }, 3] },
      /\/args\/1: "season" is a text and cannot be compared with a number/,
    ],
    [{ op: 'near', args: [] }, /no operator "near"/],
  ] as const) {
    await expect(run({ filter })).rejects.toThrow(message);
  }
});

test('the filters printed in the documentation can be asked', async () => {
  const text = readFileSync(join(demoFolder, '../docs/filters.md'), 'utf8');
  const examples = (/```\n([\s\S]*?)```/.exec(text)?.[1] ?? '').trim().split('\n');
  expect(examples.length).toBeGreaterThan(4);
  const { survey } = await demo.shelf.get('tarn-ledge', 1);
  for (const example of examples) {
    // dates belong to level readings
    const table = survey.collection(example.includes('(date,') ? 'levels' : 'finds') ?? expect.fail('no table');
    const places = () => new Float64Array(2 * table.length);
    const { expression } = readFilterText(example);
    const compiled = compileFilter(expression, { table, unit: 'degree', places, unknownProperty: 'refuse' });
    expect(compiled.marks().length, example).toBe(table.length);
  }
});

test('an analysis of levels says that a filter of finds has no effect on it', async () => {
  const answer = await demo.run('deposit-volume', { filter: "season = 'S3'" });
  expect(answer.provenance['without_effect']).toContain('filter');
}, 60_000);
