import { randomUUID } from 'node:crypto';
import type { RequestListener } from 'node:http';
import express from 'express';
import type { Service } from '../operations/service.js';
import { Problem } from '../problems.js';
import type { Answer, Context, Request, Route } from './exchange.js';
import { limits } from './limits.js';
import { type AddressOptions, baseUrl } from './links.js';
import { Metrics } from './metrics.js';
import { mediaTypeOf, negotiate } from './negotiate.js';
import { asProblem, bugDocument, type ProblemDocument, problemDocument } from './problem.js';
import { protections } from './protections.js';
import { checkQuery } from './query.js';
import { send } from './respond.js';
import { routes } from './routes.js';
import { shownAnswer } from './shown/frame.js';
import { listStaticFiles } from './static-files.js';
import { TileFront } from './tile-front.js';

export interface AppOptions extends AddressOptions {
  /** folder of scripts, styles and fonts for the pages; null = none */
  readonly staticFolder: string | null;
  /** name and version, shown in the API description */
  readonly software: string;
  /** told of every bug with the number the client got */
  readonly onBug?: (error: unknown, id: string, where: string) => void;
  /** report memory, processor and event-loop delay of this process too */
  readonly processMetrics?: boolean;
  readonly tileCacheBytes?: number;
}

const tileHeaders = {
  'Content-Type': mediaTypeOf('mvt'),
  'Cache-Control': 'no-cache',
  Vary: 'Accept, Accept-Encoding',
  'Access-Control-Allow-Origin': '*',
  'Access-Control-Expose-Headers': 'ETag',
  'X-Content-Type-Options': 'nosniff',
} as const;

/** express writes path parameters with colons, and a rest of the path with a star. */
function expressPath(path: string): string {
  return path === '/static/{file}' ? '/static/*file' : path.replace(/\{(\w+)\}/g, ':$1');
}

function methodsOf(group: readonly Route[]): string {
  const names = new Set<string>();
  for (const { method } of group) {
    names.add(method.toUpperCase());
    if (method === 'get') names.add('HEAD');
  }
  return [...names, 'OPTIONS'].join(', ');
}

function groupByPath(table: readonly Route[]): Map<string, Route[]> {
  const groups = new Map<string, Route[]>();
  for (const route of table) groups.set(route.path, [...(groups.get(route.path) ?? []), route]);
  return groups;
}

const parseJson = express.json({ limit: limits.bodyBytes, type: ['application/json', '+json'], strict: false });

function readBody(request: express.Request, response: express.Response): Promise<unknown> {
  return new Promise((resolve, reject) => {
    parseJson(request, response, (error?: unknown) => {
      if (error) reject(error);
      else if (request.body !== undefined) resolve(request.body);
      else if (request.headers['content-type'] === undefined) {
        reject(new Problem('unsupported-media-type', 'send the request body as application/json'));
      } else {
        const type = request.headers['content-type'];
        reject(new Problem('unsupported-media-type', `${type.slice(0, 100)} is not read here; send application/json`));
      }
    });
  });
}

/**
 * The whole service as one listener: tiles already made are answered first, everything else goes through the table of
 * routes. Use with `limitServer(http.createServer(createApp(…)))`.
 */
export function createApp(service: Service, options: AppOptions): RequestListener {
  const tiles = new TileFront({
    maxBytes: options.tileCacheBytes ?? limits.tileCacheBytes,
    revision: () => service.revision(),
    headers: tileHeaders,
  });
  const metrics = new Metrics(tiles, { process: options.processMetrics ?? false });
  const context: Context = {
    service,
    tiles,
    staticFiles: listStaticFiles(options.staticFolder),
    software: options.software,
    routes,
    metrics: () => metrics.text(),
  };

  const app = express();
  app.disable('x-powered-by');
  app.disable('etag');
  app.set('query parser', false);
  app.enable('case sensitive routing');
  app.use(...protections(options.publicBaseUrl ?? null));

  const answerOne = async (group: readonly Route[], request: express.Request, response: express.Response) => {
    const started = performance.now();
    const where = request.originalUrl.split('?')[0];
    const asked = {
      method: request.method,
      mediaType: 'application/json',
      ifNoneMatch: request.headers['if-none-match'],
      range: request.headers.range,
      ifRange: request.headers['if-range'] as string | undefined,
      acceptEncoding: request.headers['accept-encoding'],
    };
    let operation = 'none';
    let base = options.publicBaseUrl ?? '';
    try {
      base = baseUrl(request.headers, options);
      if (request.originalUrl.length > limits.addressCharacters) {
        throw new Problem(
          'address-too-long',
          `an address may have ${limits.addressCharacters} characters; send the rest by POST`,
        );
      }
      if (group.length === 0) throw new Problem('not-found', `there is nothing at ${where}`);
      const allow = methodsOf(group);
      if (request.method === 'OPTIONS') {
        response.setHeader('Allow', allow);
        send({ status: 204, body: null }, asked, response);
        return;
      }
      const wanted = request.method === 'HEAD' ? 'GET' : request.method;
      const route = group.find((r) => r.method.toUpperCase() === wanted);
      if (route === undefined) {
        response.setHeader('Allow', allow);
        throw new Problem('method-not-allowed', `${request.method} is not possible here; use ${allow}`);
      }
      operation = route.operationId;
      const question = request.originalUrl.indexOf('?');
      const query = new URLSearchParams(question < 0 ? '' : request.originalUrl.slice(question + 1));
      if (!route.propertyParameters) checkQuery(query, route.query);
      if (query.getAll('f').length > 1) throw new Problem('bad-parameter', 'f: give it once');
      const agreed = negotiate(route.formats, query.get('f'), request.headers.accept);

      const gone = new AbortController();
      response.on('close', () => {
        if (!response.writableFinished) gone.abort(new Error('the client has gone'));
      });
      const params: Record<string, string> = {};
      for (const [name, value] of Object.entries(request.params as Record<string, string | string[]>)) {
        params[name] = Array.isArray(value) ? value.join('/') : value;
      }
      const told: Request = {
        path: where,
        url: request.originalUrl,
        params,
        query,
        headers: request.headers,
        body: route.method === 'post' ? await readBody(request, response) : undefined,
        base,
        format: agreed.format,
        mediaType: agreed.mediaType,
        signal: gone.signal,
      };
      const answer: Answer = await route.handler(told, context);
      send(shownAnswer(answer, told, route), { ...asked, mediaType: agreed.mediaType }, response);
    } catch (error) {
      sendFailure(error, { base, where, asked, response });
    } finally {
      metrics.count(operation, response.statusCode, (performance.now() - started) / 1000);
    }
  };

  const sendFailure = (
    error: unknown,
    at: { base: string; where: string; asked: Parameters<typeof send>[1]; response: express.Response },
  ) => {
    if (at.response.headersSent) {
      at.response.destroy();
      return;
    }
    const problem = asProblem(error);
    let document: ProblemDocument;
    if (problem) document = problemDocument(problem, at.base, at.where);
    else {
      const id = randomUUID();
      document = bugDocument(at.where, id);
      options.onBug?.(error, id, at.where);
    }
    if (document.status === 429 || document.status === 503) at.response.setHeader('Retry-After', '10');
    send({ status: document.status, mediaType: 'application/problem+json', body: document }, at.asked, at.response);
  };

  for (const [path, group] of groupByPath(routes)) {
    app.all(expressPath(path), (request: express.Request, response: express.Response) =>
      answerOne(group, request, response),
    );
  }
  app.use((request: express.Request, response: express.Response) => answerOne([], request, response));
  // reached when the router itself fails, on a bad escape in the path for one
  app.use((error: unknown, request: express.Request, response: express.Response, _next: express.NextFunction) => {
    const asked = {
      method: request.method,
      mediaType: 'application/json',
      ifNoneMatch: undefined,
      acceptEncoding: undefined,
    };
    sendFailure(error instanceof Error && (error as { status?: number }).status === 400 ? new URIError() : error, {
      base: options.publicBaseUrl ?? '',
      where: request.originalUrl.split('?')[0],
      asked,
      response,
    });
  });

  return (request, response) => {
    if (!tiles.answer(request, response)) app(request, response);
  };
}
