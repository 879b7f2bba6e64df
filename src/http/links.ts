import type { IncomingHttpHeaders } from 'node:http';
import { Problem } from '../problems.js';
import type { Link, Request } from './exchange.js';
import { type Format, mediaTypeOf } from './negotiate.js';

/** Prefix of the long relation names of OGC APIs. */
export const REL = 'http://www.opengis.net/def/rel/ogc/1.0';

export interface AddressOptions {
  /** what the world calls this service's root; everything else is ignored when it is set */
  readonly publicBaseUrl?: string | null;
  /** believe Forwarded and X-Forwarded-* of the proxy in front */
  readonly trustProxy?: boolean;
}

const hostName = /^(\[[0-9a-fA-F:.]+\]|[A-Za-z0-9_.-]+)(:\d{1,5})?$/;
const prefixPath = /^(\/[A-Za-z0-9._~-]+)*$/;

function first(header: string | string[] | undefined): string | undefined {
  const text = Array.isArray(header) ? header[0] : header;
  return text?.split(',')[0].trim() || undefined;
}

interface Forwarded {
  scheme?: string | undefined;
  host?: string | undefined;
  prefix?: string | undefined;
}

function forwarded(headers: IncomingHttpHeaders): Forwarded {
  const found: Forwarded = {};
  for (const pair of (first(headers['forwarded']) ?? '').split(';')) {
    const [key, value] = pair.split('=').map((s) => s.trim().replace(/^"|"$/g, ''));
    if (key.toLowerCase() === 'proto' && value) found.scheme = value;
    if (key.toLowerCase() === 'host' && value) found.host = value;
  }
  found.scheme ??= first(headers['x-forwarded-proto']);
  found.host ??= first(headers['x-forwarded-host']);
  found.prefix = first(headers['x-forwarded-prefix'])?.replace(/\/+$/, '');
  return found;
}

/**
 * Absolute address of the service's root as the client knows it, without trailing slash.
 * @throws Problem bad-parameter when the Host header is no host name
 */
export function baseUrl(headers: IncomingHttpHeaders, options: AddressOptions): string {
  if (options.publicBaseUrl) return options.publicBaseUrl.replace(/\/+$/, '');
  const via: Forwarded = options.trustProxy ? forwarded(headers) : {};
  const host = via.host ?? headers.host ?? 'localhost';
  const scheme = via.scheme?.toLowerCase() ?? 'http';
  const prefix = via.prefix ?? '';
  if (!hostName.test(host) || !['http', 'https'].includes(scheme) || !prefixPath.test(prefix)) {
    throw new Problem('bad-parameter', 'the Host header (or the proxy) does not name a host this service can link to');
  }
  return `${scheme}://${host}${prefix}`;
}

/** Absolute address below a site. Parts are escaped by the caller where they come from data. */
export function siteUrl(request: Request, path = ''): string {
  return `${request.base}/sites/${encodeURIComponent(request.params['siteId'])}${path}`;
}

/** The request's own address with some parameters changed (null = taken out), all others kept. */
export function withQuery(request: Request, changes: Readonly<Record<string, string | null>>): string {
  const query = new URLSearchParams(request.query);
  for (const [name, value] of Object.entries(changes)) {
    query.delete(name);
    if (value !== null) query.set(name, value);
  }
  const text = query.toString();
  return `${request.base}${request.path}${text === '' ? '' : `?${text}`}`;
}

const titles: Partial<Record<Format, string>> = {
  html: 'This document for people',
  json: 'This document as JSON',
  geojson: 'This document as GeoJSON',
  csv: 'The same records as a CSV file',
  schema: 'This document as JSON Schema',
  openapi: 'This document as OpenAPI',
};

/** `self` in the form given, `alternate` for every other form this address has. */
export function selfLinks(request: Request, formats: readonly Format[]): Link[] {
  return formats.map((format) => {
    const self = format === request.format;
    const href = self ? `${request.base}${request.url}` : withQuery(request, { f: format });
    return {
      href,
      rel: self ? 'self' : 'alternate',
      type: self ? request.mediaType : mediaTypeOf(format),
      title: self ? 'This document' : (titles[format] ?? `This document as ${format}`),
    };
  });
}

/** Text of a Link header; templates have no place there. */
export function linkHeader(links: readonly Link[]): string {
  return links
    .filter((link) => !link.templated)
    .map((link) => {
      // a header carries bytes: what is not printable ASCII is escaped
      const href = link.href.replace(/[^\x21-\x7e]|[<>"]/gu, (c) => encodeURIComponent(c));
      return `<${href}>; rel="${link.rel}"${link.type === undefined ? '' : `; type="${link.type.replace(/"/g, '')}"`}`;
    })
    .join(', ');
}
