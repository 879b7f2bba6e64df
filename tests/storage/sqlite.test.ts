import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import Sqlite from 'better-sqlite3';
import { expect, test } from 'vitest';
import { openSqliteReadOnly, openSqliteStore } from '../../src/storage/sqlite/store.js';
import type { Store } from '../../src/storage/store.js';
import { rowsOf, temporaryFolder, temporaryStore } from '../support/temporary-store.js';
import { job, storeSuite } from './store.suite.js';
import { findsTable, importFinds } from './tables.js';

storeSuite('SQLite', async () => {
  const { store, file } = temporaryStore();
  return { store, again: async () => openSqliteStore(file) };
});

/** Everything a reader can see. */
async function seen(store: Store): Promise<unknown> {
  const sites = await store.sites();
  const versions = await Promise.all(sites.map(({ id }) => store.versions(id)));
  const tables = await Promise.all(
    versions.flat().map(async ({ site, version }) => rowsOf(await store.readTable(site, version, 'finds'))),
  );
  return { sites, versions, tables, jobs: await store.jobs('a'), pulse: await store.pulse() };
}

/** Rows of every table of the file, so that nothing half done can hide. */
function rowCounts(file: string): Record<string, number> {
  const database = new Sqlite(file, { readonly: true });
  const names = database.prepare("select name from sqlite_master where type = 'table' order by name").pluck().all();
  const counts = (names as string[])
    .filter((name) => !name.startsWith('sqlite_'))
    .map((name) => [name, database.prepare(`select count(*) from "${name}"`).pluck().get() as number] as const);
  database.close();
  return Object.fromEntries(counts);
}

test.each(['transient', 'permanent'])(
  'an import that fails at any statement (%s fault) leaves the store as it was',
  async (kind) => {
    let statements = 0;
    let failAt = Infinity;
    const { file, store } = temporaryStore({
      beforeStatement: () => {
        statements += 1;
        const fails = kind === 'transient' ? statements === failAt : statements >= failAt;
        if (fails) throw new Sqlite.SqliteError('database or disk is full', 'SQLITE_FULL');
      },
    });
    await importFinds(store, 'h1', [findsTable(0, 8)]);
    const before = [await seen(store), rowCounts(file)];
    let step = 1;
    for (; ; step++) {
      statements = 0;
      failAt = step;
      const failed = await importFinds(store, 'h2', [findsTable(0, 8), findsTable(8, 12)]).then(
        () => null,
        (error: Error) => error,
      );
      failAt = Infinity;
      if (!failed) break;
      expect(failed).toMatchObject({ code: 'store-unavailable', message: expect.stringMatching(/the disk is full/) });
      expect([await seen(store), rowCounts(file)]).toEqual(before);
    }
    // every statement of an import was made to fail once
    expect(step).toBeGreaterThan(60);
    expect((await store.versions('a')).map(({ version }) => version)).toEqual([1, 2]);
    await store.close();
  },
);

test('a job or a result that cannot be saved leaves the one before', async () => {
  let failing = false;
  const { store } = temporaryStore({
    beforeStatement: (sql) => {
      if (failing && /insert into (job|result_part)/i.test(sql))
        throw new Sqlite.SqliteError('disk I/O error', 'SQLITE_IOERR_WRITE');
    },
  });
  await store.saveJob(job('x', { message: 'before' }));
  await store.saveResult('x', new Map([['answer.json', Uint8Array.of(1)]]));
  failing = true;
  await expect(store.saveJob(job('x', { message: 'after' }))).rejects.toThrow(/the disk reports an error/);
  await expect(store.saveResult('x', new Map([['answer.json', Uint8Array.of(2)]]))).rejects.toThrow(/the disk reports/);
  failing = false;
  expect(await store.job('a', 'x')).toMatchObject({ message: 'before' });
  expect([...((await store.readResult('x', 'answer.json')) ?? [])]).toEqual([1]);
  await store.close();
});

test('what two versions share is kept once', async () => {
  const { file, store } = temporaryStore();
  const tables = [findsTable(0, 30_000), findsTable(30_000, 60_000)];
  await importFinds(store, 'h1', tables);
  const blobs = rowCounts(file)['blob'];
  await importFinds(store, 'h2', [...tables, findsTable(60_000, 60_010)]);
  // the ten new rows, their keys and the changed file; nothing of the 60,000
  expect(rowCounts(file)['blob'] - blobs).toBeLessThan(14);
  await store.close();
  expect(statSync(file).size).toBeLessThan(4_000_000);
});

const child = `
import { openSqliteStore } from './src/storage/sqlite/store.ts';
import { findsTable, importFinds } from './tests/storage/tables.ts';
const store = openSqliteStore(process.argv[1]);
for (let n = 1; ; n++) {
  const version = await importFinds(store, 'child ' + process.pid + ' ' + n, [findsTable(0, 4000), findsTable(4000, 4000 + n)]);
  process.stdout.write(version + '\\n');
}`;

test('a process killed while importing loses nothing it acknowledged and leaves nothing half done', async () => {
  const { file, store } = temporaryStore();
  for (let kill = 0; kill < 3; kill++) {
    const acknowledged = (await store.versions('a')).length;
    const process_ = spawn(process.execPath, ['--import', 'tsx', '--input-type=module', '-e', child, file], {
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    let said = '';
    process_.stdout.on('data', (data) => {
      said += data;
    });
    await once(process_.stdout, 'data');
    await new Promise((resolve) => setTimeout(resolve, 7 + 23 * kill));
    process_.kill('SIGKILL');
    await once(process_, 'close');
    const last = Number(said.trim().split('\n').at(-1));
    expect(last).toBeGreaterThan(acknowledged);
    const versions = await store.versions('a');
    // the last one may be there although the process died before it could say so
    expect([last, last + 1]).toContain(versions.length);
    for (const { version, tables } of versions.slice(acknowledged))
      expect((await store.readTable('a', version, 'finds'))?.length).toBe(tables[0].rows);
  }
  await store.close();
}, 60_000);

test('another process reads while one imports, and a reader opened for reading cannot write', async () => {
  const { file, store } = temporaryStore();
  await importFinds(store, 'h1', [findsTable(0, 10)]);
  const reader = openSqliteReadOnly(file);
  const transaction = await store.beginImport('a', 'Site A');
  expect(rowsOf(await reader.readTable('a', 1, 'finds'))).toHaveLength(10);
  transaction.commit('h2');
  expect(await reader.pulse()).toBe(2);
  await expect(reader.saveJob(job('x'))).rejects.toThrow(/may not be written/);
  await expect(reader.beginImport('a', 'A')).rejects.toThrow(/opened for reading only/);
  await reader.close();
  await store.close();
});

test('a store of a newer layout, and a file that is none, are refused in clear words', async () => {
  const { file, store } = temporaryStore();
  await store.close();
  const database = new Sqlite(file);
  database.pragma('user_version = 99');
  database.close();
  expect(() => openSqliteStore(file)).toThrow(/has layout 99, this wreckfield knows layouts up to 1/);
  expect(() => openSqliteReadOnly(file)).toThrow(/has layout 99/);
  const other = join(temporaryFolder(), 'notes.sqlite');
  writeFileSync(
    other,
    'these are notes, and no database at all; long enough to be looked at by its first bytes '.repeat(20),
  );
  expect(() => openSqliteStore(other)).toThrow(/is no store of wreckfield or is damaged/);
  expect(() => openSqliteReadOnly(join(temporaryFolder(), 'none.sqlite'))).toThrow(/cannot be opened/);
});

test('a second writer waits, and is told when it waited too long', async () => {
  const { file, store } = temporaryStore();
  const impatient = openSqliteStore(file, { busyTimeoutMs: 20 });
  const transaction = await store.beginImport('a', 'Site A');
  await expect(impatient.saveJob(job('x'))).rejects.toThrow(/another process has been writing for too long/);
  transaction.rollback();
  await impatient.saveJob(job('x'));
  expect(await store.job('a', 'x')).not.toBeNull();
  await impatient.close();
  await store.close();
});
