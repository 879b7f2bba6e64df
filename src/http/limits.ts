import type { Server } from 'node:http';

/** One limit each, one test each. */
export const limits = {
  /** features of one page: what is given when nothing is asked, and the most that is given */
  pageDefault: 100,
  pageMax: 10_000,
  listDefault: 100,
  listMax: 1_000,
  bodyBytes: 1_048_576,
  /** path and query together */
  addressCharacters: 8_192,
  tileCacheBytes: 64 * 1_048_576,
  requestMs: 30_000,
  headersMs: 10_000,
  keepAliveMs: 65_000,
  /** a socket on which nothing moves: a synchronous run may compute this long before its first byte */
  idleMs: 300_000,
} as const;

/** Sets the time-outs that keep a slow or vanished client from holding a connection. */
export function limitServer(server: Server): Server {
  server.requestTimeout = limits.requestMs;
  server.headersTimeout = limits.headersMs;
  server.keepAliveTimeout = limits.keepAliveMs;
  server.timeout = limits.idleMs;
  server.maxHeadersCount = 100;
  return server;
}
