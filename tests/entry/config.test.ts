import { expect, test } from 'vitest';
import { configFrom, refuseOpenHost } from '../../src/entry/config.js';

test('without any setting: loopback, port 8080, ./var, at least one worker', () => {
  const config = configFrom({});
  expect(config).toMatchObject({ port: 8080, host: '127.0.0.1', publicBaseUrl: null, trustProxy: 'never' });
  expect(config.dataDir).toMatch(/var$/);
  expect(config.workers).toBeGreaterThan(0);
});

test('a public address loses its last slash', () => {
  expect(configFrom({ PUBLIC_BASE_URL: 'https://finds.example/wreck/' }).publicBaseUrl).toBe(
    'https://finds.example/wreck',
  );
});

test.each([
  [{ PORT: '80a' }, /PORT = "80a"/],
  [{ PORT: '70000' }, /PORT = "70000"/],
  [{ WORKERS: '0' }, /WORKERS = "0"/],
  [{ PUBLIC_BASE_URL: 'ftp://x' }, /PUBLIC_BASE_URL/],
  [{ DATABASE_URL: 'postgres://x' }, /SQLite only/],
])('%j is refused by name', (env, sentence) => {
  expect(() => configFrom(env)).toThrow(sentence);
});

test('a host beyond this machine is refused while there are no keys', () => {
  for (const host of ['127.0.0.1', '127.1.2.3', '::1', 'localhost']) expect(() => refuseOpenHost(host)).not.toThrow();
  for (const host of ['0.0.0.0', '::', '192.0.2.7', 'boat.example', '127.evil.example']) {
    expect(() => refuseOpenHost(host), host).toThrow(/no keys yet/);
  }
});
