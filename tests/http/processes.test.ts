import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { json, linkOf, type Served, serve } from './fake-service.js';

// The numbers follow the checks of the OGC executable test suite for Processes.

let at: Served;
beforeAll(async () => {
  at = await serve();
});
afterAll(() => at.close());

// biome-ignore lint/suspicious/noExplicitAny: documents are looked at as clients see them
type Any = any;
const REL = 'http://www.opengis.net/def/rel/ogc/1.0';
const exceptions = 'http://www.opengis.net/def/exceptions/ogcapi-processes-1/1.0';

function run(process: string, body: unknown, headers: Record<string, string> = {}): Promise<Response> {
  return fetch(`${at.site}/processes/${process}/execution`, {
    method: 'POST',
    headers: { 'content-type': 'application/json', ...headers },
    body: typeof body === 'string' ? body : JSON.stringify(body),
  });
}

async function runLater(process: string, body: unknown): Promise<{ location: string; body: Any }> {
  const response = await run(process, body, { prefer: 'respond-async' });
  expect(response.status).toBe(201);
  expect(response.headers.get('preference-applied')).toBe('respond-async');
  return { location: response.headers.get('location') as string, body: await response.json() };
}

async function ended(location: string): Promise<Any> {
  for (let i = 0; i < 100; i++) {
    const { body } = await json(location);
    if (!['accepted', 'running'].includes(body.status)) return body;
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
  throw new Error('the job did not end');
}

test('1: the list of processes, its links and its limit', async () => {
  const { body } = await json(`${at.site}/processes`);
  expect(linkOf(body, 'self')?.type).toBe('application/json');
  expect(body.processes.map((p: Any) => p.id)).toContain('echo');
  for (const p of body.processes) {
    expect(p.version).toBeTruthy();
    expect(p.outputTransmission).toEqual(['value', 'reference']);
  }
  expect((await json(`${at.site}/processes?limit=1`)).body.processes).toHaveLength(1);
  for (const limit of ['0', 'many', '-1'])
    expect((await fetch(`${at.site}/processes?limit=${limit}`)).status).toBe(400);
});

test('2: a description has inputs and outputs with schemas, and links its execution', async () => {
  const { body } = await json(`${at.site}/processes/echo`);
  for (const io of [...Object.values(body.inputs), ...Object.values(body.outputs)] as Any[]) {
    expect(io.title).toBeTruthy();
    expect(typeof io.schema).toBe('object');
  }
  expect(linkOf(body, `${REL}/execute`)?.href).toBe(`${at.site}/processes/echo/execution`);
});

test('3: an unknown process has the exception type of the standard', async () => {
  for (const response of [await fetch(`${at.site}/processes/none`), await run('none', { inputs: {} })]) {
    expect(response.status).toBe(404);
    const body = (await response.json()) as Any;
    expect(body).toMatchObject({ type: `${exceptions}/no-such-process`, status: 404 });
    expect(body.title && body.detail && body.instance).toBeTruthy();
  }
});

describe('4: at once', () => {
  test.each([
    ['text', { text: 'hull' }, 'hull', 'text/plain; charset=utf-8'],
    ['array', { array: [1, 2, 3] }, '[1,2,3]', 'application/json'],
    ['object', { object: { value: { a: 1 } } }, '{"a":1}', 'application/json'],
    ['bbox', { bbox: { bbox: [1, 2, 3, 4] } }, '{"bbox":[1,2,3,4]}', 'application/json'],
    ['binary', { binary: 'aGVsbG8=' }, 'aGVsbG8=', 'text/plain; charset=utf-8'],
    [
      'binary with its type',
      { binary: { value: 'aGVsbG8=', mediaType: 'image/png', encoding: 'base64' } },
      'aGVsbG8=',
      'text/plain; charset=utf-8',
    ],
    ['mixed', { mixed: 4.5 }, '4.5', 'application/json'],
  ])('raw, one output: %s as its own body', async (_, inputs, text, type) => {
    const response = await run('echo', { inputs });
    expect(response.status).toBe(200);
    expect(response.headers.get('content-type')).toBe(type);
    expect(await response.text()).toBe(text);
  });

  test('document: keyed by output id, objects with their media type', async () => {
    const response = await run('echo', {
      inputs: { text: 'hull', object: { value: { a: 1 } }, array: [1] },
      response: 'document',
    });
    expect(response.headers.get('content-type')).toBe('application/json');
    expect(await response.json()).toEqual({
      text: 'hull',
      array: [1],
      object: { value: { a: 1 }, mediaType: 'application/json' },
    });
  });

  test('document of an analysis: bytes in base64, texts with their type', async () => {
    const body = (await (await run('median-weight', { inputs: {}, response: 'document' })).json()) as Any;
    expect(Object.keys(body)).toEqual(['summary', 'table', 'figure', 'coverage', 'methods', 'provenance']);
    expect(body.summary.value.median_g).toBe(12.5);
    expect(body.figure).toMatchObject({ mediaType: 'image/svg+xml' });
    expect(body.coverage).toMatchObject({ encoding: 'base64', value: 'SUkqAA==' });
    expect(body.methods).toBe('The middle of the weights (Nobody 1900).');
  });

  test('raw, several outputs: one part each, in the order asked, equal bytes on every run', async () => {
    const wish = { inputs: {}, outputs: { figure: {}, coverage: { transmissionMode: 'value' } } };
    const response = await run('median-weight', wish);
    const type = response.headers.get('content-type') as string;
    const boundary = /^multipart\/related; boundary=([\w-]+);/.exec(type)?.[1];
    const bytes = Buffer.from(await response.arrayBuffer());
    const parts = bytes.toString('latin1').split(`--${boundary}`);
    expect(parts).toHaveLength(4);
    expect(parts[1]).toContain('Content-ID: <figure>\r\n\r\n<svg');
    expect(parts[2]).toBe(
      '\r\nContent-Type: image/tiff; application=geotiff\r\nContent-ID: <coverage>\r\n\r\nII*\0\r\n',
    );
    expect(parts[3]).toBe('--\r\n');
    const again = Buffer.from(await (await run('median-weight', wish)).arrayBuffer());
    expect(again.equals(bytes)).toBe(true);
  });

  test('one output asked for, in its media type; another type is refused before the run', async () => {
    const response = await run('median-weight', {
      inputs: {},
      outputs: { figure: { format: { mediaType: 'image/svg+xml' } } },
    });
    expect(response.headers.get('content-type')).toMatch(/^image\/svg\+xml/);
    const refused = await run('median-weight', {
      inputs: {},
      outputs: { figure: { format: { mediaType: 'image/png' } } },
    });
    expect(refused.status).toBe(400);
  });

  test('by reference needs a kept run', async () => {
    const response = await run('median-weight', { inputs: {}, outputs: { figure: { transmissionMode: 'reference' } } });
    expect(response.status).toBe(400);
    expect(((await response.json()) as Any).detail).toContain('respond-async');
  });

  test.each([
    ['no object', '[1]', 400],
    ['no JSON', '{"inputs":', 400],
    ['nothing', '', 415],
    ['an unknown member', { inputs: {}, input: {} }, 400],
    ['an unknown input', { inputs: { txt: 'x' } }, 400],
    ['a wrong value', { inputs: { text: 7 } }, 400],
    ['an unknown output', { inputs: {}, outputs: { txt: {} } }, 400],
    ['a wrong response', { inputs: {}, response: 'both' }, 400],
    ['a wrong mode', { inputs: {}, outputs: { text: { transmissionMode: 'mail' } } }, 400],
    ['a reference', { inputs: { text: { href: 'http://127.0.0.1/secret' } } }, 400],
    ['a reference in a list', { inputs: { array: [{ href: 'file:///etc/passwd' }] } }, 400],
    ['a subscriber', { inputs: {}, subscriber: { successUri: 'http://127.0.0.1/' } }, 400],
    ['a prototype', '{"inputs":{"__proto__":{"polluted":1}}}', 400],
    ['a constructor', '{"inputs":{"constructor":{"prototype":{"polluted":1}}}}', 400],
    ['a prototype beside inputs', '{"__proto__":{"polluted":1},"inputs":{}}', 400],
    ['a prototype among outputs', '{"inputs":{},"outputs":{"__proto__":{}}}', 400],
  ])('%s is refused with words', async (_, body, status) => {
    const response = await (body === ''
      ? fetch(`${at.site}/processes/echo/execution`, { method: 'POST' })
      : run('echo', body));
    expect(response.status).toBe(status);
    expect(response.headers.get('content-type')).toBe('application/problem+json');
    expect(((await response.json()) as Any).detail.length).toBeGreaterThan(10);
    expect(({} as Any).polluted).toBeUndefined();
  });

  test('a body of another type, too large, or in another charset is refused', async () => {
    expect((await run('echo', 'a,b', { 'content-type': 'text/csv' })).status).toBe(415);
    expect((await run('echo', { inputs: { text: 'x'.repeat(1_100_000) } })).status).toBe(413);
    expect((await run('echo', '{}', { 'content-type': 'application/json; charset=koi8-r' })).status).toBe(415);
    expect((await run('echo', '{}', { 'content-encoding': 'compress' })).status).toBe(415);
  });

  test('a refusal of the analysis keeps its sentence; a bug becomes a number and keeps its secret', async () => {
    const refused = await run('median-weight', { inputs: { artefact_class: 'none' } });
    expect(refused.status).toBe(422);
    expect(((await refused.json()) as Any).detail).toBe('needs at least 2 finds, got 0');
    const bug = await run('median-weight', { inputs: { artefact_class: 'bug' } });
    expect(bug.status).toBe(500);
    const text = await bug.text();
    expect(text).not.toContain('secret');
    expect(text).toContain(at.bugs.at(-1)?.id);
  });
});

describe('5: later', () => {
  test('201 with Location and a status; then results in the form asked for', async () => {
    const { location, body } = await runLater('echo', {
      inputs: { text: 'later', pause_s: 0.3 },
      response: 'document',
    });
    expect(location).toBe(`${at.site}/jobs/${body.jobID}`);
    expect(body).toMatchObject({ type: 'process', processID: 'echo', status: 'running' });
    const early = await fetch(`${location}/results`);
    expect(early.status).toBe(404);
    expect(((await early.json()) as Any).type).toBe(`${exceptions}/result-not-ready`);
    const status = await ended(location);
    expect(status).toMatchObject({ status: 'successful', progress: 100 });
    const results = linkOf(status, `${REL}/results`);
    expect((await json(results?.href as string)).body).toEqual({ text: 'later' });
  });

  test('a process that only runs later does so without being asked', async () => {
    const response = await run('long-work', { inputs: {} });
    expect(response.status).toBe(201);
    expect(response.headers.get('preference-applied')).toBeNull();
  });

  test('raw, one output by reference: 204 and a link that answers; several: parts with their place', async () => {
    const one = await runLater('median-weight', { inputs: {}, outputs: { figure: { transmissionMode: 'reference' } } });
    await ended(one.location);
    const response = await fetch(`${one.location}/results`);
    expect(response.status).toBe(204);
    const href = /<([^>]+)>/.exec(response.headers.get('link') as string)?.[1] as string;
    expect((await fetch(href)).headers.get('content-type')).toMatch(/^image\/svg/);
    const several = await runLater('median-weight', {
      inputs: {},
      outputs: { figure: { transmissionMode: 'reference' }, methods: {} },
    });
    await ended(several.location);
    const text = await (await fetch(`${several.location}/results`)).text();
    expect(text).toContain(`Content-Location: ${several.location}/results/figure`);
    const document = await runLater('median-weight', {
      inputs: {},
      outputs: { figure: { transmissionMode: 'reference' } },
      response: 'document',
    });
    await ended(document.location);
    expect((await json(`${document.location}/results`)).body).toEqual({
      figure: { href: `${document.location}/results/figure`, type: 'image/svg+xml' },
    });
  });

  test('figure, table, methods and single outputs; formulas are guarded in texts only', async () => {
    const { location } = await runLater('median-weight', { inputs: {} });
    const status = await ended(location);
    expect(status.links.filter((l: Any) => l.rel === 'related')).toHaveLength(3);
    expect((await fetch(`${location}/figure.svg`)).headers.get('content-type')).toBe('image/svg+xml; charset=utf-8');
    expect(await (await fetch(`${location}/methods.txt`)).text()).toBe('The middle of the weights (Nobody 1900).');
    const table = await fetch(`${location}/table.csv`);
    expect(table.headers.get('content-type')).toBe('text/csv; charset=utf-8');
    expect(await table.text()).toBe(
      'artefact_class,z [m]\r\n"\'=HYPERLINK(""x"")",-1.25\r\n\'+1,-14\r\n\'-2,\r\n\'@a,0\r\n"jar, ""big""",3\r\n',
    );
    expect(await (await fetch(`${location}/results?outputs=methods`)).text()).toContain('Nobody 1900');
    expect((await fetch(`${location}/results?outputs=none`)).status).toBe(400);
    expect((await fetch(`${location}/results/none`)).status).toBe(404);
    expect(Buffer.from(await (await fetch(`${location}/results/coverage`)).arrayBuffer())).toEqual(
      Buffer.from([0x49, 0x49, 42, 0]),
    );
  });

  test('a failed job answers its refusal as its result', async () => {
    const { location } = await runLater('median-weight', { inputs: { artefact_class: 'none' } });
    expect((await ended(location)).status).toBe('failed');
    const results = await fetch(`${location}/results`);
    expect(results.status).toBe(422);
    expect(((await results.json()) as Any).detail).toContain('at least 2 finds');
  });

  test('DELETE stops a job: dismissed, its results gone', async () => {
    const { location } = await runLater('echo', { inputs: { text: 'x', pause_s: 30 } });
    const response = await fetch(location, { method: 'DELETE' });
    expect(response.status).toBe(200);
    expect(((await response.json()) as Any).status).toBe('dismissed');
    expect((await fetch(`${location}/results`)).status).toBe(410);
    expect((await ended(location)).status).toBe('dismissed');
  });

  test('an unknown job has the exception type of the standard', async () => {
    for (const path of ['', '/results', '/figure.svg', '/table.csv', '/methods.txt', '/results/summary']) {
      const response = await fetch(`${at.site}/jobs/none${path}`);
      expect(response.status).toBe(404);
      expect(((await response.json()) as Any).type).toBe(`${exceptions}/no-such-job`);
    }
    expect((await fetch(`${at.site}/jobs/none`, { method: 'DELETE' })).status).toBe(404);
  });

  test('the list of jobs and its filters', async () => {
    const all = (await json(`${at.site}/jobs`)).body.jobs;
    expect(all.length).toBeGreaterThan(5);
    for (const job of all) expect(job.processID).toBeTruthy();
    const list = async (query: string) => (await json(`${at.site}/jobs?${query}`)).body.jobs as Any[];
    expect((await list('status=failed')).every((j) => j.status === 'failed')).toBe(true);
    expect((await list('status=failed&status=dismissed')).length).toBeGreaterThan((await list('status=failed')).length);
    expect((await list('processID=echo')).every((j) => j.processID === 'echo')).toBe(true);
    expect(await list('limit=2')).toHaveLength(2);
    expect(await list('datetime=../2000-01-01T00:00:00Z')).toHaveLength(0);
    expect(await list('datetime=2000-01-01T00:00:00Z/..')).toHaveLength(all.length);
    expect(await list('minDuration=1000')).toHaveLength(0);
    expect((await list('maxDuration=1000&type=process')).length).toBeGreaterThan(0);
    for (const bad of ['status=done', 'type=service', 'minDuration=-1', 'maxDuration=long', 'limit=0']) {
      expect((await fetch(`${at.site}/jobs?${bad}`)).status, bad).toBe(400);
    }
  });
});

test('a client that goes away stops its synchronous run', async () => {
  const stop = new AbortController();
  const request = fetch(`${at.site}/processes/echo/execution`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ inputs: { text: 'x', pause_s: 20 } }),
    signal: stop.signal,
  }).catch(() => null);
  await new Promise((resolve) => setTimeout(resolve, 100));
  stop.abort();
  await request;
  for (let i = 0; i < 50 && at.service.aborted.length === 0; i++)
    await new Promise((resolve) => setTimeout(resolve, 20));
  expect(at.service.aborted).toEqual(['echo']);
});
