import { createHash } from 'node:crypto';

/** Whether If-None-Match names this tag, weakly compared; the form packed by gzip is the same thing. */
export function matchesTag(header: string | undefined, tag: string): boolean {
  if (header === undefined) return false;
  if (header.trim() === '*') return true;
  for (const part of header.split(',')) {
    const text = part.trim().replace(/^W\//, '');
    if (text === `"${tag}"` || text === `"${tag}-gzip"`) return true;
  }
  return false;
}

const gzipRange = /(?:^|,)\s*(gzip|\*)\s*(?:;\s*q=([0-9.]+)\s*)?(?=,|$)/gi;

/** Whether Accept-Encoding takes gzip (q=0 = never). */
export function acceptsGzip(header: string | string[] | undefined): boolean {
  if (header === undefined) return false;
  const text = Array.isArray(header) ? header.join(',') : header;
  let any = false;
  for (const [, name, quality] of text.matchAll(gzipRange)) {
    const taken = quality === undefined || Number(quality) > 0;
    if (name.toLowerCase() === 'gzip') return taken;
    any = taken;
  }
  return any;
}

/**
 * The one stretch of bytes a Range header asks for → first and last byte; null = send all (no header, several
 * stretches, other units); 'outside' = none of it exists.
 */
export function byteRange(
  header: string | undefined,
  length: number,
): { first: number; last: number } | 'outside' | null {
  const found = /^bytes=(\d{0,15})-(\d{0,15})$/.exec(header?.trim() ?? '');
  if (found === null || (found[1] === '' && found[2] === '')) return null;
  // "-500" are the last 500
  const first = found[1] === '' ? Math.max(0, length - Number(found[2])) : Number(found[1]);
  const last = found[1] === '' || found[2] === '' ? length - 1 : Math.min(length - 1, Number(found[2]));
  if (first >= length) return 'outside';
  return last < first ? null : { first, last };
}

/** A short tag of some text or bytes. */
export function tagOf(...parts: readonly (string | Uint8Array)[]): string {
  const hash = createHash('sha1');
  for (const part of parts) {
    hash.update(part);
    hash.update('\0');
  }
  return hash.digest('base64url').slice(0, 22);
}
