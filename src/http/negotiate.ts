import { Problem } from '../problems.js';
import { clip } from './query.js';

/** Ways an answer can be written. */
export type Format =
  | 'json'
  | 'html'
  | 'geojson'
  | 'schema'
  | 'openapi'
  | 'style'
  | 'mvt'
  | 'geotiff'
  | 'geopackage'
  | 'svg'
  | 'csv'
  | 'text'
  | 'result'
  | 'file';

/** Media types of each format, the proper one first; a client that names a later one gets that. */
const mediaTypes: Readonly<Record<Format, readonly string[]>> = {
  json: ['application/json'],
  html: ['text/html'],
  geojson: ['application/geo+json', 'application/json'],
  schema: ['application/schema+json', 'application/json'],
  openapi: ['application/vnd.oai.openapi+json;version=3.0', 'application/openapi+json;version=3.0', 'application/json'],
  style: ['application/vnd.mapbox.style+json', 'application/json'],
  mvt: ['application/vnd.mapbox-vector-tile', 'application/x-protobuf'],
  geotiff: ['image/tiff; application=geotiff', 'image/tiff'],
  geopackage: ['application/geopackage+sqlite3'],
  svg: ['image/svg+xml'],
  csv: ['text/csv'],
  text: ['text/plain'],
  // results and files say themselves what they are
  result: ['application/json'],
  file: ['application/octet-stream'],
};

/** Formats that have one form only: whatever the client accepts, it gets that form, as desktops often ask for nothing or for anything. */
const fixed: ReadonlySet<Format> = new Set(['mvt', 'geotiff', 'geopackage', 'svg', 'csv', 'text', 'result', 'file']);

/** The media type a format is published under. */
export function mediaTypeOf(format: Format): string {
  return mediaTypes[format][0];
}

/** Names `f` takes for a route's formats: `json` always means its JSON form. */
function formatNames(formats: readonly Format[]): readonly string[] {
  const names: string[] = [];
  for (const format of formats) {
    names.push(format);
    if (!formats.includes('json') && ['geojson', 'schema', 'openapi', 'style'].includes(format)) names.push('json');
  }
  return names;
}

interface Range {
  readonly type: string;
  readonly subtype: string;
  readonly parameters: ReadonlyMap<string, string>;
  readonly quality: number;
}

function parseAccept(header: string): readonly Range[] {
  const ranges: Range[] = [];
  for (const part of header.split(',')) {
    const [name, ...rest] = part.split(';').map((s) => s.trim());
    const [type, subtype] = name.toLowerCase().split('/');
    if (!type || !subtype) continue;
    let quality = 1;
    const parameters = new Map<string, string>();
    for (const parameter of rest) {
      const [key, value = ''] = parameter.split('=').map((s) => s.trim());
      if (key.toLowerCase() === 'q') quality = Number.parseFloat(value);
      else if (key !== '') parameters.set(key.toLowerCase(), value.replace(/^"|"$/g, ''));
    }
    if (!(quality >= 0 && quality <= 1)) quality = 1;
    ranges.push({ type, subtype, parameters, quality });
  }
  return ranges;
}

/** How specifically a range names a media type: 0 = not at all, 3 and more = by its full name. */
function specificity(range: Range, mediaType: string): number {
  const [name, ...rest] = mediaType.split(';').map((s) => s.trim());
  const [type, subtype] = name.split('/');
  if (range.type === '*' && range.subtype === '*') return 1;
  if (range.type !== type) return 0;
  if (range.subtype === '*') return 2;
  if (range.subtype !== subtype) return 0;
  const own = new Map(rest.map((p) => p.split('=') as [string, string]));
  for (const [key, value] of range.parameters) {
    // a character set is the server's to choose; any other parameter must agree when the type has it
    if (own.has(key) && own.get(key) !== value) return 0;
  }
  return 3 + range.parameters.size;
}

/** The first format whose proper media type is accepted by its full name; without one the first of all: nothing is refused. */
function namedInFull(formats: readonly Format[], accept: string): Format {
  const ranges = formats.length === 1 ? [] : parseAccept(accept);
  const named = (format: Format) =>
    ranges.some((range) => range.quality > 0 && specificity(range, mediaTypes[format][0]) >= 3);
  return formats.find(named) ?? formats[0];
}

/**
 * Chooses how to write the answer: `f` rules, then Accept; no Accept or anything goes = the first format.
 * @throws Problem bad-parameter for an unknown `f`, not-acceptable when nothing offered is accepted
 */
export function negotiate(
  formats: readonly Format[],
  f: string | null,
  accept: string | undefined,
): { format: Format; mediaType: string } {
  const first = formats[0];
  if (f !== null) {
    const names = formatNames(formats);
    if (!names.includes(f)) {
      throw new Problem('bad-parameter', `f=${clip(f)} is not offered here; use one of ${names.join(', ')}`, {
        errors: [{ parameter: 'f', message: `one of ${names.join(', ')}` }],
      });
    }
    const format =
      formats.find((name) => name === f) ?? formats.find((name) => formatNames([name]).includes(f)) ?? first;
    return { format, mediaType: mediaTypes[format][0] };
  }
  if (accept === undefined || accept.trim() === '') return { format: first, mediaType: mediaTypes[first][0] };
  if (fixed.has(first)) {
    const format = namedInFull(formats, accept);
    return { format, mediaType: mediaTypes[format][0] };
  }

  const ranges = parseAccept(accept);
  let best: { format: Format; mediaType: string; quality: number; order: number } | null = null;
  for (const format of formats) {
    for (const mediaType of mediaTypes[format]) {
      let level = 0;
      let quality = 0;
      let order = 0;
      ranges.forEach((range, i) => {
        const found = specificity(range, mediaType);
        if (found > level) {
          level = found;
          quality = range.quality;
          order = i;
        }
      });
      if (level === 0 || quality === 0) continue;
      // a wildcard never wins against the default by its place in the list: */* means the default
      const place = level >= 3 ? order : ranges.length;
      if (best === null || quality > best.quality || (quality === best.quality && place < best.order)) {
        best = { format, mediaType, quality, order: place };
      }
    }
  }
  if (best === null) {
    const offered = formats.map((format) => mediaTypes[format][0]).join(', ');
    throw new Problem(
      'not-acceptable',
      `Accept: ${clip(accept)} names nothing offered here; this address gives ${offered}`,
    );
  }
  return { format: best.format, mediaType: best.mediaType };
}
