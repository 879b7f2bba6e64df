import { expect, test } from 'vitest';
import classTable from '../../src/analyses/class-table/index.js';
import type { Analysis } from '../../src/analyses/contract.js';
import { performAnalysis } from '../../src/operations/perform-analysis.js';
import { plainSample } from '../../src/operations/plain-sample.js';
import type { SurveyShelf } from '../../src/operations/survey-shelf.js';
import { windowOf } from '../support/sample-of.js';
import { pointFind } from '../support/small-samples.js';
import { box, smallSurvey } from '../support/small-site.js';

const areas = [{ season: 'S1', progress: 'to_deposit_bottom', ring: box(0, 0, 4, 2) }];
const find = (number: string, artefact_class: string) => pointFind(number, 0.5, 0.5, { artefact_class });
const versions = [
  smallSurvey({ areas, finds: [find('1', 'jar'), find('2', 'jar'), find('3', 'nail'), find('4', 'bowl')] }),
  smallSurvey({
    areas,
    // 3 was taken out of the register, 4 was written anew as a jar, 5 and 6 were added
    finds: [find('1', 'jar'), find('2', 'jar'), find('4', 'jar'), find('5', 'nail'), find('6', 'jar')],
    identifications: [
      { find: '2', artefact_class: 'bowl', date: '2024-05-01' },
      { find: '5', artefact_class: 'axe head', date: '2025-05-01' },
    ],
  }),
];
const shelf = {
  get: (_: string, version: number | null) =>
    Promise.resolve({ survey: versions[(version ?? versions.length) - 1], version: {} }),
} as unknown as SurveyShelf;

const run = (inputs: Record<string, unknown>) =>
  performAnalysis(
    { shelf, catalogue: [classTable as unknown as Analysis] },
    { site: 'small', version: 2, process: 'class-table', inputs },
    () => {},
  );

interface ClassChange {
  artefact_class: string | null;
  before: number;
  arrived: number;
  gone: number;
  became: number;
  ceased: number;
  after: number;
}
const changesOf = async (inputs: Record<string, unknown>) => {
  const answer = await run(inputs);
  return { ...answer, changes: answer.summary['changes'] as { by_class: ClassChange[] } | null };
};

test('from one data version to another, class by class', async () => {
  const { changes, cautions } = await changesOf({ compare_version: 1 });
  expect(changes?.by_class).toEqual([
    { artefact_class: 'axe head', before: 0, arrived: 1, gone: 0, became: 0, ceased: 0, after: 1 },
    { artefact_class: 'bowl', before: 1, arrived: 0, gone: 0, became: 1, ceased: 1, after: 1 },
    { artefact_class: 'jar', before: 2, arrived: 1, gone: 0, became: 1, ceased: 1, after: 3 },
    { artefact_class: 'nail', before: 1, arrived: 0, gone: 1, became: 0, ceased: 0, after: 0 },
  ]);
  for (const row of changes?.by_class ?? []) {
    expect(row.after, row.artefact_class ?? '').toBe(row.before + row.arrived - row.gone + row.became - row.ceased);
  }
  expect(cautions.join(' ')).toMatch(
    /From data version 1 to data version 1 finds new 2, gone 1, now of another class 2/,
  );
});

test('from one identification date to another within a version', async () => {
  const { changes } = await changesOf({ compare_identified_as_of: '2024-12-31' });
  expect(changes?.by_class.filter((row) => row.became + row.ceased > 0)).toEqual([
    { artefact_class: 'axe head', before: 0, arrived: 0, gone: 0, became: 1, ceased: 0, after: 1 },
    { artefact_class: 'nail', before: 1, arrived: 0, gone: 0, became: 0, ceased: 1, after: 0 },
  ]);
  const backwards = await changesOf({ compare_identified_as_of: '2025-12-31', identified_as_of: '2024-12-31' });
  expect(backwards.changes?.by_class.find((row) => row.artefact_class === 'nail')).toMatchObject({
    became: 1,
    after: 1,
  });
});

test('the finds stand in a table of their own; a class chosen brings those that left it too', async () => {
  const { table } = await run({ compare_version: 1, list: 'changes', artefact_class: 'bowl' });
  expect(table.columns.map(({ name }) => name)).toEqual(['find', 'change', 'class_before', 'class_after']);
  expect([...table.rows].sort()).toEqual([
    ['2', 'another class', 'jar', 'bowl'],
    ['4', 'another class', 'bowl', 'jar'],
  ]);
});

test('nothing asked for is nothing compared; plain files refuse with a sentence', async () => {
  expect((await changesOf({})).changes).toBeNull();
  expect((await run({ list: 'changes' })).table.rows).toEqual([]);
  const plain = plainSample({
    points: null,
    window: windowOf([
      [
        [
          [0, 0],
          [1, 0],
          [1, 1],
        ],
      ],
    ]),
    hull: [],
    chosenClasses: [],
    chosenSeasons: [],
  });
  const control = { seed: 1, simulations: 0, draws: 1, progress: () => {} };
  expect(() => classTable.run(plain, classTable.parameters.parse({ compare_version: 1 }), control)).toThrow(
    /plain files have no earlier version/,
  );
});
