import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { promisify } from 'node:util';
import { gzip } from 'node:zlib';
import { siteSchema } from '../../src/domain/site.js';
import { type AppOptions, createApp } from '../../src/http/app.js';
import { limitServer } from '../../src/http/limits.js';
import { echo, echoDescription } from '../../src/operations/echo.js';
import type {
  Download,
  ExecuteRequest,
  Outputs,
  ProcessDescription,
  Service,
  SurveyView,
} from '../../src/operations/service.js';
import { Problem } from '../../src/problems.js';
import type { JobRecord, Version } from '../../src/storage/store.js';
import { fakeCollections, selectRows } from './fake-records.js';

export const storageCrs = 'http://www.opengis.net/def/crs/EPSG/0/32626';

const site = siteSchema.parse({
  id: 'test-ledge',
  name: 'Test Ledge wreck',
  period: '1790s',
  vertical_datum: { name: 'CP1', kind: 'control_point_plane' },
  grids: [
    {
      id: 'g1',
      crs: 'EPSG:32626',
      origin_easting: 412037.4,
      origin_northing: 4984118.25,
      azimuth_deg: 0,
      columns: 34,
      rows: 20,
    },
  ],
  seasons: [{ id: 'S1' }, { id: 'S2' }],
  artefact_classes: [
    { id: 'ceramics' },
    { id: 'jar', parent: 'ceramics' },
    { id: 'pipe', parent: 'ceramics' },
    { id: 'nail' },
  ],
  cautions: ['A caution of this site.'],
});

export const version: Version = {
  site: site.id,
  version: 1,
  contentHash: 'a'.repeat(64),
  acceptedAt: '2026-01-02T03:04:05.000Z',
  tables: [{ name: 'finds', rows: 137 }],
  setAside: [],
};

const median: ProcessDescription = {
  id: 'median-weight',
  title: 'Median weight',
  description: 'How heavy is the middle find?',
  version: '1.0.0',
  jobControlOptions: ['sync-execute', 'async-execute', 'dismiss'],
  inputs: {
    artefact_class: { title: 'Artefact class', minOccurs: 0, schema: { type: 'string' } },
    window: { title: 'Window', minOccurs: 0, schema: { type: 'object' } },
  },
  outputs: {
    summary: { title: 'Numbers', schema: { type: 'object' } },
    table: { title: 'Table', schema: { type: 'object' } },
    figure: { title: 'Figure', schema: { type: 'string', contentMediaType: 'image/svg+xml' } },
    coverage: { title: 'Surface', schema: { type: 'string', contentMediaType: 'image/tiff; application=geotiff' } },
    methods: { title: 'Methods', schema: { type: 'string', contentMediaType: 'text/plain' } },
    provenance: { title: 'Provenance', schema: { type: 'object' } },
  },
  about: {
    question: 'How heavy is the middle find?',
    formula: 'x(n/2)',
    cautions: ['Weights differ.'],
    sources: ['Nobody 1900'],
    commonInputs: ['artefact_class'],
  },
};

const slow: ProcessDescription = {
  ...median,
  id: 'long-work',
  title: 'Long work',
  jobControlOptions: ['async-execute', 'dismiss'],
};

function medianOutputs(inputs: Readonly<Record<string, unknown>>): Outputs {
  return new Map([
    ['summary', { mediaType: 'application/json', value: { median_g: 12.5, window: inputs['window'] ?? null } }],
    [
      'table',
      {
        mediaType: 'application/json',
        value: {
          columns: [
            { name: 'artefact_class', title: 'Artefact class' },
            { name: 'z', title: 'Elevation', unit: 'm' },
          ],
          rows: [
            ['=HYPERLINK("x")', -1.25],
            ['+1', -14],
            ['-2', null],
            ['@a', 0],
            ['jar, "big"', 3],
          ],
        },
      },
    ],
    ['figure', { mediaType: 'image/svg+xml', value: '<svg xmlns="http://www.w3.org/2000/svg"/>' }],
    ['coverage', { mediaType: 'image/tiff; application=geotiff', bytes: Uint8Array.of(0x49, 0x49, 42, 0) }],
    ['methods', { mediaType: 'text/plain', value: 'The middle of the weights (Nobody 1900).' }],
    [
      'provenance',
      {
        mediaType: 'application/json',
        value: { seed: 1790, cautions: ['Few finds.'], left_out: { reasons: [{ reason: 'no weight', count: 20 }] } },
      },
    ],
  ]);
}

/** The service without storage, workers or a real site: records and jobs in memory. */
export class FakeService implements Service {
  revisionNumber = 1;
  tilesMade = 0;
  storeState: true | string = true;
  readonly aborted: string[] = [];
  private readonly view: SurveyView;
  private readonly jobRecords: JobRecord[] = [];
  private readonly outputs = new Map<string, Outputs>();
  private readonly stops = new Map<string, AbortController>();

  constructor() {
    this.view = {
      site,
      version,
      identifiedAsOf: null,
      storageCrs: { uri: storageCrs, axes: 'east-north' },
      collections: fakeCollections(),
      sheet: () => ({
        windowAreaM2: 24,
        legend: [],
        planSvg: null,
        siteNorthAzimuthDeg: 1.5,
        grid: null,
        shown: ['finds'],
        siteGridProj: null,
      }),
    };
  }

  sites = async () => [{ id: site.id, title: site.name }];
  revision = () => this.revisionNumber;

  async survey(id: string, state: { version: number | null; identifiedAsOf: string | null }): Promise<SurveyView> {
    if (id !== site.id) throw new Problem('no-such-site', `there is no site "${id}"`);
    if (state.version !== null && state.version !== 1)
      throw new Problem('no-such-version', `there is no data version ${state.version}`);
    return this.view;
  }

  async versions(id: string) {
    await this.survey(id, { version: null, identifiedAsOf: null });
    return [version];
  }

  async select(
    _survey: SurveyView,
    collection: Parameters<Service['select']>[1],
    selection: Parameters<Service['select']>[2],
  ) {
    for (const season of selection.seasons) {
      if (!site.seasons.some(({ id }) => id === season))
        throw new Problem('unknown-season', `there is no season "${season}"`);
    }
    for (const name of selection.classes) {
      if (!site.artefact_classes.some(({ id }) => id === name))
        throw new Problem('unknown-class', `there is no artefact class "${name}"`);
    }
    return selectRows(collection, selection);
  }

  async tile(request: Parameters<Service['tile']>[0]) {
    this.tilesMade++;
    const { z, x, y, collections, selection } = request;
    // something is drawn only in the even columns, so that empty tiles exist
    const text =
      x % 2 === 1 && z > 12 ? '' : JSON.stringify([z, x, y, collections.map((c) => c.id), selection]).repeat(40);
    const bytes = Buffer.from(text);
    return {
      bytes,
      etag: `v1-${this.revisionNumber}-${z}-${x}-${y}-${collections.length}`,
      gzipped: () => promisify(gzip)(bytes, { level: 1 }),
    };
  }

  coverage = async () => Uint8Array.of(0x49, 0x49, 42, 0, 8, 0, 0, 0);
  csv = () => [Buffer.from('feature_id\r\n')];
  async download(): Promise<Download> {
    throw new Problem('store-unavailable', 'nothing is kept here');
  }
  styles = () => [{ id: 'sheet', title: 'Sheet' }];
  style(_survey: SurveyView, id: string, addresses: Parameters<Service['style']>[2]) {
    return id === 'sheet'
      ? { version: 8, sources: { finds: { type: 'vector', tiles: [addresses.tiles('finds')] } }, layers: [] }
      : null;
  }

  processes = (): readonly ProcessDescription[] => [echoDescription(), median, slow];

  async execute(request: ExecuteRequest) {
    const run = async (signal: AbortSignal, progress: (share: number) => void): Promise<Outputs> => {
      if (request.inputs['artefact_class'] === 'bug') throw new TypeError('secret stack');
      if (request.inputs['artefact_class'] === 'none')
        throw new Problem('too-few-points', 'needs at least 2 finds, got 0');
      if (request.process !== 'echo') return medianOutputs(request.inputs);
      const value = await echo(request.inputs, progress, signal);
      return new Map(
        Object.entries(value).map(([id, v]) => [
          id,
          { mediaType: typeof v === 'string' ? 'text/plain' : 'application/json', value: v },
        ]),
      );
    };
    if (request.mode === 'sync') {
      request.signal.addEventListener('abort', () => this.aborted.push(request.process));
      return { kind: 'done' as const, outputs: await run(request.signal, () => {}), job: null };
    }
    const id = `job${this.jobRecords.length + 1}`;
    const now = () => new Date().toISOString();
    this.jobRecords.unshift({
      id,
      site: request.site,
      process: request.process,
      status: 'running',
      progress: 0,
      message: '',
      request: JSON.stringify({ inputs: request.inputs, delivery: request.delivery }),
      version: 1,
      createdAt: now(),
      startedAt: now(),
      finishedAt: null,
      problem: null,
      pinned: false,
    });
    const stop = new AbortController();
    this.stops.set(id, stop);
    run(stop.signal, (share) => this.change(id, { progress: Math.floor(share * 100) })).then(
      (outputs) => {
        this.outputs.set(id, outputs);
        this.change(id, { status: 'successful', progress: 100, finishedAt: now() });
      },
      (error) => {
        const problem = error instanceof Problem ? JSON.stringify({ code: error.code, message: error.message }) : null;
        this.change(
          id,
          stop.signal.aborted ? { status: 'dismissed' } : { status: 'failed', finishedAt: now(), problem },
        );
      },
    );
    return { kind: 'job' as const, job: await this.job(request.site, id) };
  }

  private change(id: string, part: Partial<JobRecord>): void {
    const at = this.jobRecords.findIndex((job) => job.id === id);
    this.jobRecords[at] = { ...this.jobRecords[at], ...part };
  }

  jobs = async () => this.jobRecords;

  async job(_site: string, id: string): Promise<JobRecord> {
    const found = this.jobRecords.find((job) => job.id === id);
    if (found === undefined) throw new Problem('no-such-job', `there is no job "${id}"`);
    return found;
  }

  async results(siteId: string, id: string): Promise<Outputs> {
    const job = await this.job(siteId, id);
    if (job.problem !== null) {
      const { code, message } = JSON.parse(job.problem);
      throw new Problem(code, message);
    }
    const found = this.outputs.get(id);
    if (found === undefined) throw new Error('a bug of the run');
    return found;
  }

  async dismiss(siteId: string, id: string): Promise<JobRecord> {
    const job = await this.job(siteId, id);
    this.stops.get(id)?.abort(new Error('stopped'));
    this.change(id, { status: 'dismissed' });
    return { ...job, status: 'dismissed' };
  }

  ready = async () => ({ store: this.storeState, queue: true as const });
}

/** A server on a free port of this machine. */
export async function serve(options: Partial<AppOptions> = {}) {
  const service = new FakeService();
  const bugs: { error: unknown; id: string }[] = [];
  const app = createApp(service, {
    staticFolder: null,
    software: 'wreckfield 0.1.0',
    onBug: (error, id) => bugs.push({ error, id }),
    ...options,
  });
  const server = limitServer(createServer(app));
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const { port } = server.address() as AddressInfo;
  const root = `http://127.0.0.1:${port}`;
  const close = () =>
    new Promise<void>((resolve) => {
      server.close(() => resolve());
      server.closeAllConnections();
    });
  return { service, bugs, root, site: `${root}/sites/${site.id}`, port, close };
}

export type Served = Awaited<ReturnType<typeof serve>>;

/** JSON of an address, with whatever headers. */
export async function json(url: string, headers: Record<string, string> = {}) {
  const response = await fetch(url, { headers });
  // biome-ignore lint/suspicious/noExplicitAny: tests look into whatever document the service answers
  return { response, body: (await response.json()) as any };
}

export function linkOf(document: { links: { rel: string; href: string; type?: string }[] }, rel: string) {
  return document.links.find((link) => link.rel === rel);
}
