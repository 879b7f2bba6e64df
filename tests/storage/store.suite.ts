import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { shapes } from '../../src/domain/columns.js';
import { type FeatureTable, textColumn } from '../../src/domain/feature-table.js';
import type { Field } from '../../src/domain/fields.js';
import { randomStream } from '../../src/math/random.js';
import type { JobRecord, Store } from '../../src/storage/store.js';
import { rowsOf } from '../support/temporary-store.js';
import { fields, fill, findsTable, importFinds } from './tables.js';

const numberField: readonly Field[] = [{ name: 'number', title: 'Number', type: 'text', distinct: true }];

function shapesTable(
  type: 'line' | 'area',
  features: Parameters<typeof shapes>[1],
  ids: readonly number[],
): FeatureTable {
  return {
    name: type,
    length: features.length,
    fields: numberField,
    columns: new Map([['number', textColumn(features.map((_, i) => `H${i}`))]]),
    geometry: shapes(type, features),
    ids: Float64Array.from(ids),
  };
}

const square = (x: number, y: number) => Float64Array.of(x, y, x + 1, y, x + 1, y + 1, x, y + 1);

export const job = (id: string, more: Partial<JobRecord> = {}): JobRecord => ({
  id,
  site: 'a',
  process: 'nearest-neighbour',
  status: 'accepted',
  progress: 0,
  message: '',
  request: '{}',
  version: 1,
  createdAt: `2026-01-01T00:00:0${id.length}.000Z`,
  startedAt: null,
  finishedAt: null,
  problem: null,
  pinned: false,
  ...more,
});

/** What every store must do; each adapter runs it. */
export function storeSuite(name: string, open: () => Promise<{ store: Store; again(): Promise<Store> }>): void {
  describe(name, () => {
    let store: Store;
    let again: () => Promise<Store>;
    beforeEach(async () => {
      ({ store, again } = await open());
    });
    afterEach(() => store.close());

    test('every kind of column and a point geometry come back bit by bit', async () => {
      const tables = [findsTable(0, 100), findsTable(100, 250)];
      await importFinds(store, 'h1', tables);
      const read = await store.readTable('a', 1, 'finds');
      expect(read?.fields).toEqual(fields);
      expect(rowsOf(read)).toEqual(tables.flatMap(rowsOf));
      for (const name of ['weight_g', 'step']) {
        const kept = read?.columns.get(name);
        const sent = tables.flatMap((table) => [...(table.columns.get(name) as { values: Float64Array }).values]);
        expect(kept?.kind === 'number' && sent.every((v, i) => Object.is(v, kept.values[i]))).toBe(true);
      }
      expect(read && [...read.columns].map(([, column]) => column.kind)).toEqual([
        ...['text', 'code', 'number', 'integer', 'boolean', 'number', 'number', 'text'],
      ]);
    });

    test('lines and areas with holes and without geometry come back, chunk after chunk', async () => {
      const lines = [
        [{ ring: Float64Array.of(0, 0, 1, 1, 2.5, 1) }],
        [],
        [{ ring: Float64Array.of(5, 5, 6, 6) }, { ring: Float64Array.of(7, 7, 8, 8) }],
      ];
      const areas = [
        [{ ring: square(0, 0) }, { ring: square(0.2, 0.2), hole: true as const }],
        [{ ring: square(9, 9) }],
      ];
      const transaction = await store.beginImport('a', 'Site A');
      const sent = new Map<string, FeatureTable[]>([
        ['line', [shapesTable('line', lines, [1, 2, 3]), shapesTable('line', lines.slice(1), [4, 5])]],
        // ids fall: the second chunk comes first when read
        ['area', [shapesTable('area', areas, [7, 3]), shapesTable('area', areas.slice(0, 1), [1])]],
      ]);
      for (const [table, chunks] of sent) {
        const opened = transaction.table(table, numberField);
        for (const chunk of chunks) opened.append(chunk);
      }
      transaction.commit('h');
      for (const [table, chunks] of sent) {
        const rows = chunks.flatMap(rowsOf).sort((a, b) => Number(a['id']) - Number(b['id']));
        expect(rowsOf(await store.readTable('a', 1, table))).toEqual(rows);
      }
    });

    test('rows come back by rising id, whatever order they came in', async () => {
      const table = findsTable(0, 50);
      const order = Float64Array.from({ length: 50 }, (_, i) => ((i * 37) % 50) + 1);
      await importFinds(store, 'h', [{ ...table, ids: order }]);
      const expected = rowsOf({ ...table, ids: order }).sort((a, b) => Number(a['id']) - Number(b['id']));
      expect(rowsOf(await store.readTable('a', 1, 'finds'))).toEqual(expected);
    });

    test('a table without rows is known to be empty; one that never was is null', async () => {
      await importFinds(store, 'h', [findsTable(0, 0)]);
      expect(await store.readTable('a', 1, 'finds')).toMatchObject({ length: 0, geometry: { type: 'point' } });
      expect(await store.readTable('a', 1, 'levels')).toBeNull();
      expect(await store.readTable('a', 2, 'finds')).toBeNull();
      expect(await store.readTable('b', 1, 'finds')).toBeNull();
    });

    test('two versions stand side by side; the old one stays readable', async () => {
      expect(await importFinds(store, 'h1', [findsTable(0, 20)])).toBe(1);
      expect(await importFinds(store, 'h2', [findsTable(5, 30)])).toBe(2);
      expect(rowsOf(await store.readTable('a', 1, 'finds'))).toEqual(rowsOf(findsTable(0, 20)));
      expect(rowsOf(await store.readTable('a', 2, 'finds'))).toEqual(rowsOf(findsTable(5, 30)));
      const versions = await store.versions('a');
      expect(versions.map(({ version, contentHash, tables }) => ({ version, contentHash, tables }))).toEqual([
        { version: 1, contentHash: 'h1', tables: [{ name: 'finds', rows: 20 }] },
        { version: 2, contentHash: 'h2', tables: [{ name: 'finds', rows: 25 }] },
      ]);
      expect(versions[0].acceptedAt).toMatch(/^\d{4}-\d\d-\d\dT.*Z$/);
      expect(versions[0].setAside).toEqual([{ file: 'finds.csv', rows: 1 }]);
    });

    test('the same content again is the same version, and no pulse', async () => {
      await importFinds(store, 'h1', [findsTable(0, 20)]);
      const pulse = await store.pulse();
      expect(await importFinds(store, 'h1', [findsTable(0, 20)])).toBe(1);
      expect(await store.versions('a')).toHaveLength(1);
      expect(await store.pulse()).toBe(pulse);
    });

    test('what is rolled back leaves nothing, not even a number', async () => {
      const transaction = await store.beginImport('a', 'Site A');
      fill(transaction, [findsTable(0, 20)]);
      transaction.rollback();
      transaction.rollback();
      expect(() => transaction.file('late.csv', new Uint8Array(1))).toThrow(/has ended/);
      expect([await store.sites(), await store.versions('a'), await store.pulse()]).toEqual([[], [], 0]);
      expect(await importFinds(store, 'h1', [findsTable(0, 20)])).toBe(1);
    });

    test('nothing is seen of an import before it is committed', async () => {
      const transaction = await store.beginImport('a', 'Site A');
      fill(transaction, [findsTable(0, 20)]);
      const other = await again();
      expect([await store.sites(), await other.sites(), await other.pulse()]).toEqual([[], [], 0]);
      transaction.commit('h1');
      expect(await other.sites()).toEqual([{ id: 'a', title: 'Site A' }]);
      expect(await other.pulse()).toBeGreaterThan(0);
      expect(await other.readTable('a', 1, 'finds')).toMatchObject({ length: 20 });
      await other.close();
    });

    test('the keys a table ever had are there at the next import', async () => {
      await importFinds(store, 'h1', [findsTable(0, 3)]);
      const transaction = await store.beginImport('a', 'Site A');
      const keys = transaction.keys('finds');
      const key = new TextEncoder().encode('key 2');
      expect([keys.length, keys.find(key, 0, key.length)]).toEqual([3, 1]);
      const fresh = new TextEncoder().encode('new');
      expect(keys.add(fresh, 0, 3)).toBe(3);
      expect(transaction.keys('levels').length).toBe(0);
      transaction.rollback();
      const next = await store.beginImport('a', 'Site A');
      expect(next.keys('finds').length).toBe(3);
      next.rollback();
    });

    test('files of any size come back byte by byte, also in pieces', async () => {
      const random = randomStream(11, 0);
      const large = Uint8Array.from({ length: 2_500_000 }, () => random.below(256));
      const transaction = await store.beginImport('a', 'Site A');
      const open = transaction.openFile('large.bin');
      for (let at = 0; at < large.length; at += 300_000) {
        const piece = large.slice(at, at + 300_000);
        open.append(piece);
        piece.fill(0);
      }
      transaction.file('empty.csv', new Uint8Array(0));
      transaction.commit('h');
      expect(Buffer.compare((await store.readFile('a', 1, 'large.bin')) ?? new Uint8Array(0), large)).toBe(0);
      expect(await store.readFile('a', 1, 'empty.csv')).toHaveLength(0);
      expect(await store.readFile('a', 1, 'none.csv')).toBeNull();
      expect(await store.files('a', 1)).toEqual([
        { path: 'empty.csv', size: 0, sha256: 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855' },
        { path: 'large.bin', size: 2_500_000, sha256: expect.stringMatching(/^[0-9a-f]{64}$/) },
      ]);
    });

    test('jobs are saved, changed, listed newest first and deleted with their results', async () => {
      await store.saveJob(job('x'));
      await store.saveJob(job('yy', { pinned: true }));
      await store.saveJob(job('zzz', { site: 'b' }));
      const done = job('x', {
        status: 'successful',
        progress: 100,
        message: 'done',
        finishedAt: '2026-01-01T00:01:00Z',
      });
      await store.saveJob(done);
      expect(await store.job('a', 'x')).toEqual(done);
      expect(await store.job('b', 'x')).toBeNull();
      expect((await store.jobs('a')).map(({ id, pinned }) => [id, pinned])).toEqual([
        ['yy', true],
        ['x', false],
      ]);
      await store.saveResult(
        'x',
        new Map([
          ['answer.json', Uint8Array.of(1, 2)],
          ['features', Uint8Array.of(3)],
        ]),
      );
      await store.saveResult('x', new Map([['answer.json', Uint8Array.of(4)]]));
      expect([...((await store.readResult('x', 'answer.json')) ?? [])]).toEqual([4]);
      expect(await store.readResult('x', 'features')).toBeNull();
      await store.deleteJob('b', 'x');
      expect(await store.job('a', 'x')).not.toBeNull();
      await store.deleteJob('a', 'x');
      expect([await store.job('a', 'x'), await store.readResult('x', 'answer.json')]).toEqual([null, null]);
    });

    test('a job saved while an import is under way waits for it, and is no part of it', async () => {
      const transaction = await store.beginImport('a', 'Site A');
      const saved = store.saveJob(job('x'));
      fill(transaction, [findsTable(0, 20)]);
      transaction.rollback();
      await saved;
      expect(await store.job('a', 'x')).not.toBeNull();
      expect(await store.versions('a')).toEqual([]);
    });
  });
}
