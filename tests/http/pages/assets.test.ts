import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { copyAssets } from '../../../src/entry/assets.js';

let root = '';
const put = (path: string, text: string) => {
  mkdirSync(dirname(join(root, path)), { recursive: true });
  writeFileSync(join(root, path), text);
};

beforeEach(() => {
  root = mkdtempSync(join(tmpdir(), 'wreckfield-assets-'));
  put('package.json', '{}');
  put('src/http/pages/sheet.css', 'css');
  put('dist/http/pages/browser/map.js', 'map');
  put('dist/http/pages/browser/map.js.map', '{}');
  put('node_modules/maplibre-gl/package.json', '{"name":"maplibre-gl"}');
  for (const name of ['maplibre-gl.mjs', 'maplibre-gl-worker.mjs', 'maplibre-gl.css'])
    put(`node_modules/maplibre-gl/dist/${name}`, name);
});
afterEach(() => rmSync(root, { recursive: true, force: true }));

test('style sheet, compiled modules and map library land in the static folder', () => {
  const names = copyAssets(root);
  expect(names).toEqual(['sheet.css', 'map.js', 'maplibre-gl.mjs', 'maplibre-gl-worker.mjs', 'maplibre-gl.css']);
  for (const name of names) {
    expect(readFileSync(join(root, 'dist/http/pages/static', name), 'utf8')).toMatch(/^(css|map|maplibre)/);
  }
  // a second build over the first is the same
  expect(copyAssets(root)).toEqual(names);
});

test('what is missing is named, with what to do', () => {
  rmSync(join(root, 'node_modules/maplibre-gl/dist/maplibre-gl-worker.mjs'));
  expect(() => copyAssets(root)).toThrow(/missing: .*maplibre-gl-worker\.mjs/);
  rmSync(join(root, 'dist'), { recursive: true });
  expect(() => copyAssets(root)).toThrow(/run "npm run build"/);
});

test('an install without development packages says so', () => {
  rmSync(join(root, 'node_modules'), { recursive: true });
  expect(() => copyAssets(root)).toThrow(/maplibre-gl is not installed: run "npm ci"/);
});
