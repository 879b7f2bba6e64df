import type { IncomingMessage, ServerResponse } from 'node:http';
import type { TileAnswer } from '../operations/service.js';
import { acceptsGzip, matchesTag } from './conditional.js';

/** below this a packed tile is hardly smaller than its own header */
const packFrom = 1024;

const asBuffer = (bytes: Uint8Array): Buffer => Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);

/** Headers as one list name, value, name, value …: written as they stand, nothing is put together for each answer. */
interface ReadyHeaders {
  readonly tag: string;
  readonly full: string[];
  /** of an answer 304 */
  readonly unchanged: string[];
}

interface Entry {
  readonly bytes: Uint8Array;
  readonly tag: string;
  packed: Uint8Array | null;
  readonly plain: ReadyHeaders;
  readonly packedForm: ReadyHeaders | null;
}

/**
 * Tiles already made, by their address as asked for, answered before the router sees the request: the router costs
 * about four times what a small tile costs. Bounded by bytes, oldest out first; emptied when the revision changes.
 */
export class TileFront {
  hits = 0;
  misses = 0;
  private readonly entries = new Map<string, Entry>();
  private held = 0;
  private revision = Number.NaN;
  private readonly maxBytes: number;
  private readonly currentRevision: () => number;
  private readonly headers: Readonly<Record<string, string>>;

  /** @param headers sent with every tile, packed or not */
  constructor(options: { maxBytes: number; revision: () => number; headers: Readonly<Record<string, string>> }) {
    this.maxBytes = options.maxBytes;
    this.currentRevision = options.revision;
    this.headers = options.headers;
  }

  get size(): number {
    return this.held;
  }

  /** Answers from what is held; false = nothing held at this address, nothing was written. */
  answer(request: IncomingMessage, response: ServerResponse): boolean {
    if (request.method !== 'GET' && request.method !== 'HEAD') return false;
    // the same address as GeoJSON is written anew
    if (request.headers.accept?.includes('geo+json')) return false;
    this.drop();
    const entry = this.entries.get(request.url as string);
    if (entry === undefined) return false;
    this.hits++;
    const packed = entry.packed !== null && acceptsGzip(request.headers['accept-encoding']);
    const headers = packed && entry.packedForm !== null ? entry.packedForm : entry.plain;
    const known = request.headers['if-none-match'];
    if (known !== undefined && (known === headers.tag || matchesTag(known, entry.tag))) {
      response.writeHead(304, headers.unchanged);
      response.end();
      return true;
    }
    response.writeHead(200, headers.full);
    response.end(request.method === 'HEAD' ? undefined : packed ? entry.packed : entry.bytes);
    return true;
  }

  /** Keeps a tile under its address and packs it, once. → the packed bytes, null when packing would not pay */
  async keep(url: string, tile: TileAnswer): Promise<Uint8Array | null> {
    this.misses++;
    this.drop();
    const revision = this.revision;
    const packed = tile.bytes.length < packFrom ? null : await tile.gzipped();
    // while it was packed the records may have changed: then it must not be held
    if (revision === this.currentRevision()) {
      const entry: Entry = {
        // as Buffers, which a socket takes without wrapping them anew for each answer
        bytes: asBuffer(tile.bytes),
        tag: tile.etag,
        packed: packed && asBuffer(packed),
        plain: this.describe(tile.bytes, tile.etag, []),
        packedForm: packed && this.describe(packed, `${tile.etag}-gzip`, ['Content-Encoding', 'gzip']),
      };
      this.insert(url, entry);
    }
    return packed;
  }

  private describe(bytes: Uint8Array, etag: string, coding: readonly string[]): ReadyHeaders {
    const tag = `"${etag}"`;
    const { 'Content-Type': type, ...kept } = this.headers;
    const unchanged = [...Object.entries(kept).flat(), 'ETag', tag];
    return {
      tag,
      unchanged,
      full: ['Content-Type', type, 'Content-Length', String(bytes.length), ...coding, ...unchanged],
    };
  }

  private insert(url: string, entry: Entry): void {
    const cost = (e: Entry) => e.bytes.length + (e.packed?.length ?? 0) + 512;
    if (cost(entry) > this.maxBytes / 4) return;
    const old = this.entries.get(url);
    if (old !== undefined) {
      this.held -= cost(old);
      this.entries.delete(url);
    }
    this.entries.set(url, entry);
    this.held += cost(entry);
    for (const [key, oldest] of this.entries) {
      if (this.held <= this.maxBytes) break;
      this.entries.delete(key);
      this.held -= cost(oldest);
    }
  }

  private drop(): void {
    const revision = this.currentRevision();
    if (revision === this.revision) return;
    this.revision = revision;
    this.entries.clear();
    this.held = 0;
  }
}
