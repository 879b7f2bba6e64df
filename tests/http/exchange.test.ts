import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { json, linkOf, type Served, serve } from './fake-service.js';

// biome-ignore lint/suspicious/noExplicitAny: documents are looked at as clients see them
type Any = any;

let at: Served;
let folder: string;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'static-'));
  mkdirSync(join(folder, 'shown', 'fonts'), { recursive: true });
  writeFileSync(join(folder, 'secret.js'), 'secret');
  writeFileSync(join(folder, 'shown', 'map.js'), `${'/* map */'.repeat(300)}`);
  writeFileSync(join(folder, 'shown', 'fonts', 'sheet.woff2'), 'font');
  writeFileSync(join(folder, 'shown', '.hidden.js'), 'secret');
  writeFileSync(join(folder, 'shown', 'notes.md'), 'secret');
  at = await serve({ staticFolder: join(folder, 'shown') });
});
afterAll(async () => {
  await at.close();
  rmSync(folder, { recursive: true });
});

/** A request as it stands on the wire, since fetch would tidy it up. */
function raw(head: string): Promise<string> {
  return new Promise((resolve, reject) => {
    const socket = connect(at.port, '127.0.0.1', () =>
      socket.write(`${head}\r\nHost: 127.0.0.1:${at.port}\r\nConnection: close\r\n\r\n`),
    );
    let text = '';
    socket.on('data', (chunk) => {
      text += chunk.toString('latin1');
    });
    socket.on('end', () => resolve(text));
    socket.on('error', reject);
  });
}

const readable = [
  '',
  '/conformance',
  '/collections',
  '/collections/finds',
  '/collections/finds/items',
  '/collections/finds/items/1001',
  '/collections/finds/schema',
  '/tiles',
  '/tiles/WebMercatorQuad',
  '/collections/finds/tiles',
  '/tileMatrixSets',
  '/tileMatrixSets/WebMercatorQuad',
  '/tilejson/finds.json',
  '/styles',
  '/styles/sheet',
  '/processes',
  '/processes/echo',
  '/jobs',
  '/versions',
  '/versions/1',
  '/api',
  '/collections/deposit-top/coverage',
];

test('equal requests give equal bytes; a tag saves the body; HEAD gives the same headers', async () => {
  for (const path of readable) {
    const url = `${at.site}${path}`;
    const first = await fetch(url, { headers: { 'accept-encoding': 'identity' } });
    const text = await first.text();
    expect(first.status, path).toBe(200);
    expect(first.headers.get('cache-control'), path).toBe('no-cache');
    expect(first.headers.get('vary'), path).toMatch(/Accept.*Accept-Encoding/);
    const tag = first.headers.get('etag') as string;
    expect(tag, path).toMatch(/^(W\/)?"[\w-]+"$/);
    expect(await (await fetch(url)).text(), path).toBe(text);
    const again = await fetch(url, { headers: { 'if-none-match': tag } });
    expect(again.status, path).toBe(304);
    expect(again.headers.get('etag'), path).toBe(tag);
    expect(await again.text()).toBe('');
    const head = await fetch(url, { method: 'HEAD', headers: { 'accept-encoding': 'identity' } });
    expect(head.status, path).toBe(200);
    for (const name of ['content-type', 'content-length', 'etag'])
      expect(head.headers.get(name), path).toBe(first.headers.get(name));
    expect(await head.text()).toBe('');
  }
});

test('OPTIONS tells what is possible; a form on another page may ask', async () => {
  for (const path of ['/collections/finds/items', '', '/xyz/finds/0/0/0.mvt']) {
    const response = await fetch(`${at.site}${path}`, { method: 'OPTIONS' });
    expect(response.status).toBe(204);
    expect(response.headers.get('allow')).toBe('GET, HEAD, OPTIONS');
  }
  const execution = await fetch(`${at.site}/processes/echo/execution`, {
    method: 'OPTIONS',
    headers: {
      origin: 'https://ex.org',
      'access-control-request-method': 'POST',
      'access-control-request-headers': 'content-type, prefer',
    },
  });
  expect(execution.headers.get('allow')).toBe('POST, OPTIONS');
  expect(execution.headers.get('access-control-allow-methods')).toContain('POST');
  expect(execution.headers.get('access-control-allow-headers')).toContain('prefer');
  expect((await fetch(`${at.site}/jobs/x`, { method: 'OPTIONS' })).headers.get('allow')).toBe(
    'GET, HEAD, DELETE, OPTIONS',
  );
});

test('a method that is not possible is refused, and the possible ones are named', async () => {
  for (const [method, path, allow] of [
    ['POST', '/collections/finds/items', 'GET, HEAD, OPTIONS'],
    ['DELETE', '/collections/finds', 'GET, HEAD, OPTIONS'],
    ['PUT', '/jobs/x', 'GET, HEAD, DELETE, OPTIONS'],
    ['GET', '/processes/echo/execution', 'POST, OPTIONS'],
    ['PATCH', '/xyz/finds/0/0/0.mvt', 'GET, HEAD, OPTIONS'],
  ]) {
    const response = await fetch(`${at.site}${path}`, { method });
    expect(response.status).toBe(405);
    expect(response.headers.get('allow')).toBe(allow);
    expect(response.headers.get('content-type')).toBe('application/problem+json');
  }
});

test('other pages may read every answer, refusals too', async () => {
  for (const path of [
    '',
    '/collections/finds/items',
    '/collections/none',
    '/collections/finds/items?limit=x',
    '/xyz/finds/99/0/0.mvt',
    '/%E0%A4%A',
  ]) {
    const response = await fetch(`${at.site}${path}`, { headers: { origin: 'https://ex.org' } });
    expect(response.headers.get('access-control-allow-origin'), path).toBe('*');
    for (const name of ['Location', 'Link', 'Content-Crs', 'ETag', 'Preference-Applied']) {
      expect(response.headers.get('access-control-expose-headers'), path).toContain(name);
    }
    expect(response.headers.get('cross-origin-resource-policy')).toBe('cross-origin');
    expect(response.headers.get('x-content-type-options')).toBe('nosniff');
    const policy = response.headers.get('content-security-policy') as string;
    expect(policy).toContain("script-src 'self'");
    expect(policy).toContain("worker-src 'self' blob:");
    expect(policy).not.toContain('upgrade-insecure-requests');
    expect(policy).not.toContain('unsafe-inline');
    expect(response.headers.get('x-powered-by')).toBeNull();
  }
});

describe('which form', () => {
  const browser = 'text/html,application/xhtml+xml,application/xml;q=0.9,image/avif,image/webp,*/*;q=0.8';
  test.each([
    ['/collections', undefined, 'application/json'],
    ['/collections', '*/*', 'application/json'],
    ['/collections', browser, 'text/html; charset=utf-8'],
    ['/collections', 'application/json;q=0.5, text/html;q=0.4', 'application/json'],
    ['/collections', 'text/html;q=0, */*', 'application/json'],
    ['/collections', 'application/json; charset=utf-8', 'application/json'],
    ['/collections', 'application/*', 'application/json'],
    ['/collections/finds/items', 'application/geo+json, application/json', 'application/geo+json'],
    ['/collections/finds/items', 'application/json', 'application/json'],
    ['/collections/finds/items', '*/*', 'application/geo+json'],
    ['/collections/finds/schema', 'application/schema+json', 'application/schema+json'],
    ['/api', 'application/json', 'application/json'],
    ['/api', '*/*', 'application/vnd.oai.openapi+json;version=3.0'],
    [
      '/api',
      'application/vnd.oai.openapi+json;version=3.0, application/openapi+json;version=3.0, application/json',
      'application/vnd.oai.openapi+json;version=3.0',
    ],
    ['/api', browser, 'text/html; charset=utf-8'],
    ['/api/', 'application/json', 'application/json'],
    ['/collections?f=html', 'application/json', 'text/html; charset=utf-8'],
    ['/collections?f=json', browser, 'application/json'],
    ['/collections/finds/items?f=json', browser, 'application/geo+json'],
    ['/collections/finds/items?f=geojson', browser, 'application/geo+json'],
    ['/styles/sheet', '*/*', 'application/vnd.mapbox.style+json'],
  ])('%s for %s', async (path, accept, type) => {
    const response = await fetch(`${at.site}${path}`, { headers: accept === undefined ? {} : { accept } });
    expect(response.status).toBe(200);
    expect(response.headers.get('content-type')).toBe(type);
  });

  test('nothing of it: 406, and what there is', async () => {
    const { response, body } = await json(`${at.site}/collections`, { accept: 'application/xml' });
    expect(response.status).toBe(406);
    expect(body.detail).toContain('application/json');
    expect(
      (await fetch(`${at.site}/api`, { headers: { accept: 'application/vnd.oai.openapi+json;version=3.1' } })).status,
    ).toBe(406);
  });
});

test('every document has a page, with its links and without foreign script', async () => {
  for (const path of readable) {
    if (/^\/(tilejson|styles\/|collections\/deposit-top)/.test(path)) continue;
    const response = await fetch(`${at.site}${path}${path.includes('?') ? '&' : '?'}f=html`);
    const text = await response.text();
    expect(response.status, path).toBe(200);
    expect(response.headers.get('content-type'), path).toBe('text/html; charset=utf-8');
    expect(text, path).toMatch(/^<!doctype html>/);
    expect(text, path).toContain('<a href="http');
    expect(text, path).not.toMatch(/<script(?![^>]*(src="http:\/\/127|type="application\/json"))/);
  }
  expect(await (await fetch(`${at.root}/`, { headers: { accept: 'text/html' } })).text()).toContain('Test Ledge wreck');
});

test('a page of items shows the records, follows pages as pages, and writes hostile texts as texts', async () => {
  const text = await (await fetch(`${at.site}/collections/finds/items?f=html&limit=5&season=S2`)).text();
  expect(text).toContain('F2');
  expect(text).not.toContain('<script>alert');
  expect(text).toContain('&lt;/script&gt;');
  const next = /<a href="([^"]+)" rel="next"/.exec(text)?.[1].replaceAll('&amp;', '&') as string;
  expect(next).toContain('f=html');
  expect(next).toContain('season=S2');
  expect((await fetch(next)).status).toBe(200);
  const one = await (await fetch(`${at.site}/collections/finds/items/1004?f=html`)).text();
  expect(one).not.toContain('<script>alert');
  expect(one).toContain('11 g');
  // a count has no unit to show
  expect(one).toContain('<dt>Count</dt><dd>1</dd>');
  expect(await (await fetch(`${at.site}/collections/finds/items/1001?f=html`)).text()).toContain('unknown');
});

test('hostile names in an address come back as text of a problem only', async () => {
  for (const path of ['/collections/<script>alert(1)</script>', "/processes/'><img src=x>", '/nothing?<script>']) {
    const response = await fetch(`${at.site}${encodeURI(path)}`, { headers: { accept: 'text/html' } });
    expect(response.headers.get('content-type')).toBe('application/problem+json');
  }
});

describe('addresses behind a proxy', () => {
  const forwarded = {
    'x-forwarded-proto': 'https',
    'x-forwarded-host': 'digs.example.org',
    'x-forwarded-prefix': '/wreck',
  };

  test('are believed only when told to', async () => {
    expect(linkOf((await json(at.site, forwarded)).body, 'data')?.href).toBe(`${at.site}/collections`);
    const trusting = await serve({ trustProxy: true });
    const of = async (headers: Record<string, string>) =>
      linkOf((await json(trusting.site, headers)).body, 'data')?.href;
    expect(await of(forwarded)).toBe('https://digs.example.org/wreck/sites/test-ledge/collections');
    expect(await of({ forwarded: 'for=192.0.2.1;proto=https;host="digs.example.org:8443"' })).toBe(
      'https://digs.example.org:8443/sites/test-ledge/collections',
    );
    for (const bad of [
      { 'x-forwarded-host': 'a b' },
      { 'x-forwarded-host': 'x/"><' },
      { 'x-forwarded-proto': 'javascript' },
      { 'x-forwarded-prefix': '//evil' },
    ]) {
      expect((await fetch(trusting.site, { headers: bad as unknown as Record<string, string> })).status).toBe(400);
    }
    await trusting.close();
  });

  test('one public address beats everything', async () => {
    const named = await serve({ publicBaseUrl: 'https://digs.example.org/wreck/', trustProxy: true });
    const { body, response } = await json(`${named.site}/collections/finds/items?limit=5`, {
      'x-forwarded-host': 'other.example.org',
    });
    for (const link of body.links) expect(link.href).toMatch(/^https:\/\/digs\.example\.org\/wreck\/sites\//);
    expect(response.headers.get('content-security-policy')).toContain("connect-src 'self' https://digs.example.org");
    const tileJson = await json(`${named.site}/tilejson/finds.json`);
    expect(tileJson.body.tiles[0]).toBe('https://digs.example.org/wreck/sites/test-ledge/xyz/finds/{z}/{x}/{y}.mvt');
    await named.close();
  });
});

test('the list of sites: no object before the first site has an id', async () => {
  for (const path of ['/', '/sites', '/sites/']) {
    const text = await (await fetch(`${at.root}${path}`)).text();
    expect(text).toMatch(/^\{"sites":\[\{"id":"test-ledge","title":"Test Ledge wreck","links":\[/);
    expect(JSON.parse(text).sites[0].links[0].href).toBe(at.site);
  }
});

test('data versions', async () => {
  const { body } = await json(`${at.site}/versions`);
  expect(body.versions).toHaveLength(1);
  expect((await json(`${at.site}/versions/1`)).body).toMatchObject({
    version: 1,
    accepted_at: '2026-01-02T03:04:05.000Z',
    set_aside: [],
  });
  for (const id of ['2', '0', 'x', '01']) expect((await fetch(`${at.site}/versions/${id}`)).status).toBe(404);
});

test('live, ready and counted', async () => {
  expect((await json(`${at.root}/healthz`)).body.status).toBe('ok');
  expect((await json(`${at.root}/readyz`)).body).toEqual({ status: 'ready', store: 'ok', queue: 'ok' });
  at.service.storeState = 'the file is locked';
  const { response, body } = await json(`${at.root}/readyz`);
  expect(response.status).toBe(503);
  expect(body.store).toBe('the file is locked');
  at.service.storeState = true;
  const metrics = await fetch(`${at.root}/metrics`);
  expect(metrics.headers.get('content-type')).toMatch(/^text\/plain/);
  expect(await metrics.text()).toMatch(/wreckfield_requests_total\{operation="getHealth",status="200"\} 1/);
});

describe('/static', () => {
  test('gives the listed files with type and tag, packed', async () => {
    const response = await fetch(`${at.root}/static/map.js`, { headers: { 'accept-encoding': 'gzip' } });
    expect(response.headers.get('content-type')).toBe('text/javascript; charset=utf-8');
    expect(response.headers.get('content-encoding')).toBe('gzip');
    expect((await response.text()).length).toBe(2700);
    const tag = response.headers.get('etag') as string;
    expect((await fetch(`${at.root}/static/map.js`, { headers: { 'if-none-match': tag } })).status).toBe(304);
    expect((await fetch(`${at.root}/static/fonts/sheet.woff2`)).headers.get('content-type')).toBe('font/woff2');
  });

  test.each([
    '/static/../secret.js',
    '/static/..%2fsecret.js',
    '/static/%2e%2e/secret.js',
    '/static/%2e%2e%2fsecret.js',
    '/static/..%5csecret.js',
    '/static/fonts/../../secret.js',
    '/static/....//secret.js',
    '/static//etc/passwd',
    '/static/%2fetc%2fpasswd',
    '/static/.hidden.js',
    '/static/notes.md',
    '/static/map.js%00.png',
    '/static/map.js/',
    '/static/',
    '/static',
    '/static/constructor',
    '/static/__proto__',
    '/static/fonts',
    '/static/%',
    '/static/%c0%ae%c0%ae/secret.js',
    '/static/map.js\\..\\..\\secret.js',
  ])('%s reaches nothing', async (path) => {
    const answer = await raw(`GET ${path} HTTP/1.1`);
    expect(answer).toMatch(/^HTTP\/1\.1 40[04] /);
    expect(answer).not.toContain('\r\n\r\nsecret');
    expect(answer).toContain('application/problem+json');
  });
});

test('an address may not be longer than 8,192 characters', async () => {
  expect((await fetch(`${at.site}/collections/finds/items?find=${'x'.repeat(9000)}`)).status).toBe(414);
});

test('texts are packed by what the client takes', async () => {
  for (const coding of ['gzip', 'br']) {
    const response = await fetch(`${at.site}/collections/finds/items`, { headers: { 'accept-encoding': coding } });
    expect(response.headers.get('content-encoding')).toBe(coding);
    expect(((await response.json()) as Any).numberReturned).toBe(100);
  }
  expect(
    (await fetch(`${at.site}/collections/finds/items`, { headers: { 'accept-encoding': 'identity' } })).headers.get(
      'content-encoding',
    ),
  ).toBeNull();
});

test('two lengths, two hosts, a smuggled request: one refusal each', async () => {
  const both = await raw(
    'POST /sites/test-ledge/processes/echo/execution HTTP/1.1\r\nContent-Type: application/json\r\nContent-Length: 5\r\nTransfer-Encoding: chunked',
  );
  expect(both).toMatch(/^HTTP\/1\.1 400 /);
  const spaced = await raw('GET / HTTP/1.1\r\nX-A : b');
  expect(spaced).toMatch(/^HTTP\/1\.1 400 /);
});
