import { expect, test } from 'vitest';
import { cautions } from '../../../src/http/pages/cautions.js';
import { collectionPage, itemPage, itemsPage, sitesPage } from '../../../src/http/pages/collections.js';
import { type LandingModel, landingPage } from '../../../src/http/pages/landing.js';
import { safeHref } from '../../../src/http/pages/layout.js';
import { jobPage, listPage, processPage } from '../../../src/http/pages/processes.js';
import { apiPage, linksPage } from '../../../src/http/pages/resources.js';
import { payloads } from '../../figures/payloads.js';

const base = 'https://wreck.example/sites/tarn-ledge';

/** Every page of the service with one text in all places that come from records or requests. */
function allPages(text: string, href = `${base}/x`): Record<string, string> {
  const link = { href, title: text, rel: 'items', type: 'application/json' };
  const frame = { trail: [link], alternates: [link] };
  const facts = [{ name: text, value: text }];
  const address = { title: text, value: text, hint: text };
  const input = { name: text, title: text, description: text, kind: text, unit: text, choices: [text], standard: text };
  const landing: LandingModel = {
    frame,
    site: { id: text, name: text, period: text },
    shown: { classes: [text], seasons: [text], windowAreaM2: 238 },
    facts,
    legend: [{ title: text, colour: '#0072b2' }],
    map: { styleUrl: href, bounds: [-1, 44, 1, 46], siteNorthAzimuthDeg: 27.9, grid: null },
    planSvg: null,
    layers: [
      { id: text, title: text, kind: text, count: 3, shown: true, links: [link] },
      { id: 'surface', title: 'thickness', kind: 'surface', count: null, shown: null, links: [] },
    ],
    addresses: [address],
    analyses: [{ question: text, title: text, processUrl: href, curl: text, commandLine: text, answer: text }],
    links: [link],
    siteCautions: [text],
  };
  return {
    landing: landingPage(landing),
    sites: sitesPage({ frame, sites: [{ title: text, href, note: text }], links: [link] }),
    collection: collectionPage({
      frame,
      id: text,
      title: text,
      description: text,
      facts,
      fields: [{ name: text, title: text, type: text, unit: text, description: text }],
      addresses: [address],
      links: [link],
    }),
    items: itemsPage({
      frame,
      title: text,
      sentence: text,
      matched: 6400,
      columns: [{ name: text, title: text, unit: text, number: false }],
      rows: [{ href, label: text, cells: [text] }],
      links: [link],
    }),
    item: itemPage({ frame, title: text, values: [{ title: text, unit: text, value: text }], links: [link] }),
    process: processPage({
      frame,
      id: text,
      title: text,
      version: text,
      question: text,
      formula: text,
      inputs: [input],
      commonInputs: [input],
      outputs: [{ name: text, title: text }],
      cautions: [text],
      sources: [text],
      curl: text,
      commandLine: text,
      links: [link],
    }),
    job: jobPage({
      frame,
      id: text,
      question: text,
      sentence: text,
      status: 'successful',
      progress: 100,
      message: text,
      facts,
      answer: {
        figureUrl: href,
        figureTitle: text,
        table: { columns: [{ title: text, unit: text, number: false }], rows: [[text]] },
        leftOut: [text],
        cautions: [text],
        methods: text,
      },
      links: [link],
    }),
    list: listPage({ frame, title: text, entries: [{ href, title: text, note: text }], links: [link] }),
    api: apiPage({
      frame,
      baseUrl: base,
      links: [link],
      document: {
        info: { title: text, version: text, description: text },
        paths: {
          // a path with places to fill is no link: braces would change the page on purpose
          [`/${text.replace(/[{}]/g, '')}`]: {
            get: {
              tags: [text],
              summary: text,
              description: text,
              parameters: [{ $ref: `#/components/parameters/limit` }, { name: text, in: 'query', description: text }],
              responses: { 200: {} },
            },
          },
        },
        components: { parameters: { limit: { name: 'limit', in: 'query', schema: { type: 'integer' } } } },
      },
    }),
    links: linksPage({ frame, title: text, description: text, links: [link], document: { [text]: text } }),
  };
}

const tags = (html: string) => [...html.matchAll(/<([a-z][\w-]*)((?:\s+[\w:-]+(?:="[^"]*")?)*)\s*\/?>/gi)];
const decoded = (text: string) =>
  text
    .replaceAll('&lt;', '<')
    .replaceAll('&gt;', '>')
    .replaceAll('&quot;', '"')
    .replaceAll('&#39;', "'")
    .replaceAll('&amp;', '&');

test('text of records stays text on every page', () => {
  const plain = allPages('jar');
  for (const payload of payloads) {
    for (const [name, html] of Object.entries(allPages(payload))) {
      // the same elements with the same attributes, whatever the text
      const shape = (page: string) =>
        tags(page).map(([, tag, attributes]) => tag + attributes.replace(/="[^"]*"/g, ''));
      expect(shape(html), `${name}: ${payload}`).toEqual(shape(plain[name]));
      if (/[<>"']/.test(payload))
        expect(html.replace(/<script type="application\/json".*?<\/script>/s, '')).not.toContain(payload);
    }
  }
});

test('no page holds inline script, inline style or event handlers', () => {
  for (const [name, html] of Object.entries(allPages('jar'))) {
    for (const [, tag, attributes] of tags(html)) {
      expect(tag, name).not.toBe('style');
      expect(attributes, name).not.toMatch(/\s(on\w+|style)=/i);
      if (tag !== 'script') continue;
      if (attributes.includes('type="application/json"')) continue;
      expect(attributes, name).toMatch(/^ type="module" src="\/static\/[\w-]+\.js"$/);
    }
    expect(html, name).not.toMatch(/<script[^>]*type="module"[^>]*>[^<]/);
  }
});

test('every address is the absolute one given, or our own static files', () => {
  for (const [name, html] of Object.entries(allPages('jar'))) {
    for (const [, tag, attributes] of tags(html)) {
      for (const [, key, value] of attributes.matchAll(/\s(href|src|action)="([^"]*)"/g)) {
        const fine =
          decoded(value).startsWith(`${base}/`) ||
          value.startsWith('/static/') ||
          value === '#content' ||
          value === 'data:,';
        expect(fine, `${name} <${tag} ${key}="${value}">`).toBe(true);
      }
    }
  }
  expect(landingPage(landingWith({ staticUrl: 'https://wreck.example/static/' }))).toContain(
    'src="https://wreck.example/static/map.js"',
  );
});

test('an address that would run script goes nowhere', () => {
  for (const href of [
    'javascript:alert(1)',
    ' javascript:alert(1)',
    'data:text/html,x',
    'vbscript:x',
    '//evil.example',
    'JAVASCRIPT:1',
  ]) {
    expect(safeHref(href)).toBe('#');
    for (const html of Object.values(allPages('jar', href))) {
      expect(html.replace(/<script type="application\/json".*?<\/script>/s, '')).not.toContain(`"${href}"`);
    }
  }
  expect(safeHref('http://127.0.0.1:8080/a')).toBe('http://127.0.0.1:8080/a');
});

function landingWith(frame: Partial<LandingModel['frame']>, more: Partial<LandingModel> = {}): LandingModel {
  return {
    frame: { trail: [], ...frame },
    site: { id: 'tarn-ledge', name: 'Tarn Ledge brig' },
    shown: { classes: [], seasons: ['2021', '2022', '2023'], windowAreaM2: 238 },
    facts: [],
    legend: [],
    map: { styleUrl: `${base}/styles/site`, bounds: [-1, 44, 1, 46], siteNorthAzimuthDeg: 27.9, grid: null },
    planSvg: '<svg xmlns="http://www.w3.org/2000/svg"></svg>',
    layers: [
      {
        id: 'finds',
        title: 'Finds',
        kind: 'points',
        count: 6400,
        shown: true,
        links: [{ href: `${base}/collections/finds/items`, title: 'table', rel: 'items' }],
      },
      { id: 'levels', title: 'Levels', kind: 'points', count: 9, shown: null, links: [] },
    ],
    addresses: [{ title: 'Vector tiles', value: `${base}/xyz/finds/{z}/{x}/{y}.mvt`, hint: 'last zoom 22' }],
    analyses: [],
    links: [],
    siteCautions: ['The site is invented.'],
    ...more,
  };
}

test('the first page of a site says what is shown and carries every caution', () => {
  const html = decoded(landingPage(landingWith({})).replace(/<\/?strong[^>]*>/g, ''));
  expect(html).toContain('Showing all classes of 2021 to 2023 in the dug area, 238\u2009m², as known on today.');
  expect(cautions.map((c) => c.word)).toEqual([
    'Law',
    'Location',
    'War graves and state vessels',
    'Diving',
    'Navigation',
    'Conservation',
    'Fuel and cargo',
    'Ordnance',
    'Human remains',
    'Statistics',
    'Accuracy',
    'People',
    'Bathymetry',
  ]);
  for (const caution of cautions) expect(html).toContain(`${caution.word}. ${caution.sentence}`);
  expect(html).toContain('This site. The site is invented.');
  expect(html).toContain('local law and licensed practice decide');
  for (const other of Object.values(allPages('jar')))
    expect(other).toContain('Local law and licensed practice decide.');
});

test('the map finds its style and layers as data; without map no map script is loaded', () => {
  const html = landingPage(landingWith({}));
  const data = /<script type="application\/json" id="map-config">(.*?)<\/script>/s.exec(html)?.[1] ?? '';
  expect(JSON.parse(data)).toMatchObject({
    styleUrl: `${base}/styles/site`,
    siteNorthAzimuthDeg: 27.9,
    layers: [{ id: 'finds', title: 'Finds', shown: true, itemsUrl: `${base}/collections/finds/items` }],
  });
  expect(html).toContain('src="/static/map.js"');
  expect(html).toContain(`value="${base}/xyz/finds/{z}/{x}/{y}.mvt"`);
  const without = landingPage(landingWith({}, { map: null, planSvg: null }));
  expect(without).not.toContain('map.js');
  expect(without).not.toContain('map-config');
  expect(without).toContain('The map needs script and WebGL.');
});

test('map data cannot end its element', () => {
  const html = landingPage(
    landingWith(
      {},
      {
        layers: [
          { id: 'x', title: '</script><script>alert(1)</script>', kind: 'points', count: 1, shown: true, links: [] },
        ],
      },
    ),
  );
  expect(html.match(/<script/g)).toHaveLength(html.match(/<\/script>/g)?.length ?? 0);
  expect(html).toContain('\\u003c/script>');
});

test('items: unknown is an empty cell, numbers stand to the right, long tables are cut in words', () => {
  const columns = Array.from({ length: 20 }, (_, i) => ({ name: `c${i}`, title: `c${i}`, number: i === 0 }));
  const html = itemsPage({
    frame: { trail: [] },
    title: 'Finds',
    matched: 12345,
    columns,
    rows: [
      {
        href: `${base}/1`,
        label: 'TL-1',
        cells: [-0.25, null, true, 'https://example.org/a?b=1&c=2', ...Array(16).fill('z')],
      },
    ],
    links: [],
  });
  expect(html).toContain('<td class="number">\u22120.25</td><td></td><td>yes</td>');
  expect(html).toContain('<a href="https://example.org/a?b=1&amp;c=2">');
  expect(html).toContain('1 of 12\u2009345 records. 6 more columns');
  expect(html.match(/<th /g)).toHaveLength(15);
  expect(itemsPage({ frame: { trail: [] }, title: 'Finds', matched: 0, columns, rows: [], links: [] })).toContain(
    'No record matches.',
  );
});

test('a running job asks again and shows its share; a finished one does not', () => {
  const job = { frame: { trail: [] }, id: 'j1', question: 'Clustered?', facts: [], links: [] } as const;
  const running = jobPage({ ...job, status: 'running', progress: 41, message: '410 of 999 patterns simulated' });
  expect(running).toContain('http-equiv="refresh" content="3"');
  expect(running).toContain('<progress max="100" value="41">');
  expect(running).toContain('410 of 999 patterns simulated');
  const failed = jobPage({
    ...job,
    status: 'failed',
    progress: 41,
    message: 'nearest-neighbour needs at least 2 finds, got 1',
  });
  expect(failed).not.toContain('http-equiv="refresh"');
  expect(failed).toContain('needs at least 2 finds, got 1');
});

test('the API page lists every operation under its subject, open addresses without link', () => {
  const operation = (summary: string) => ({ tags: ['Tiles'], summary, responses: { 200: {}, 404: {} } });
  const html = apiPage({
    frame: { trail: [] },
    baseUrl: base,
    links: [],
    document: {
      info: { title: 'Tarn Ledge brig', version: '0.1.0' },
      paths: {
        '/tiles': { get: operation('Tilesets') },
        '/tiles/{tms}': { get: operation('One tileset') },
        '/imports': { post: { summary: 'Import' } },
      },
    },
  });
  expect(html).toContain(`<a href="${base}/tiles">/tiles</a>`);
  expect(html).toContain('<code>GET</code> <span>/tiles/{tms}</span>');
  expect(html).toContain('<code>POST</code> <span>/imports</span>');
  expect(html.match(/<h2>/g)).toHaveLength(2);
  expect(html).toContain('Answers 200, 404');
});

test('the same model gives the same bytes', () => {
  expect(allPages('jar')).toEqual(allPages('jar'));
});
