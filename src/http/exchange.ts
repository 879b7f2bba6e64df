import type { IncomingHttpHeaders } from 'node:http';
import type { Service } from '../operations/service.js';
import type { Format } from './negotiate.js';
import type { Parameter } from './query.js';
import type { StaticFiles } from './static-files.js';
import type { TileFront } from './tile-front.js';

/** A link as OGC APIs write it. */
export interface Link {
  readonly href: string;
  readonly rel: string;
  readonly type?: string;
  readonly title?: string;
  readonly templated?: true;
}

/** What a handler is told of one request. */
export interface Request {
  /** path as sent, percent-escapes kept, without the query */
  readonly path: string;
  /** path and query as sent */
  readonly url: string;
  /** parts of the path by name, escapes resolved */
  readonly params: Readonly<Record<string, string>>;
  readonly query: URLSearchParams;
  readonly headers: IncomingHttpHeaders;
  /** parsed JSON of a POST, else undefined */
  readonly body: unknown;
  /** absolute address of the service's root, without trailing slash */
  readonly base: string;
  readonly format: Format;
  /** media type agreed on */
  readonly mediaType: string;
  /** aborted when the client has gone */
  readonly signal: AbortSignal;
}

/** What a handler gives back; respond.ts alone turns it into bytes on the wire. */
export interface Answer {
  /** 200 when absent */
  readonly status?: number;
  /** the agreed media type when absent */
  readonly mediaType?: string;
  readonly headers?: Readonly<Record<string, string>>;
  /** text and bytes as they are; a function is asked only when a body is needed; anything else is written as JSON; null = none */
  readonly body: unknown;
  /** the same bytes packed by gzip, sent to clients that take it */
  readonly gzip?: Uint8Array;
  /** tag without quotes, in place of a hash over the body */
  readonly tag?: string;
  /** the tag stands for these very bytes: never packed on the way */
  readonly strong?: true;
  /** a part of the bytes may be asked for, as raster readers do */
  readonly inRanges?: true;
  /** the body is this file, sent piece by piece; `body` is then null, and `tag` must be given */
  readonly file?: { readonly path: string; readonly size: number };
  /** the body piece by piece, made while it is sent; `body` is then null, and `tag` must be given */
  readonly pieces?: () => Iterable<Uint8Array>;
  /** repeated in the Link header */
  readonly links?: readonly Link[];
  /** the same for people; when absent the JSON is shown as it is, with its links */
  readonly page?: () => string;
}

/** What handlers may use beside the request. */
export interface Context {
  readonly service: Service;
  readonly tiles: TileFront;
  readonly staticFiles: StaticFiles;
  /** name and version of this software */
  readonly software: string;
  readonly routes: readonly Route[];
  metrics(): Promise<{ readonly mediaType: string; readonly text: string }>;
}

export type Handler = (request: Request, context: Context) => Promise<Answer>;

/** One address: matched, described and documented from this one declaration. */
export interface Route {
  readonly method: 'get' | 'post' | 'delete';
  /** parts in braces are parameters, as in OpenAPI */
  readonly path: string;
  readonly handler: Handler;
  /** what it can be written as; the first is the default */
  readonly formats: readonly Format[];
  /** declared query parameters; any other name is refused */
  readonly query: readonly Parameter[];
  /** the handler checks the query itself: property names of the collection are parameters too */
  readonly propertyParameters?: true;
  readonly operationId: string;
  readonly summary: string;
  readonly tag: 'Site' | 'Features' | 'Tiles' | 'Styles' | 'Processes' | 'Versions' | 'Downloads' | 'Service';
  /** name of the schema of a JSON answer in components */
  readonly schema?: string;
  /** statuses beside 200 that the operation answers on purpose, with their meaning */
  readonly statuses?: Readonly<Record<number, string>>;
  /** the success status when it is not 200 */
  readonly success?: number;
}
