import { constants } from 'node:zlib';
import compression from 'compression';
import cors from 'cors';
import type { RequestHandler } from 'express';
import helmet from 'helmet';
import { exposedHeaders } from './respond.js';

/**
 * What stands before every route: headers that keep a page from running foreign script, leave for other pages to read
 * (layers are drawn elsewhere), and packing of texts.
 */
export function protections(publicBaseUrl: string | null): RequestHandler[] {
  // pages link by the public address, which need not be the one they were opened under
  const own = publicBaseUrl === null ? ["'self'"] : ["'self'", new URL(publicBaseUrl).origin];
  return [
    helmet({
      crossOriginResourcePolicy: { policy: 'cross-origin' },
      crossOriginOpenerPolicy: false,
      originAgentCluster: false,
      // plain http on a boat's network is how this is mostly used
      strictTransportSecurity: false,
      contentSecurityPolicy: {
        useDefaults: false,
        directives: {
          defaultSrc: own,
          scriptSrc: own,
          styleSrc: own,
          imgSrc: [...own, 'data:', 'blob:'],
          workerSrc: [...own, 'blob:'],
          connectSrc: own,
          fontSrc: own,
          objectSrc: ["'none'"],
          baseUri: ["'none'"],
          formAction: ["'self'"],
          frameAncestors: ["'self'"],
        },
      },
    }),
    cors({
      origin: '*',
      methods: ['GET', 'HEAD', 'POST', 'DELETE', 'OPTIONS'],
      exposedHeaders,
      preflightContinue: true,
      maxAge: 600,
    }),
    compression({
      level: 1,
      // a small window: an encoder is made for each answer, and its window is its memory
      brotli: { params: { [constants.BROTLI_PARAM_QUALITY]: 3, [constants.BROTLI_PARAM_LGWIN]: 18 } },
      // tiles bring their own packed form, made once and kept
      filter: (_request, response) => /json|text|xml|javascript/.test(String(response.getHeader('Content-Type'))),
    }),
  ];
}
