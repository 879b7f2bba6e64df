import type { Response } from 'express';
import { acceptsGzip, byteRange, matchesTag, tagOf } from './conditional.js';
import type { Answer } from './exchange.js';
import { linkHeader } from './links.js';
import { sendPieces } from './send-pieces.js';

/** Headers a script on another page may read, errors included. */
export const exposedHeaders = 'Location, Link, Content-Crs, ETag, Preference-Applied';

/** What the sender must know of the request. */
export interface Asked {
  readonly method: string;
  readonly mediaType: string;
  readonly ifNoneMatch: string | undefined;
  readonly range?: string | undefined;
  readonly ifRange?: string | undefined;
  readonly acceptEncoding: string | string[] | undefined;
}

function textOrBytes(body: unknown): string | Uint8Array | null {
  const value: unknown = typeof body === 'function' ? body() : body;
  if (value === null || value === undefined) return null;
  return typeof value === 'string' || value instanceof Uint8Array ? value : JSON.stringify(value);
}

function withCharset(mediaType: string): string {
  return /^(text\/|image\/svg)/.test(mediaType) && !mediaType.includes('charset')
    ? `${mediaType}; charset=utf-8`
    : mediaType;
}

/**
 * Turns an answer into bytes on the wire: type, tag, 304, HEAD. Bodies are packed by the compression in front;
 * their tag is weak, since one tag then stands for several codings. A strong answer (tiles) brings its own packed
 * form, with a tag of its own.
 */
export function send(answer: Answer, asked: Asked, response: Response): void {
  const status = answer.status ?? 200;
  response.setHeader('Cache-Control', 'no-cache');
  response.vary('Accept');
  response.vary('Accept-Encoding');
  for (const [name, value] of Object.entries(answer.headers ?? {})) response.setHeader(name, value);
  if (answer.links !== undefined && answer.links.length > 0) response.setHeader('Link', linkHeader(answer.links));

  const reading = asked.method === 'GET' || asked.method === 'HEAD';
  let body: string | Uint8Array | null = null;
  if (status === 200 && reading) {
    let tag = answer.tag;
    if (tag === undefined) {
      body = textOrBytes(answer.body);
      tag = tagOf(body ?? '');
    }
    const packed = answer.gzip !== undefined && acceptsGzip(asked.acceptEncoding);
    response.setHeader('ETag', answer.strong ? `"${tag}${packed ? '-gzip' : ''}"` : `W/"${tag}"`);
    if (matchesTag(asked.ifNoneMatch, tag)) {
      response.status(304).end();
      return;
    }
    if (packed) {
      response.setHeader('Content-Encoding', 'gzip');
      body = answer.gzip as Uint8Array;
    }
  }
  if (answer.file !== undefined || answer.pieces !== undefined) {
    sendPieces(answer, { ...asked, mediaType: withCharset(answer.mediaType ?? asked.mediaType) }, response);
    return;
  }
  body ??= textOrBytes(answer.body);
  response.status(status);
  if (body === null) {
    response.end();
    return;
  }
  let bytes = typeof body === 'string' ? Buffer.from(body, 'utf8') : body;
  if (answer.inRanges && status === 200) bytes = cutRange(bytes, asked, response);
  response.setHeader('Content-Type', withCharset(answer.mediaType ?? asked.mediaType));
  response.setHeader('Content-Length', bytes.length);
  response.end(asked.method === 'HEAD' ? undefined : bytes);
}

/** The stretch asked for, when the client's copy is still the same thing; its place is told in the headers. */
function cutRange(bytes: Uint8Array, asked: Asked, response: Response): Uint8Array {
  response.setHeader('Accept-Ranges', 'bytes');
  const same = asked.ifRange === undefined || asked.ifRange === response.getHeader('ETag');
  const range = same ? byteRange(asked.range, bytes.length) : null;
  if (range === null) return bytes;
  if (range === 'outside') {
    response.status(416).setHeader('Content-Range', `bytes */${bytes.length}`);
    return new Uint8Array(0);
  }
  response.status(206).setHeader('Content-Range', `bytes ${range.first}-${range.last}/${bytes.length}`);
  return bytes.subarray(range.first, range.last + 1);
}
