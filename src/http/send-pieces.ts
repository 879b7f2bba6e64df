import { createReadStream } from 'node:fs';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import type { Response } from 'express';
import { byteRange } from './conditional.js';
import type { Answer } from './exchange.js';
import type { Asked } from './respond.js';

/**
 * Sends a body that is never whole in memory: a file, of which a stretch may be asked for, or pieces made on the way.
 * Status 200 and the tag are already set.
 */
export function sendPieces(answer: Answer, asked: Asked, response: Response): void {
  response.setHeader('Content-Type', asked.mediaType);
  let status = 200;
  let open: () => Readable;
  if (answer.file !== undefined) {
    const { path, size } = answer.file;
    response.setHeader('Accept-Ranges', 'bytes');
    const same = asked.ifRange === undefined || asked.ifRange === response.getHeader('ETag');
    const range = same ? byteRange(asked.range, size) : null;
    if (range === 'outside') {
      response.setHeader('Content-Range', `bytes */${size}`);
      response.status(416).end();
      return;
    }
    const { first, last } = range ?? { first: 0, last: size - 1 };
    if (range !== null) {
      status = 206;
      response.setHeader('Content-Range', `bytes ${first}-${last}/${size}`);
    }
    response.setHeader('Content-Length', last - first + 1);
    open = () => createReadStream(path, { start: first, end: last });
  } else {
    const pieces = answer.pieces as () => Iterable<Uint8Array>;
    open = () => Readable.from(pieces(), { objectMode: false });
  }
  response.status(status);
  if (asked.method === 'HEAD') {
    response.end();
    return;
  }
  // a client that goes away, or a disk that fails half way, ends the answer: there is no status left to give
  pipeline(open(), response).catch(() => response.destroy());
}
