import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { catalogue } from '../../src/analyses/catalogue.js';
import { readSurface } from '../../src/entry/surfaces.js';
import { adjustmentFileName, withAdjustment } from '../../src/import/accepted-adjustment.js';
import { checkFolder, complaintSentence, importFolder, type SiteFolder } from '../../src/import/import-folder.js';
import { diskFolder } from '../../src/import/site-folder.js';
import { performAnalysis } from '../../src/operations/perform-analysis.js';
import { importSiteFolder } from '../../src/operations/site-folder.js';
import { SurveyShelf } from '../../src/operations/survey-shelf.js';
import type { Store } from '../../src/storage/store.js';
import { demoFolder } from '../support/demo.js';
import { near } from '../support/near.js';
import { folderWith } from '../support/site-folders.js';
import { rowsOf, temporaryStore } from '../support/temporary-store.js';

const encoder = new TextEncoder();

const control = `name,class,x,y,z,sigma,season
A,primary,0,0,0,0.01,S1
B,primary,10,0,0,0.01,S1
C,primary,0,10,0,0.01,S1
P,detail,5.2,4.8,0,0.5,S1
`;
/** P at 6, 4 by exact tapes, and Q at 3, 3, which control-points.csv does not list */
const tapes = [
  ['A', 'P', Math.hypot(6, 4)],
  ['B', 'P', Math.hypot(4, 4)],
  ['C', 'P', Math.hypot(6, 6)],
  ['A', 'Q', Math.hypot(3, 3)],
  ['B', 'Q', Math.hypot(7, 3)],
  ['C', 'Q', Math.hypot(3, 7)],
];
const measurements = `from,to,kind,value,sigma\n${tapes.map(([a, b, d]) => `${a},${b},distance,${d},0.02\n`).join('')}`;
const survey = { 'control-points.csv': control, 'measurements.csv': measurements };

const keep = { setAside: false };

/** What `run survey-adjustment --site … --json` prints. */
async function proposalOf(store: Store, site: string, version: number): Promise<Uint8Array> {
  const shelf = new SurveyShelf(store, readSurface);
  const task = { site, version, process: 'survey-adjustment', inputs: { dimensions: '2' } };
  const { summary, table, methods, cautions, provenance } = await performAnalysis({ shelf, catalogue }, task, () => {});
  return encoder.encode(`${JSON.stringify({ summary, table, methods, cautions, provenance })}\n`);
}

async function siteWithProposal() {
  const { store } = temporaryStore();
  const { version } = await importFolder(store, folderWith(survey), keep);
  expect(version).toBe(1);
  return { store, proposal: await proposalOf(store, 'new-site', 1) };
}

describe('an accepted adjustment', () => {
  test('is a new version: positions moved, what was received beside them, points only measured added', async () => {
    const { store, proposal } = await siteWithProposal();
    const report = await importFolder(store, withAdjustment(folderWith(survey), proposal), keep);
    expect(report).toMatchObject({ version: 2, adjustment: { fromVersion: 1, moved: 1, added: 1 } });
    const rows = rowsOf(await store.readTable('new-site', 2, 'control-points'));
    expect(rows.map((row) => row['name'])).toEqual(['A', 'B', 'C', 'P', 'Q']);
    const [a, , , p, q] = rows;
    expect(a).toMatchObject({ x: 0, adjusted: false, adjustment: null, received_x: 0, listed: true });
    near(p['x'] as number, 6, { absolute: 1e-9 });
    near(p['y'] as number, 4, { absolute: 1e-9 });
    expect(p).toMatchObject({
      adjusted: true,
      adjusted_from_version: 1,
      received_x: 5.2,
      received_y: 4.8,
      received_sigma: 0.5,
      z: 0,
      listed: true,
    });
    // three tapes of 20 mm that cut well
    expect(p['sigma'] as number).toBeGreaterThan(0.01);
    expect(p['sigma'] as number).toBeLessThan(0.03);
    expect(p['geometry']).toEqual([p['x'], p['y']]);
    near(q['x'] as number, 3, { absolute: 1e-9 });
    expect(q).toMatchObject({ class: 'detail', adjusted: true, listed: false, received_x: null, season: null });
    expect(p['adjustment']).toBe(q['adjustment']);
    expect(p['adjustment']).toMatch(/^[0-9a-f]{12}$/);
    await store.close();
  });

  test('keeps every reading, with its residual and state, and the proposal as received', async () => {
    const { store, proposal } = await siteWithProposal();
    await importFolder(store, withAdjustment(folderWith(survey), proposal), keep);
    const readings = rowsOf(await store.readTable('new-site', 2, 'measurements'));
    expect(readings).toHaveLength(6);
    for (const reading of readings) {
      expect(reading).toMatchObject({ state: 'kept', reason: null, kind: 'distance' });
      near(reading['residual'] as number, 0, { absolute: 1e-9 });
    }
    expect(readings.map((row) => row['value'])).toEqual(
      rowsOf(await store.readTable('new-site', 1, 'measurements')).map((row) => row['value']),
    );
    expect([...((await store.readFile('new-site', 2, adjustmentFileName)) ?? [])]).toEqual([...proposal]);
    expect(
      await store.readFile('new-site', 2, 'control-points.csv').then((bytes) => String(Buffer.from(bytes ?? []))),
    ).toBe(control);
    await store.close();
  });

  test('the version before stays as it was, both are listed, and accepting twice makes no third', async () => {
    const { store, proposal } = await siteWithProposal();
    const before = rowsOf(await store.readTable('new-site', 1, 'control-points'));
    const again = async () => (await importFolder(store, withAdjustment(folderWith(survey), proposal), keep)).version;
    expect(await again()).toBe(2);
    expect(await again()).toBe(2);
    expect((await store.versions('new-site')).map((v) => v.version)).toEqual([1, 2]);
    expect(rowsOf(await store.readTable('new-site', 1, 'control-points'))).toEqual(before);
    expect(before[3]).not.toHaveProperty('adjusted');
    await store.close();
  });

  test('an adjustment made anew from the accepted version rests on what was received, and is the same', async () => {
    const { store, proposal } = await siteWithProposal();
    await importFolder(store, withAdjustment(folderWith(survey), proposal), keep);
    const summary = (bytes: Uint8Array) => JSON.parse(new TextDecoder().decode(bytes)).summary;
    const anew = await proposalOf(store, 'new-site', 2);
    expect(summary(anew)).toEqual(summary(proposal));
    // the readings are those of version 1: a proposal of version 2 can be accepted as well
    const third = await importFolder(store, withAdjustment(folderWith(survey), anew), keep);
    expect(third).toMatchObject({ version: 3, adjustment: { fromVersion: 2 } });
    await store.close();
  });

  test('other files may change: finds that come later keep the adjusted positions', async () => {
    const { store, proposal } = await siteWithProposal();
    await importFolder(store, withAdjustment(folderWith(survey), proposal), keep);
    const finds = 'find,season,artefact_class,count,local_x,local_y\nF9,S1,jar,1,1,1\n';
    const later = folderWith({ ...survey, 'finds.csv': finds, [adjustmentFileName]: proposal });
    expect(await importFolder(store, later, keep)).toMatchObject({ version: 3, adjustment: { moved: 1, added: 1 } });
    await store.close();
  });
});

describe('is refused with a sentence', () => {
  const refusal = async (store: Store, folder: SiteFolder) => {
    const before = (await store.versions('new-site')).length;
    const report = await importFolder(store, folder, keep);
    expect(report).toMatchObject({ version: null, accepted: false, adjustment: null });
    expect((await store.versions('new-site')).length).toBe(before);
    return report.complaints.first.map(complaintSentence).join('\n');
  };
  const changed = (proposal: Uint8Array, change: (answer: never) => void) => {
    const answer = JSON.parse(new TextDecoder().decode(proposal)) as never;
    change(answer);
    return encoder.encode(JSON.stringify(answer));
  };

  test('when the readings are no longer those it was made from', async () => {
    const { store, proposal } = await siteWithProposal();
    const one = { ...survey, 'measurements.csv': `${measurements}A,P,distance,7.3,0.02\n` };
    expect(await refusal(store, withAdjustment(folderWith(one), proposal))).toMatch(
      /made from data version 1, whose measurements\.csv was another; import the folder without it, run survey-adjustment/,
    );
    const tide = {
      ...survey,
      'tide.csv':
        'reading_series,start_time,start_depth,end_time,end_depth,reference_depth\n1,2024-06-01T10:00:00Z,10,2024-06-01T11:00:00Z,10.2,10\n',
    };
    expect(await refusal(store, withAdjustment(folderWith(tide), proposal))).toContain('which had no tide.csv');
    await store.close();
  });

  test('when its version is not stored, it is of another site, or of no site', async () => {
    const { store, proposal } = await siteWithProposal();
    const provenance = (set: Record<string, unknown>) =>
      withAdjustment(
        folderWith(survey),
        changed(proposal, (answer: { provenance: object }) => Object.assign(answer.provenance, set)),
      );
    expect(await refusal(store, provenance({ data_version: 7 }))).toContain(
      'was made from data version 7, which is not stored here (there are 1 to 1)',
    );
    expect(await refusal(store, provenance({ site: 'elsewhere' }))).toContain(
      'for the site elsewhere, not for new-site',
    );
    expect(await refusal(store, provenance({ site: null, data_version: null }))).toContain('made from plain files');
    expect(await refusal(store, provenance({ process: 'grid-fit' }))).toContain('an answer of grid-fit');
    await store.close();
  });

  test('when it is no proposal at all, places nothing, or places what is held fixed', async () => {
    const { store, proposal } = await siteWithProposal();
    const with_ = (bytes: Uint8Array) => withAdjustment(folderWith(survey), bytes);
    expect(await refusal(store, with_(encoder.encode('{"summary": {}}')))).toContain(
      'is no answer of survey-adjustment',
    );
    expect(await refusal(store, with_(encoder.encode('not json')))).toContain('is not JSON');
    expect(
      await refusal(
        store,
        with_(changed(proposal, (answer: { summary: { points: object } }) => (answer.summary.points = {}))),
      ),
    ).toContain('places no point');
    const moving = changed(proposal, (answer: { summary: { points: Record<string, unknown> } }) => {
      answer.summary.points['A'] = answer.summary.points['P'];
    });
    expect(await refusal(store, with_(moving))).toContain('places A, which control-points.csv holds fixed');
    await store.close();
  });

  test('a check without a store looks at its form', async () => {
    const { store, proposal } = await siteWithProposal();
    expect(await checkFolder(withAdjustment(folderWith(survey), proposal))).toMatchObject({
      accepted: true,
      adjustment: { moved: 1, added: 1 },
      notRead: [],
    });
    const bad = await checkFolder(withAdjustment(folderWith(survey), encoder.encode('[]')));
    expect(bad.accepted).toBe(false);
    await store.close();
  });
});

test('the demo: 46 detail points move to within their errors of where they were planted', async () => {
  const { store } = temporaryStore();
  await importSiteFolder(store, demoFolder, keep);
  const proposal = await proposalOf(store, 'tarn-ledge', 1);
  const report = await importSiteFolder(store, demoFolder, { ...keep, adjustment: proposal });
  expect(report).toMatchObject({ version: 2, adjustment: { fromVersion: 1, added: 0 } });
  expect(report.adjustment?.moved).toBeGreaterThanOrEqual(45);
  const shelf = new SurveyShelf(store, readSurface);
  const { survey: now } = await shelf.get('tarn-ledge', null);
  expect(now.version).toBe(2);
  const published = rowsOf(now.collection('control-points'));
  expect(published.filter((row) => row['adjusted'] === true)).toHaveLength(report.adjustment?.moved ?? -1);
  expect(published.filter((row) => row['class'] !== 'detail').every((row) => row['adjusted'] === false)).toBe(true);
  const text = readFileSync(join(demoFolder, 'control-points.csv'));
  expect([...((await store.readFile('tarn-ledge', 2, 'control-points.csv')) ?? [])]).toEqual([...text]);
  expect((await diskFolder(demoFolder).entries()).some(({ name }) => name === adjustmentFileName)).toBe(false);
  await store.close();
});
