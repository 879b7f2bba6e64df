import { existsSync, readFileSync } from 'node:fs';
import { writeFile } from 'node:fs/promises';
import { setTimeout as wait } from 'node:timers/promises';
import { expect, test } from 'vitest';
import { DownloadFiles } from '../../src/operations/export/download-files.js';

test('a file is made once, however often it is asked for, and told with its size', async () => {
  const files = new DownloadFiles();
  let made = 0;
  const write = async (path: string) => {
    made++;
    await wait(5);
    await writeFile(path, 'content');
  };
  const [a, b] = await Promise.all([files.get('k', write), files.get('k', write)]);
  expect(a).toEqual(b);
  expect(await files.get('k', write)).toEqual(a);
  expect(made).toBe(1);
  expect(a.size).toBe(7);
  expect(readFileSync(a.path, 'utf8')).toBe('content');
});

test('one file is written at a time', async () => {
  const files = new DownloadFiles();
  let [now, most] = [0, 0];
  const write = async (path: string) => {
    most = Math.max(most, ++now);
    await wait(2);
    await writeFile(path, '');
    now--;
  };
  await Promise.all(['a', 'b', 'c', 'd'].map((key) => files.get(key, write)));
  expect(most).toBe(1);
});

test('only the last few are kept, by when they were asked for', async () => {
  const files = new DownloadFiles(2);
  const write = (path: string) => writeFile(path, 'x');
  const first = await files.get('a', write);
  const second = await files.get('b', write);
  await files.get('a', write);
  await files.get('c', write);
  await wait(20);
  expect(existsSync(first.path)).toBe(true);
  expect(existsSync(second.path)).toBe(false);
});

test('what broke off leaves nothing behind and is tried again', async () => {
  const files = new DownloadFiles();
  let path = '';
  const broken = files.get('k', async (given) => {
    path = given;
    await writeFile(given, 'half');
    throw new Error('the disk is full');
  });
  await expect(broken).rejects.toThrow('the disk is full');
  expect(existsSync(path)).toBe(false);
  expect((await files.get('k', (given) => writeFile(given, 'whole'))).size).toBe(5);
});
