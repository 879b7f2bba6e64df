import type { Delivery, Output, Outputs } from '../../operations/service.js';
import { Problem } from '../../problems.js';
import { tagOf } from '../conditional.js';
import type { Answer, Link, Request } from '../exchange.js';
import { siteUrl } from '../links.js';

/** An output as the bytes it is sent as. */
export function outputBody(output: Output): string | Uint8Array {
  if ('bytes' in output) return output.bytes;
  // text outputs (methods, figure) are their own text; a text in a JSON output is quoted
  return typeof output.value === 'string' && !isJson(output.mediaType) ? output.value : JSON.stringify(output.value);
}

function isJson(mediaType: string): boolean {
  return /^application\/([\w.-]+\+)?json\b/.test(mediaType);
}

/** Bare values stand as they are; objects are wrapped with their media type, as the standard asks; bytes are base64. */
function documentMember(output: Output): unknown {
  const { mediaType } = output;
  if ('bytes' in output) return { value: Buffer.from(output.bytes).toString('base64'), encoding: 'base64', mediaType };
  const { value } = output;
  const plain = typeof value !== 'object' || value === null || Array.isArray(value);
  if (plain && (isJson(mediaType) || mediaType === 'text/plain')) return value;
  return { value, mediaType };
}

function outputAddress(request: Request, job: string, id: string): string {
  return siteUrl(request, `/jobs/${encodeURIComponent(job)}/results/${encodeURIComponent(id)}`);
}

interface Part {
  readonly id: string;
  readonly output: Output;
  /** where it lies, when it is to be handed out by reference */
  readonly href: string | null;
}

function chosen(request: Request, of: { outputs: Outputs; delivery: Delivery; job: string | null }): Part[] {
  const wishes = of.delivery.outputs ?? [...of.outputs.keys()].map((id) => ({ id, transmission: 'value' as const }));
  const parts: Part[] = [];
  for (const { id, transmission } of wishes) {
    const output = of.outputs.get(id);
    // described, but this run has none (no surface, say)
    if (output === undefined) continue;
    if (transmission === 'reference' && of.job === null) {
      throw new Problem(
        'bad-parameter',
        `outputs.${id}: nothing is kept of this run to refer to; send Prefer: respond-async, or ask for transmissionMode value`,
      );
    }
    parts.push({
      id,
      output,
      href: transmission === 'reference' ? outputAddress(request, of.job as string, id) : null,
    });
  }
  return parts;
}

function multipart(parts: readonly Part[]): Answer {
  const bodies = parts.map(({ output, href }) => (href === null ? outputBody(output) : ''));
  // drawn from the content, so that equal results give equal bytes and the line cannot stand inside
  const boundary = `part-${tagOf(...bodies)}`;
  const pieces: Uint8Array[] = [];
  parts.forEach(({ id, output, href }, i) => {
    const head = [`--${boundary}`, `Content-Type: ${output.mediaType}`, `Content-ID: <${id}>`];
    if (href !== null) head.push(`Content-Location: ${href}`);
    pieces.push(Buffer.from(`${head.join('\r\n')}\r\n\r\n`), Buffer.from(bodies[i]), Buffer.from('\r\n'));
  });
  pieces.push(Buffer.from(`--${boundary}--\r\n`));
  return {
    mediaType: `multipart/related; boundary=${boundary}; type="${parts[0].output.mediaType}"`,
    body: Buffer.concat(pieces),
  };
}

/**
 * Results in the form asked for: a document keyed by output id; raw: one output as its own body or as a link, several
 * as parts of one message.
 */
export function deliver(request: Request, of: { outputs: Outputs; delivery: Delivery; job: string | null }): Answer {
  const parts = chosen(request, of);
  if (of.delivery.response === 'document') {
    const members = parts.map(({ id, output, href }) => [
      id,
      href === null ? documentMember(output) : { href, type: output.mediaType },
    ]);
    return { mediaType: 'application/json', body: Object.fromEntries(members) };
  }
  if (parts.length === 0) return { status: 204, body: null };
  if (parts.length > 1) return multipart(parts);
  const [{ id, output, href }] = parts;
  if (href !== null) {
    const links: Link[] = [{ href, rel: 'item', type: output.mediaType, title: id }];
    return { status: 204, body: null, links };
  }
  return { mediaType: output.mediaType, body: outputBody(output) };
}
